import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from saltcalc.science.buildup import (
    days_to_limit,
    ec_over_days,
    ec_that_lasts,
    leaching_fraction_for,
    steady_state_ec,
)
from saltcalc.science.leaching import leaching_fraction_from_ec

ec = st.floats(0.1, 10)
share = st.floats(0.05, 1)


@given(ec, share)
def test_all_displacing_drainage_gives_the_salt_balance_of_the_handbooks(water, fraction):
    steady = steady_state_ec(water, fraction)
    assert leaching_fraction_from_ec(water, steady) == pytest.approx(fraction)


@given(ec, ec, share)
def test_the_fraction_for_a_limit_holds_that_limit(water, limit, efficiency):
    fraction = leaching_fraction_for(water, limit, efficiency)
    if np.isnan(fraction):
        assert water >= limit * (1 - 1e-9)
    else:
        assert steady_state_ec(water, fraction, efficiency) == pytest.approx(limit)


@pytest.mark.parametrize("given_", [1.0, 1.4])
def test_the_ec_that_lasts_is_at_the_limit_on_the_day(given_):
    course = (0.8, given_, 1.0, 12.0)
    start = ec_that_lasts(3.0, 28, *course, 0.9)
    assert ec_over_days(start, *course, [28.0], 0.9)[0] == pytest.approx(3.0)
    assert days_to_limit(3.0, start, *course, 0.9) == pytest.approx(28.0)


@given(ec, ec, st.floats(0, 2), st.floats(0, 2), st.floats(0.5, 20), share)
def test_build_up_agrees_with_an_integrator(start, water, given_, used, held, efficiency):
    used = min(used, given_)
    drained = given_ - used

    def slope(t, c):
        out = efficiency * c + (1 - efficiency) * water
        return (given_ * water - drained * out) / held

    days = np.array([0.0, 3.0, 30.0])
    solved = solve_ivp(slope, (0, 30), [start], t_eval=days, rtol=1e-9, atol=1e-10).y[0]
    got = ec_over_days(start, water, given_, used, held, days, efficiency)
    np.testing.assert_allclose(got, solved, rtol=1e-5)


@given(ec, ec, ec, st.floats(0.1, 2), st.floats(0, 1), st.floats(0.5, 20), share)
def test_on_the_day_found_the_limit_is_met(limit, start, water, given_, used, held, efficiency):
    used *= given_
    day = days_to_limit(limit, start, water, given_, used, held, efficiency)
    if start > limit:
        assert day == 0
    elif np.isinf(day):
        end = ec_over_days(start, water, given_, used, held, [1e6], efficiency)[0]
        assert end <= limit * (1 + 1e-6)
    else:
        assume(day < 1e5)
        then = ec_over_days(start, water, given_, used, held, [float(day)], efficiency)[0]
        assert then == pytest.approx(limit, rel=1e-4)


def test_without_drainage_there_is_no_steady_state_and_salt_rises_in_a_line():
    assert np.isinf(steady_state_ec(1.0, 0.0))
    assert days_to_limit(4.0, 1.0, 0.5, 0.2, 0.2, 6.0) == pytest.approx(3.0 * 6.0 / (0.5 * 0.2))


def test_pure_water_never_builds_up():
    assert steady_state_ec(0.0, 0.0) == 0
    assert np.isinf(days_to_limit(2.0, 1.0, 0.0, 0.5, 0.4, 6.0))


def test_batches_of_containers_and_days():
    got = ec_over_days([1.0, 2.0], 0.5, 0.4, [0.3, 0.2], 6.0, np.arange(5.0))
    assert got.shape == (2, 5)
    np.testing.assert_allclose(got[:, 0], [1.0, 2.0])
