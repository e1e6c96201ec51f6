import numpy as np
import pytest

from saltcalc.science.ammonia import free_ammonia_share


@pytest.mark.parametrize(
    ("temperature", "pka"), [(0, 10.084), (15, 9.564), (20, 9.403), (25, 9.246), (30, 9.095)]
)
def test_half_is_free_where_the_ph_is_the_pka(temperature, pka):
    # Emerson et al. (1975), pKa = 0.09018 + 2729.92 / T.
    assert free_ammonia_share(pka, temperature) == pytest.approx(0.5, abs=0.001)


def test_warmth_and_a_high_ph_set_ammonia_free():
    shares = free_ammonia_share(8.0, np.array([15.0, 25.0]))
    assert shares == pytest.approx([0.027, 0.054], abs=0.001)
    assert free_ammonia_share(5.8, 25.0) < 0.0004
    assert np.isnan(free_ammonia_share(np.nan, 20.0))


def test_total_at_which_seedlings_are_harmed():
    # Bennett and Adams (1970): harm begins at 0.15 to 0.20 mmol/L, 2.1 to 2.8 mg/L as nitrogen.
    totals = np.array([2.1, 2.8]) / free_ammonia_share(8.0, 25.0)
    assert totals == pytest.approx([39.2, 52.2], rel=0.01)
