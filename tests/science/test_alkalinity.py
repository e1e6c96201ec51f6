import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltcalc.science import alkalinity

NAN = float("nan")


@given(st.floats(2, 13))
def test_carbonate_fractions_sum_to_one(ph):
    assert sum(alkalinity.carbonate_fractions(ph)) == pytest.approx(1)


def test_carbonate_hardness_is_the_smaller_of_the_two():
    assert alkalinity.carbonate_hardness([3, 1, NAN], [1, 1, 1], [2, 5, 2]) == pytest.approx(
        [2, 2, NAN], nan_ok=True
    )
