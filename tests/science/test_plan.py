import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from saltcalc.science.flush import WashoutParameters
from saltcalc.science.passes import wash
from saltcalc.science.plan import (
    Flush,
    UncertainWashout,
    headspace_volume,
    plan_flush,
    water_interval,
)
from saltcalc.science.uncertainty import Interval, amount_at, normal_sample, share_at

dials = st.builds(
    WashoutParameters,
    efficiency=st.floats(0.2, 1.0),
    immobile_share=st.floats(0.0, 0.5),
    exchange_rate=st.floats(0.01, 1.5),
    store_ratio=st.floats(0.0, 0.6),
    layers=st.integers(1, 5),
)


def flush(**changes):
    usual = Flush(
        ec_medium=6.0,
        ec_target=2.0,
        ec_water=0.5,
        water_held=6.0,
        deficit=0.0,
        pass_volume=1.0,
        ceiling=100.0,
        duration=0.25,
        rest_between=0.5,
    )
    return usual._replace(**changes)


USUAL = WashoutParameters(0.7, 0.2, 0.3, 0.05, 3)


@given(dials, st.floats(0.0, 12.0), st.floats(0.0, 3.0), st.floats(0.1, 2.0))
@settings(deadline=None)
def test_more_water_never_leaves_more_salt_than_there_was_or_came_in(p, before, water, each):
    record = wash(before, water, p, [each] * 6, 0.25, 0.5)
    assert np.all(record.ec_medium <= max(before, water) + 1e-9)
    steps = np.diff(np.concatenate([[before], record.ec_medium]))
    assert np.all(steps <= 1e-9) if before >= water else np.all(steps >= -1e-9)


@given(dials, st.floats(1.01, 3.0))
@settings(deadline=None)
def test_higher_efficiency_never_needs_more_water(p, factor):
    better = p._replace(efficiency=min(1.0, p.efficiency * factor))
    plan = plan_flush(
        flush(),
        WashoutParameters(
            np.array([p.efficiency, better.efficiency]),
            p.immobile_share,
            p.exchange_rate,
            p.store_ratio,
            p.layers,
        ),
    )
    if plan.reached[0]:
        assert plan.reached[1]
        assert plan.applied[1] <= plan.applied[0]


@given(dials, st.floats(0.0, 1.9), st.floats(0.0, 1.9))
@settings(deadline=None)
def test_saltier_water_never_needs_less(p, one, other):
    plan = plan_flush(flush(ec_water=np.array(sorted([one, other]))), p)
    if plan.reached[1]:
        assert plan.reached[0]
        assert plan.applied[1] >= plan.applied[0]


@given(dials, st.floats(2.0, 12.0), st.floats(2.0, 12.0))
@settings(deadline=None)
def test_a_saltier_medium_never_needs_less(p, one, other):
    plan = plan_flush(flush(ec_medium=np.array(sorted([one, other]))), p)
    if plan.reached[1]:
        assert plan.reached[0]
        assert plan.applied[1] >= plan.applied[0]


def test_the_plan_is_the_wash_it_prescribes():
    plan = plan_flush(flush(), USUAL)
    record = wash(6.0, 0.5, USUAL, plan.drained_each / 6.0, 0.25, 0.5)
    np.testing.assert_allclose(plan.ec_medium, record.ec_medium)
    np.testing.assert_allclose(plan.ec_drainage, record.ec_drainage)
    assert plan.ec_medium[-1] <= 2.0 < plan.ec_medium[-2]
    assert plan.applied == plan.passes * 1.0
    assert plan.hours == pytest.approx(plan.passes * 0.25 + (plan.passes - 1) * 0.5)


def test_a_dry_container_soaks_up_the_deficit_before_it_drains():
    wet, dry = plan_flush(flush(), USUAL), plan_flush(flush(deficit=1.5), USUAL)
    assert dry.drained_each[:2] == pytest.approx([0.0, 0.5])
    assert np.isnan(dry.ec_drainage[0])
    assert dry.applied > wet.applied
    assert dry.drained == pytest.approx(dry.applied - 1.5)


def test_water_as_salty_as_the_target_cannot_reach_it():
    plan = plan_flush(flush(ec_water=[2.0, 3.0]), USUAL)
    assert not plan.reached.any()
    assert not plan.passes.any()


def test_a_medium_at_its_target_needs_nothing_whatever_the_water():
    plan = plan_flush(flush(ec_medium=1.0, ec_water=[0.1, 5.0]), USUAL)
    assert plan.reached.all()
    assert not plan.applied.any()


def test_the_ceiling_stops_a_plan_that_leads_nowhere():
    stubborn = WashoutParameters(0.5, 0.4, 0.0, 0.5, 2)
    plan = plan_flush(flush(ceiling=10.0), stubborn)
    assert not plan.reached
    assert plan.applied == 10.0


def test_a_missing_figure_gives_no_plan_and_spares_the_neighbour():
    plan = plan_flush(flush(water_held=[np.nan, 6.0]), USUAL)
    assert np.isnan(plan.applied[0])
    assert not plan.reached[0]
    assert plan.reached[1]


def test_a_batch_is_its_members_one_by_one():
    rng = np.random.default_rng(11)
    ec = rng.uniform(2, 9, 7)
    batch = plan_flush(flush(ec_medium=ec), USUAL)
    for k, one in enumerate(ec):
        alone = plan_flush(flush(ec_medium=one), USUAL)
        assert batch.applied[k] == alone.applied
        passes = int(alone.passes)
        np.testing.assert_allclose(batch.ec_medium[k, :passes], alone.ec_medium)
        assert np.all(np.isnan(batch.ec_medium[k, passes:]))


def test_no_pass_is_more_than_the_headspace_takes():
    assert headspace_volume(10.0, 400.0, 2.5) == pytest.approx(1.0)
    assert headspace_volume(0.1, 25.0, 2.5) == pytest.approx(0.025)


WASHOUT = UncertainWashout(
    Interval(0.7, 0.5, 0.85), Interval(0.2, 0.1, 0.3), Interval(0.3, 0.1, 0.9),
    Interval(0.05, 0.02, 0.15), 3,
)  # fmt: skip

SURE = Interval(1.0, 1.0, 1.0)


def test_the_interval_holds_the_plan_and_widens_with_the_spread():
    plan = plan_flush(flush(), USUAL)
    held, ec = Interval(6.0, 5.4, 6.6), Interval(6.0, 5.0, 7.2)
    wide = water_interval(flush(), WASHOUT, held, ec, SURE)
    assert wide.low < plan.applied < wide.high
    narrow = water_interval(flush(), WASHOUT, held, Interval(6.0, 6.0, 6.0), SURE)
    assert narrow.high - narrow.low <= wide.high - wide.low
    assert wide.share_reaching == 1


def test_the_interval_is_the_same_every_time_and_close_to_a_larger_sample():
    held, ec = Interval([6.0, 3.0], [5.4, 2.7], [6.6, 3.3]), Interval(6.0, 5.0, 7.2)
    first, again = (water_interval(flush(), WASHOUT, held, ec, SURE) for _ in range(2))
    np.testing.assert_array_equal(first.low, again.low)
    fine = water_interval(flush(), WASHOUT, held, ec, SURE, size=2048)
    np.testing.assert_allclose(first.low, fine.low, atol=1.0)
    np.testing.assert_allclose(first.high, fine.high, atol=2.0)


def test_an_exact_figure_has_no_interval():
    exact = UncertainWashout(*(Interval(v, v, v) for v in (0.7, 0.2, 0.3, 0.05)), 3)
    got = water_interval(flush(), exact, Interval(6, 6, 6), Interval(6, 6, 6), SURE)
    assert got.low == got.high
    whole_passes = plan_flush(flush(), USUAL).applied
    assert whole_passes - 1.0 <= got.low <= whole_passes


@given(dials, st.floats(0.05, 0.95), st.floats(0.0, 1.5))
@settings(deadline=None)
def test_a_dry_container_keeps_the_salt_of_the_water_that_wets_it(p, dry, water):
    """Salt before and brought in is salt held and drained, to rounding."""
    start = flush(ec_water=water, deficit=6.0 * dry)
    plan = plan_flush(start, p)
    last = int(plan.passes) - 1
    held = 6.0 * (1 + p.store_ratio)
    drained = np.nansum(plan.drained_each * np.nan_to_num(plan.ec_drainage))
    brought = float(plan.applied) * water
    # The medium was even before; what it settles to after the last pass is all that it holds.
    assert held * 6.0 + brought == pytest.approx(held * plan.ec_medium[last] + drained, rel=1e-9)


def test_a_target_out_of_reach_for_many_has_no_upper_bound():
    got = water_interval(
        flush(ceiling=8.0), WASHOUT, Interval(6.0, 5.4, 6.6), Interval(6.0, 5.0, 7.2), SURE
    )
    assert np.isinf(got.high)
    assert got.share_reaching < 0.9


@pytest.mark.parametrize("at", [share_at, amount_at])
def test_eighty_per_cent_of_the_sample_lie_within_the_interval(at):
    sample = at(normal_sample(1, 4096)[:, 0], Interval(0.7, 0.5, 0.85))
    low, middle, high = np.quantile(sample, [0.1, 0.5, 0.9])
    assert (low, middle, high) == pytest.approx((0.5, 0.7, 0.85), abs=2e-3)


@pytest.mark.parametrize("size", [0, 3, 100])
def test_the_sample_size_is_a_power_of_two(size):
    with pytest.raises(ValueError, match="power of two"):
        normal_sample(2, size)


def test_a_pass_of_no_water_is_refused():
    with pytest.raises(ValueError, match="pass_volume"):
        plan_flush(flush(pass_volume=0.0), USUAL)
