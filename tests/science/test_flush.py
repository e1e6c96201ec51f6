import math
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.linalg import expm

from saltcalc.science import flush
from saltcalc.science.flush import (
    SaltState,
    WashoutParameters,
    apply_water,
    rest,
    settled_ec,
    uniform_state,
)
from tests.washing import wash

parameters = st.builds(
    WashoutParameters,
    efficiency=st.floats(0.05, 1.0),
    immobile_water_fraction=st.floats(0.0, 0.6),
    mass_transfer_coefficient=st.floats(0.0, 3.0),
    sorbed_ratio=st.floats(0.0, 1.0),
    layers=st.integers(1, 8),
)
ec = st.floats(0.0, 20.0)


def salt_over_held(state, p):
    """Salt in the container over the water held. [dS/m]"""
    mobile, immobile = 1 - p.immobile_water_fraction, p.immobile_water_fraction + p.sorbed_ratio
    return mobile * state.mobile.mean(axis=-1) + immobile * state.immobile.mean(axis=-1)


@given(parameters, ec, ec, st.floats(0, 5), st.floats(0, 3))
def test_salt_is_conserved_to_rounding(p, before, water, drained, hours):
    start = uniform_state(before, p)
    result = apply_water(start, p, drained, water, hours)
    gained = salt_over_held(result.state, p) - salt_over_held(start, p)
    lost = drained * (result.ec_drainage if drained > 0 else 0.0)
    assert gained == pytest.approx(drained * water - lost, abs=1e-9 * max(1.0, before, water))
    rested = rest(result.state, p, 7.0)
    assert salt_over_held(rested, p) == pytest.approx(salt_over_held(result.state, p), abs=1e-9)


@given(parameters, ec, ec, st.floats(0, 5), st.floats(0, 3))
def test_no_concentration_leaves_the_range_of_medium_and_water(p, before, water, drained, hours):
    result = apply_water(uniform_state(before, p), p, drained, water, hours)
    low, high = min(before, water), max(before, water)
    for part in (result.state.mobile, result.state.immobile):
        assert np.all(part >= low - 1e-9)
        assert np.all(part <= high + 1e-9)


@given(ec, ec, st.floats(0, 6), st.floats(0.1, 1))
def test_one_layer_without_immobile_water_is_the_well_mixed_container(
    before, water, drained, efficiency
):
    p = WashoutParameters(efficiency, 0.0, 0.0, 0.0, 1)
    result = apply_water(uniform_state(before, p), p, drained, water)
    expected = water + (before - water) * np.exp(-efficiency * drained)
    assert result.state.mobile[0] == pytest.approx(expected, abs=1e-10 * max(1, before, water))


@given(st.floats(0.05, 0.6), st.integers(1, 6))
def test_without_exchange_the_immobile_salt_stays(share, layers):
    p = WashoutParameters(1.0, share, 0.0, 0.2, layers)
    result = apply_water(uniform_state(1.0, p), p, 60.0, 0.0, 5.0)
    assert settled_ec(result.state, p) == pytest.approx((share + 0.2) / 1.2, abs=1e-6)


@given(st.floats(0.05, 0.5), st.integers(1, 5), st.floats(0.1, 3))
@settings(max_examples=20, deadline=None)
def test_fast_exchange_is_full_mixing_of_each_layer(share, layers, drained):
    fast = WashoutParameters(1.0, share, 2000.0, 0.0, layers)
    plain = WashoutParameters(1.0, 0.0, 0.0, 0.0, layers)
    with_exchange = apply_water(uniform_state(1.0, fast), fast, drained, 0.0, 1.0)
    without = apply_water(uniform_state(1.0, plain), plain, drained, 0.0)
    assert settled_ec(with_exchange.state, fast) == pytest.approx(
        without.state.mobile.mean(), abs=4e-3
    )


def test_fifty_random_cases_agree_with_an_ode_integrator():
    rng = np.random.default_rng(20240511)
    for _ in range(50):
        layers = int(rng.integers(1, 9))
        p = WashoutParameters(
            rng.uniform(0.2, 1), rng.uniform(0, 0.6), rng.uniform(0, 2), rng.uniform(0, 1), layers
        )
        before, water = rng.uniform(0.5, 15), rng.uniform(0, 3)
        drained, hours = rng.uniform(0.05, 4), rng.uniform(0.05, 6)
        mobile, immobile = 1 - p.immobile_water_fraction, p.immobile_water_fraction + p.sorbed_ratio

        def slope(t, y, layers=layers, p=p, water=water, q=drained / hours, m=mobile, im=immobile):
            c, still = y[:layers], y[layers : 2 * layers]
            above = np.concatenate([[water], c[:-1]])
            flow = layers * p.efficiency * q / m * (above - c)
            trade = p.mass_transfer_coefficient * (c - still)
            out = q * (p.efficiency * c[-1] + (1 - p.efficiency) * water)
            return np.concatenate([flow - im / m * trade, trade, [out]])

        start = np.concatenate([rng.uniform(0.5, 1, 2 * layers) * before, [0.0]])
        solved = solve_ivp(slope, (0, hours), start, method="LSODA", rtol=1e-9, atol=1e-10).y[:, -1]
        result = apply_water(
            SaltState(start[:layers], start[layers : 2 * layers]), p, drained, water, hours
        )
        np.testing.assert_allclose(result.state.mobile, solved[:layers], rtol=1e-4)
        np.testing.assert_allclose(result.state.immobile, solved[layers : 2 * layers], rtol=1e-4)
        np.testing.assert_allclose(result.ec_drainage * drained, solved[-1], rtol=1e-4)


def by_matrix_exponential(p, before, drained, water, hours):
    """Work out a pass by the exponential of its rate matrix, of mobile, immobile, water and sum."""
    n, capacity = (
        p.layers,
        (p.immobile_water_fraction + p.sorbed_ratio) / (1 - p.immobile_water_fraction),
    )
    flow = n * p.efficiency * drained / (1 - p.immobile_water_fraction)
    exchange = p.mass_transfer_coefficient * hours
    rates = np.zeros((2 * n + 2, 2 * n + 2))
    for i in range(n):
        rates[i, i] = -flow - capacity * exchange
        rates[i, 2 * n if i == 0 else i - 1] = flow
        rates[i, n + i] = capacity * exchange
        rates[n + i, i], rates[n + i, n + i] = exchange, -exchange
    rates[2 * n + 1, n - 1] = 1.0
    after = expm(rates) @ np.array([before] * 2 * n + [water, 0.0])
    drainage = p.efficiency * after[-1] + (1 - p.efficiency) * water
    return after[:n], after[n : 2 * n], drainage


@pytest.mark.parametrize("hours", [1.0, 30.0, 100.0, 1e3, 1e5])
@pytest.mark.parametrize("drained", [0.3, 4.0, 40.0])
def test_a_pass_however_long_agrees_with_the_matrix_exponential(hours, drained):
    p = WashoutParameters(0.7, 0.25, 0.9, 0.3)
    result = apply_water(uniform_state(6.0, p), p, drained, 0.4, hours)
    mobile, immobile, drainage = by_matrix_exponential(p, 6.0, drained, 0.4, hours)
    assert result.state.mobile == pytest.approx(mobile, rel=1e-9)
    assert result.state.immobile == pytest.approx(immobile, rel=1e-9)
    assert result.ec_drainage == pytest.approx(drainage, rel=1e-9)


@given(parameters, ec, ec, st.floats(0, 400), st.floats(0, 15).map(lambda power: 10.0**power))
def test_salt_is_conserved_in_a_pass_however_long(p, before, water, drained, hours):
    start = uniform_state(before, p)
    result = apply_water(start, p, drained, water, hours)
    gained = salt_over_held(result.state, p) - salt_over_held(start, p)
    lost = drained * (result.ec_drainage if drained > 0 else 0.0)
    assert gained == pytest.approx(
        drained * water - lost, abs=1e-9 * max(1.0, before, water) * max(1.0, drained)
    )
    low, high = min(before, water), max(before, water)
    for part in (result.state.mobile, result.state.immobile):
        assert np.all((part >= low - 1e-9) & (part <= high + 1e-9))


@pytest.mark.parametrize("hours", [1e10, 1e15, 1e100])
def test_a_pass_without_haste_is_full_mixing_of_each_layer(hours):
    p = WashoutParameters(0.7, 0.25, 0.9, 0.3)
    result = apply_water(uniform_state(6.0, p), p, 0.3, 0.4, hours)
    volumes = 3 * 0.7 * 0.3 / (1 + 0.3)
    kept = np.exp(-volumes) * np.cumsum([1, volumes, volumes**2 / 2])
    for part in result.state:
        assert part == pytest.approx(0.4 + 5.6 * kept, rel=1e-9)


def test_passes_on_both_sides_of_the_limit_of_the_sum_agree():
    p = WashoutParameters(0.7, 0.25, 0.9, 0.3)
    hours = np.array([0.25, 30.0, 70.0, 71.0, 90.0, 300.0, 1e3])
    state = uniform_state(np.full(hours.size, 6.0), p)
    mobile, immobile = state
    flow = np.full(hours.size, 3 * 0.7 * 4 / 0.75)
    arguments = (mobile, immobile, flow, 0.9 * hours, np.float64(0.55 / 0.75), np.float64(0.4))
    for split, summed in zip(flush._advance(*arguments), flush._sum_up(*arguments), strict=True):
        assert split == pytest.approx(summed, rel=1e-12)


@pytest.mark.parametrize("hours", [0.0, 1.0, 1e3, 1e6, 1e12, 1e100, 1e300])
@pytest.mark.parametrize("drained", [0.0, 1e-300, 4.0, 1e6, 1e15])
def test_the_work_of_a_pass_grows_with_the_logarithm_of_its_jumps(hours, drained, monkeypatch):
    counts = {"terms": 0, "products": 0}

    def counted(name, function):
        def call(*arguments):
            counts[name] += 1
            return function(*arguments)

        return call

    lgamma = counted("terms", math.lgamma)
    monkeypatch.setattr(flush, "math", SimpleNamespace(lgamma=lgamma))
    monkeypatch.setattr(flush, "_balanced", counted("products", flush._balanced))
    p = WashoutParameters(0.9, 0.5, 3.0, 1.0)
    result = apply_water(uniform_state(5.0, p), p, drained, 0.4, hours)
    jumps = max(3 * 0.9 * drained / 0.5 + 3 * 3.0 * hours, 1.0)
    assert counts["terms"] <= flush.MOST_JUMPS + 8 * flush.MOST_JUMPS**0.5 + 40
    assert counts["products"] <= max(0.0, np.log2(jumps / flush.MOST_JUMPS)) + 2
    assert np.all((result.state.mobile >= 0.4 - 1e-9) & (result.state.mobile <= 5.0 + 1e-9))


def test_a_pass_without_end_is_not_a_number_and_ends():
    p = WashoutParameters(0.7, 0.25, 0.9, 0.3)
    result = apply_water(uniform_state(6.0, p), p, 1.0, 0.4, np.array([1.0, np.inf]))
    assert np.isfinite(result.state.mobile[0]).all()
    assert np.isnan(result.state.mobile[1]).all()


def test_rest_agrees_with_a_pass_of_no_water():
    p = WashoutParameters(0.8, 0.3, 0.5, 0.2, 3)
    state = SaltState(np.array([0.1, 0.5, 0.9]), np.array([1.0, 0.8, 1.0]))
    standing = apply_water(state, p, 0.0, 0.0, 4.0).state
    rested = rest(state, p, 4.0)
    np.testing.assert_allclose(standing.mobile, rested.mobile, rtol=1e-12)
    np.testing.assert_allclose(standing.immobile, rested.immobile, rtol=1e-12)


@given(parameters, st.floats(0.05, 2), st.floats(0.0, 2.0))
@settings(deadline=None)
def test_rest_between_passes_never_leaves_more_salt(p, drained, hours):
    at_once = wash(1.0, 0.0, p, [drained] * 4, 0.1, 0.0).ec_medium[-1]
    rested = wash(1.0, 0.0, p, [drained] * 4, 0.1, hours).ec_medium[-1]
    assert rested <= at_once + 1e-9


@given(parameters, st.floats(0.05, 2))
@settings(deadline=None)
def test_every_pass_takes_salt_out_and_the_drainage_gets_weaker(p, drained):
    record = wash(1.0, 0.0, p, [drained] * 5, 0.2, 0.0)
    assert np.all(np.diff(record.ec_medium) <= 1e-12)
    assert np.all(np.diff(record.ec_drainage) <= 1e-12)


def test_a_batch_is_its_members_one_by_one():
    rng = np.random.default_rng(3)
    p = WashoutParameters(
        rng.uniform(0.3, 1, (4, 1)), rng.uniform(0, 0.5, (4, 1)), rng.uniform(0, 1, 3), 0.2, 3
    )
    batch = wash(1.0, 0.0, p, [0.4] * 3, 0.2, 0.5)
    assert batch.ec_medium.shape == (4, 3, 3)
    for i in range(4):
        for j in range(3):
            one = WashoutParameters(
                p.efficiency[i, 0],
                p.immobile_water_fraction[i, 0],
                p.mass_transfer_coefficient[j],
                0.2,
                3,
            )
            np.testing.assert_allclose(
                batch.ec_medium[i, j],
                wash(1.0, 0.0, one, [0.4] * 3, 0.2, 0.5).ec_medium,
                rtol=1e-12,
            )


def test_missing_input_stays_missing_and_leaves_its_neighbours():
    p = WashoutParameters(np.array([0.8, np.nan]), 0.2, 0.3, 0.0, 2)
    record = wash(1.0, 0.0, p, [0.5] * 2)
    assert np.all(np.isfinite(record.ec_medium[0]))
    assert np.all(np.isnan(record.ec_medium[1]))


@pytest.mark.parametrize(
    "wrong",
    [
        WashoutParameters(1.001, 0.0, 0.0, 0.0, 1),
        WashoutParameters(-0.001, 0.0, 0.0, 0.0, 1),
        WashoutParameters(0.8, 1.0, 0.0, 0.0, 1),
        WashoutParameters(0.8, -0.001, 0.0, 0.0, 1),
        WashoutParameters(0.8, 0.2, -1.0, 0.0, 1),
        WashoutParameters(0.8, 0.2, 0.1, -0.1, 1),
        WashoutParameters(0.8, 0.2, 0.1, 0.0, 0),
    ],
)
def test_parameters_without_meaning_are_refused(wrong):
    with pytest.raises(ValueError, match="must"):
        settled_ec(SaltState(np.ones(1), np.ones(1)), wrong)


@pytest.mark.parametrize("efficiency", [0.0, 1.0])
def test_the_ends_of_the_ranges_are_taken(efficiency):
    ends = WashoutParameters(efficiency, 0.0, 0.0, 0.0, 1)
    assert settled_ec(uniform_state(2.0, ends), ends) == pytest.approx(2.0)
