import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltcalc.data.uptake import uptake_concentrations
from saltcalc.science.root_zone import fraction_for_mean, steady_profile, steady_range

EC, FRACTION = st.floats(0.1, 5.0), st.floats(0.05, 1.0)


@given(EC, FRACTION, st.floats(0.0, 0.9))
def test_what_goes_in_comes_out_or_is_taken_up(applied, fraction, share):
    uptake = share * applied
    profile = steady_profile(applied, fraction, uptake)
    out = fraction * profile.drainage + (1 - fraction) * uptake
    assert out == pytest.approx(applied)


@given(EC, FRACTION)
def test_uptake_never_leaves_more_salt(applied, fraction):
    without = steady_profile(applied, fraction)
    with_uptake = steady_profile(applied, fraction, 0.5 * applied)
    assert np.all(with_uptake.levels <= without.levels + 1e-12)
    assert np.all(np.diff(without.levels) >= -1e-9)


@given(EC, st.floats(1.02, 30.0))
def test_the_fraction_for_a_limit_holds_it(applied, factor):
    fraction = fraction_for_mean(applied, factor * applied)
    assert steady_profile(applied, fraction).mean == pytest.approx(factor * applied, rel=1e-6)


def test_water_at_the_limit_needs_more_than_all_to_drain():
    assert np.all(np.isnan(fraction_for_mean([2.0, 3.0], 2.0)))
    assert fraction_for_mean(0.0, 2.0) == 0


def test_ions_that_are_hardly_taken_up_build_up_and_nutrients_do_not():
    """A tomato at a tenth leaching with 2 mmol/L of sodium, and with a feed made to its uptake."""
    rows = uptake_concentrations()
    sodium = steady_profile(2.0, 0.1, rows["tomato", "sodium"].uptake.value).drainage
    potassium = rows["tomato", "potassium"].uptake.value
    assert sodium > 10
    assert steady_profile(potassium, 0.1, potassium).drainage == pytest.approx(potassium)


def test_the_range_holds_the_middle_and_widens_both_ways():
    got = steady_range(2.0, [0.0, 0.03, 0.3, 0.9], 1.0)
    assert np.all(got.low.mean <= got.without_uptake.mean)
    assert np.all(got.without_uptake.mean <= got.high.mean)
    assert np.isinf(got.high.mean[1])


def test_the_salt_of_the_water_itself_is_not_taken_up():
    got = steady_range(2.0, 0.2, [0.0, 1.0, 2.0])
    assert np.all(np.diff(got.low.mean) < 0)
    assert got.low.drainage[0] == pytest.approx(0.95 * 2.0 / 0.25)


@given(EC, st.floats(1.02, 30.0))
def test_saltier_water_never_needs_less(applied, factor):
    low, high = fraction_for_mean([applied, 1.01 * applied], factor * applied)
    assert np.isnan(high) or high >= low


def test_a_missing_figure_spares_its_neighbour():
    np.testing.assert_array_equal(
        np.isnan(fraction_for_mean([np.nan, 1.0, 1.0], [3.0, np.nan, 3.0])), [True, True, False]
    )
