import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltcalc.science.flush import WashoutParameters
from saltcalc.science.nutrient_loss import nutrient_loss

USUAL = WashoutParameters(0.7, 0.2, 0.3, 0.05, 3)


@given(st.floats(0, 400), st.floats(0, 30), st.floats(0, 3), st.integers(1, 8))
def test_what_is_lost_is_missing_afterwards(before, in_water, store, passes):
    held = 6.0
    got = nutrient_loss(before, in_water, held, np.ones(passes), USUAL, store, 0.25, 0.5)
    left = got.after * held * (1 + store)
    assert got.held_before - left == pytest.approx(got.lost, abs=1e-6)
    assert got.in_drainage * passes - in_water * passes == pytest.approx(got.lost, abs=1e-6)


def test_a_held_nutrient_goes_more_slowly_than_nitrate():
    losses = nutrient_loss(100.0, 0.0, 6.0, np.ones(8), USUAL, np.array([0.0, 0.5, 2.0]), 0.25, 0.5)
    shares = losses.lost / losses.held_before
    assert np.all(np.diff(shares) < 0)


def test_without_a_pass_nothing_is_lost():
    got = nutrient_loss(100.0, 0.0, 6.0, np.empty(0), USUAL, 0.0)
    assert got.lost == 0
    assert got.after == 100
    assert np.isnan(got.in_drainage)


def test_passes_past_the_last_are_no_passes():
    some = nutrient_loss(100.0, 0.0, 6.0, [1.0, 1.0, np.nan], USUAL, 0.0, 0.25, 0.5)
    same = nutrient_loss(100.0, 0.0, 6.0, [1.0, 1.0], USUAL, 0.0, 0.25, 0.5)
    assert some.lost == pytest.approx(same.lost)
    assert some.after == pytest.approx(same.after, rel=0.05)


def test_an_unknown_concentration_stays_unknown():
    got = nutrient_loss(np.nan, 0.0, 6.0, np.ones(2), USUAL, 0.0)
    assert np.isnan(got.lost)
    assert np.isnan(got.after)
