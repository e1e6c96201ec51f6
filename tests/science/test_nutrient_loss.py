import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltcalc.science.flush import WashoutParameters
from saltcalc.science.nutrient_loss import nutrient_loss
from saltcalc.science.pass_days import Timing
from tests.washing import wash

USUAL = (0.7, 0.2, 0.3)
TIMING = Timing(0.25, 0.5, 100)


@given(st.floats(0, 400), st.floats(0, 30), st.floats(0, 3), st.integers(1, 8))
def test_what_is_lost_is_missing_afterwards_as_the_wash_has_it(before, in_water, store, passes):
    held = 6.0
    got = nutrient_loss(before, in_water, held, 1.0, passes, TIMING, USUAL, store)
    left = got.after * held * (1 + store)
    assert got.held_before - left == pytest.approx(got.lost, abs=1e-6)
    assert got.in_drainage * passes - in_water * passes == pytest.approx(got.lost, abs=1e-6)
    record = wash(
        before, in_water, WashoutParameters(*USUAL, store), [1 / held] * passes, 0.25, 0.5
    )
    assert got.after == pytest.approx(float(record.ec_medium[-1]), abs=1e-6)


def test_a_held_nutrient_goes_more_slowly_than_nitrate():
    losses = nutrient_loss(100.0, 0.0, 6.0, 1.0, 8, TIMING, USUAL, np.array([0.0, 0.5, 2.0]))
    shares = losses.lost / losses.held_before
    assert np.all(np.diff(shares) < 0)


def test_without_a_pass_nothing_is_lost():
    got = nutrient_loss(100.0, 0.0, 6.0, 1.0, 0, TIMING, USUAL, 0.0)
    assert got.lost == 0
    assert got.after == 100
    assert np.isnan(got.in_drainage)


def test_each_container_has_its_own_number_of_passes():
    both = nutrient_loss(100.0, 0.0, 6.0, 1.0, [2, 5], TIMING, USUAL, 0.0)
    two = nutrient_loss(100.0, 0.0, 6.0, 1.0, 2, TIMING, USUAL, 0.0)
    assert both.lost[0] == pytest.approx(float(two.lost))
    assert both.lost[1] > both.lost[0]


def test_an_unknown_concentration_stays_unknown():
    got = nutrient_loss(np.nan, 0.0, 6.0, 1.0, 2, TIMING, USUAL, 0.0)
    assert np.isnan(got.lost)
    assert np.isnan(got.after)
