import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltcalc.science import alkalinity

NAN = float("nan")


@given(st.floats(0, 1000), st.sampled_from(sorted(alkalinity.PER_MMOLC)))
def test_forms_convert_back(value, form):
    there = alkalinity.to_mmolc(value, form)
    assert alkalinity.from_mmolc(there, form) == pytest.approx(value)


@given(st.floats(2, 13))
def test_carbonate_fractions_sum_to_one(ph):
    assert sum(alkalinity.carbonate_fractions(ph)) == pytest.approx(1)


def test_carbonate_hardness_is_the_smaller_of_the_two():
    assert alkalinity.carbonate_hardness([3, 1, NAN], [1, 1, 1], [2, 5, 2]) == pytest.approx(
        [2, 2, NAN], nan_ok=True
    )


@given(st.floats(0.1, 10), st.floats(0, 0.1), st.floats(0.1, 10))
def test_a_blend_meets_its_target(value, rain, target):
    share = alkalinity.blend_share(value, rain, target)
    assert 0 <= share <= 1
    assert (1 - share) * value + share * rain <= target + 1e-9


def test_a_blend_with_water_that_is_no_better_is_missing():
    assert np.isnan(alkalinity.blend_share(3.0, 2.5, 1.0))
    assert alkalinity.blend_share(0.5, 2.5, 1.0) == 0
    assert np.isnan(alkalinity.blend_share(NAN, 0.0, 1.0))
