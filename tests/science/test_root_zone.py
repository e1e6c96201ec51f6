import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from saltcalc.data.uptake import uptake_concentrations
from saltcalc.science.root_zone import (
    HORIZON,
    MOST_UPTAKE,
    USE_PATTERN,
    _courses,
    days_until,
    fraction_for_mean,
    start_that_lasts,
    steady_profile,
    steady_range,
)
from saltcalc.science.uncertainty import Interval

HELD = Interval.of(6.0, 5.4, 6.6)
START = Interval.of(2.0, 1.8, 2.2)
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
    got = steady_range(2.0, [0.0, 0.03, 0.3, 0.9])
    assert np.all(got.low <= got.without_uptake)
    assert np.all(got.without_uptake <= got.high)
    assert np.isinf(got.high[1])


def test_quarters_agree_with_an_integrator():
    applied, given_, use, held, uptake = 1.2, 0.6, 0.5, 6.0, 0.3
    used = np.concatenate([[0.0], np.cumsum(USE_PATTERN)])
    flow = given_ - use * used

    def slope(_, c):
        above = np.concatenate([[applied], c[:-1]])
        drawn = uptake * use * np.array(USE_PATTERN)
        return (flow[:-1] * above - flow[1:] * c - drawn) / (held / 4)

    course = _courses(*(np.array([part]) for part in (applied, given_, use, held, uptake)))
    days = [1.0, 10.0, 28.0, 84.0]
    solved = solve_ivp(slope, (0, 84), np.full(4, 2.0), t_eval=days, rtol=1e-9, atol=1e-11)
    rows = np.searchsorted(course.days, days)
    got = course.slope[rows, 0] * 2.0 + course.gain[rows, 0]
    np.testing.assert_allclose(got, solved.y.mean(axis=0), rtol=1e-6)


@pytest.mark.parametrize("use", [0.25, 0.35, 0.4, 0.45, 0.5])
@pytest.mark.parametrize("figure", ["value", "low"])
def test_neighbours_in_a_sweep_of_the_water_are_neighbours_in_days(use, figure):
    """One per cent of EC moves the days by less than a fifth, from fresh to brackish water; where
    each single case leaps from some weeks to never."""
    ec = 0.2 * 1.01 ** np.arange(300)
    days = getattr(days_until(3.0, START, ec, 0.5, use, HELD), figure)
    assert np.all(np.abs(np.diff(days)) < 0.2 * days[:-1])
    assert days[-1] < 5
    if use < 0.5:
        assert days[0] > 80


@given(st.floats(0.3, 4.0), st.floats(1.0, 1.5))
def test_saltier_water_is_never_longer_safe(ec, factor):
    days = days_until(3.0, START, [ec, factor * ec], 0.5, 0.4, HELD)
    assert days.value[1] <= days.value[0] + 1e-9
    assert days.low[1] <= days.low[0] + 1e-9
    assert np.all(days.low <= days.value)
    assert np.all(days.value <= days.high + 1e-9)


def test_uptake_lengthens_the_time_and_never_shortens_it():
    days = days_until(3.0, START, 1.0, 0.5, 0.4, HELD, [0.0, 0.3, MOST_UPTAKE])
    assert np.all(np.diff(days.value) > 0)


def test_brackish_water_does_not_look_safe_without_uptake():
    assert days_until(3.0, START, 2.5, 0.5, 0.4, HELD).low < 7


def test_pure_water_never_gets_there_within_the_year_that_is_told():
    got = days_until(6.0, START, 0.0, 0.5, 0.3, HELD)
    assert got.value == HORIZON
    assert got.share == pytest.approx(0.0, abs=1e-6)


def test_the_start_that_lasts_lasts_in_four_cases_of_five():
    start = float(start_that_lasts(3.0, 28.0, 0.9, 0.5, 0.4, HELD))
    again = days_until(3.0, Interval.of(start, start, start), 0.9, 0.5, 0.4, HELD)
    assert again.value > 14
    saltier = float(start_that_lasts(3.0, 28.0, 1.1, 0.5, 0.4, HELD))
    assert saltier < start <= 3.0


def test_a_missing_figure_spares_its_neighbour():
    got = days_until(3.0, START, [np.nan, 1.0], 0.5, 0.4, HELD)
    np.testing.assert_array_equal(np.isnan(got.value), [True, False])
