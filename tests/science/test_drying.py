import numpy as np
import pytest

from saltcalc.science.drying import days_of_uptake, ec_at_moisture


def test_the_same_salt_in_less_water():
    np.testing.assert_allclose(ec_at_moisture(3.0, [1.0, 0.8, 0.6, 0.0]), [3, 3.75, 5, np.nan])


def test_uptake_balances_salt_drawn_and_brought():
    days = days_of_uptake(5.0, 2.0, 0.3, 10.0, 0.5, 1.0)
    assert days == pytest.approx(30 / (0.5 * 0.7))
    assert np.isinf(days_of_uptake(5.0, 2.0, 1.0, 10.0, 0.5, 1.0))
    assert days_of_uptake(1.0, 2.0, 2.0, 10.0, 0.5, 1.0) == 0
    assert np.isnan(days_of_uptake(5.0, np.nan, 0.3, 10.0, 0.5, 1.0))
