import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from saltcalc.science.buildup import (
    HORIZON,
    _log_share_below,
    courses,
    days_until,
    start_that_lasts,
)
from saltcalc.science.root_zone import USE_PATTERN, USED, steady_profile
from saltcalc.science.uncertainty import Interval

HELD = Interval.of(6.0, 5.4, 6.6)
START = Interval.of(2.0, 1.8, 2.2)
CONVERSION = Interval.of(1.0, 0.75, 1.33)


def until(limit, start, ec, given_, use, uptake=0.0):
    return days_until(courses(ec, given_, use, HELD, uptake), limit, start)


def test_levels_agree_with_an_integrator():
    applied, given_, use, held, uptake = 1.2, 0.6, 0.5, 6.0, 0.3
    flow = given_ - use * USED

    def slope(_, c):
        above = np.concatenate([[applied], c[:-1]])
        into = np.concatenate([[given_], flow[:-1]])
        drawn = uptake * use * np.array([0.0, *USE_PATTERN])
        return (into * above - flow * c - drawn) / (held / 5)

    course = courses(applied, given_, use, HELD, uptake)
    days = [1.0, 10.0, 28.0, 84.0]
    solved = solve_ivp(slope, (0, 84), np.full(5, 2.0), t_eval=days, rtol=1e-9, atol=1e-11)
    rows = np.searchsorted(course.days, days)
    got = course.slope[rows, 0] * 2.0 + course.gain[rows, 0]
    np.testing.assert_allclose(got, solved.y.mean(axis=0), rtol=1e-6)


@given(st.floats(0.1, 3.0), st.floats(0.1, 0.8), st.floats(0.0, 0.5))
def test_the_course_ends_at_the_steady_profile(applied, fraction, share):
    course = courses(applied, 1.0, 1.0 - fraction, Interval.of(1.0, 1.0, 1.0), share * applied)
    end = course.slope[-1, 0] * 5.0 + course.gain[-1, 0]
    assert end == pytest.approx(steady_profile(applied, fraction, share * applied).mean, rel=1e-5)


def test_where_all_is_used_salt_rises_in_a_line():
    course = courses(0.5, 0.2, 0.2, HELD)
    assert course.gain[:, 0] == pytest.approx(0.5 * 0.2 / 6.0 * course.days)


@pytest.mark.parametrize("use", [0.25, 0.35, 0.4, 0.45, 0.5])
@pytest.mark.parametrize("start", [1.0, 2.4, 2.99])
@pytest.mark.parametrize("conversion", [None, CONVERSION], ids=["exact", "converted"])
def test_neighbours_in_a_sweep_of_the_water_are_neighbours_in_days(use, start, conversion):
    """One per cent of EC moves the days, and both their ends, by less than a fifth, from fresh to
    brackish water; where each single case leaps from some weeks to never."""
    course = courses(0.2 * 1.01 ** np.arange(350), 0.5, use, HELD)
    days = days_until(course, 3.0, Interval.of(start, 0.95 * start, 1.05 * start), conversion)
    for figure in (days.value, days.low, days.high):
        assert np.all(np.abs(np.diff(figure)) < 0.2 * figure[:-1])
    assert days.value[-1] < 5
    if use < 0.45:
        assert days.low[0] > 300


@pytest.mark.parametrize("ec", [0.3, 0.8, 1.5])
def test_neighbours_in_a_sweep_of_the_medium_are_neighbours_in_days(ec):
    start = 1.5 * 1.01 ** np.arange(69)
    assert start[-1] < 3.0
    days = until(3.0, Interval.of(start, 0.95 * start, 1.05 * start), ec, 0.5, 0.4)
    for figure in (days.value, days.low, days.high):
        assert np.all(np.abs(np.diff(figure)) < 0.2 * figure[:-1])


@given(st.floats(0.3, 4.0), st.floats(1.0, 1.5))
def test_saltier_water_is_never_longer_safe(ec, factor):
    days = until(3.0, START, [ec, factor * ec], 0.5, 0.4)
    assert days.value[1] <= days.value[0] + 1e-9
    assert days.low[1] <= days.low[0] + 1e-9
    assert np.all(days.low <= days.value)
    assert np.all(days.value <= days.high + 1e-9)


def test_uptake_lengthens_the_time_and_never_shortens_it():
    days = until(3.0, START, 1.4, 0.5, 0.4, [0.0, 0.3, 0.9])
    assert np.all(np.diff(days.value) > 0)


def test_brackish_water_does_not_look_safe():
    days = until(3.0, START, 2.5, 0.5, 0.4)
    assert days.high < 14
    assert days.share > 0.95


def test_the_middle_is_near_the_day_of_the_middle_case():
    """With nothing uncertain but the limit, the day on which the middle case crosses it."""
    course = courses(1.0, 0.5, 0.5, Interval.of(6.0, 6.0, 6.0))
    days = days_until(course, 4.0, Interval.of(1.0, 1.0, 1.0))
    assert days.value == pytest.approx(3.0 * 6.0 / 0.5, rel=0.05)


def test_pure_water_never_gets_there_within_the_year_that_is_told():
    got = until(6.0, START, 0.0, 0.5, 0.3)
    assert got.value == pytest.approx(HORIZON)
    assert got.share == pytest.approx(0.0, abs=1e-6)


def test_what_is_above_its_limit_has_no_day_left():
    got = until(1.9, START, 0.5, 0.5, 0.3)
    assert (got.value, got.low, got.high) == (0, 0, 0)


@pytest.mark.parametrize("conversion", [None, CONVERSION], ids=["exact", "converted"])
def test_the_start_that_lasts_lasts_in_four_cases_of_five(conversion):
    course = courses(0.9, 0.5, 0.4, HELD)
    start = float(start_that_lasts(course, 3.0, 28.0, conversion))
    within = course.days <= 28
    level = course.slope[within, 1:] * start + course.gain[within, 1:]
    if conversion is None:
        assert np.mean(level.max(axis=0) <= 3.0 * (1 + 1e-9)) >= 0.8
    assert days_until(course, 3.0, Interval.of(start, start, start), conversion).value > 28
    saltier = float(start_that_lasts(courses(1.1, 0.5, 0.4, HELD), 3.0, 28.0, conversion))
    assert saltier < start <= 3.0


def test_a_missing_figure_spares_its_neighbour():
    got = until(3.0, START, [np.nan, 1.0], 0.5, 0.4)
    np.testing.assert_array_equal(np.isnan(got.value), [True, False])


def test_a_missing_figure_does_not_spoil_a_fast_neighbour():
    """A cell of a few millilitres, watered many times over in a day, beside one that is unknown."""
    slow = courses(1.0, 0.5, 0.05, Interval.of(0.003, 0.003, 0.003))
    beside = courses([np.nan, 1.0], 0.5, 0.05, Interval.of(0.003, 0.003, 0.003))
    np.testing.assert_allclose(beside.gain[:, 1], slow.gain)


def test_the_share_of_a_normal_is_that_of_the_error_function():
    scores = np.linspace(-36.0, 9.0, 2001)
    shares = [math.log(0.5 * math.erfc(-score * math.sqrt(0.5))) for score in scores.tolist()]
    np.testing.assert_allclose(_log_share_below(scores), shares, rtol=1e-12, atol=1e-10)
    assert np.isnan(_log_share_below(np.array([np.nan]))).all()
