"""The flush as an instruction: obeyed by pots that the plan does not know, it must not do harm."""

from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from saltcalc.data.washout import washout_defaults
from saltcalc.data.watering import wetting_reaches
from saltcalc.science.flush import (
    WashoutParameters,
    apply_water,
    rest,
    settled_ec,
    soak_up,
    uniform_state,
)
from saltcalc.science.instruction import (
    PRACTICAL_VOLUMES,
    Reading,
    check_reading,
    instruct,
    too_close,
    wait_before_check,
)
from saltcalc.science.pass_days import Timing
from saltcalc.science.plan import Flush, UncertainWashout
from saltcalc.science.sampled_pots import GATHERED_ON_TOP, Start, Uncertain
from saltcalc.science.schedule import choose_timing
from saltcalc.science.uncertainty import Interval
from saltcalc.science.wetting import water_kept


def washout_of(medium_class):
    row = washout_defaults()[medium_class]
    return UncertainWashout(
        *(
            Interval.of(figure.value, figure.low, figure.high)
            for figure in (
                row.efficiency,
                row.immobile_water_fraction,
                row.mass_transfer_coefficient,
                row.sorbed_ratio,
            )
        )
    )


class Case(NamedTuple):
    """A container as its owner would state it; EC of the pore water."""

    medium_class: str
    volume: float
    water_share: float
    ec: float
    target: float
    water: float
    deficit: float = 0.0


CASES = {
    "peat": Case("peat", 10, 0.62, 8.0, 3.1, 0.5),
    "bark": Case("bark", 3, 0.43, 10.0, 4.2, 0.5),
    "coir": Case("coir", 20, 0.70, 8.0, 2.9, 0.4),
    "compost": Case("compost", 40, 0.56, 14.0, 4.5, 0.5),
    "mix": Case("mix", 10, 0.55, 8.0, 3.0, 0.5),
}

# What the pots of the trial are drawn from, fixed here and not taken from the plan. Efficiency: as
# pairs of pour-through and extract have it (0.83 to 1.0) down to half the water running past.
# Water held: a fifth about the figures of like media (Bilderback & Fonteno 1987; Fonteno 1996;
# Evans 1996). Standing water, its exchange (1/h) and the store: no published range; as they stood
# in this project before the plan was made to fail safe. Dry places: sphagnum peat took up 21.5 of
# some 62 points of volume less after drying, coir and bark less than a third of that (Bartley
# 2023). Pour-through: solution share 0.83 to 1.0. Meter 5 %; one pot's sample 15 %, three a check.
STANDING = {
    "peat": ((0.08, 0.4), (0.1, 0.9), (0.02, 0.15), 0.35),
    "bark": ((0.15, 0.5), (0.07, 0.6), (0.02, 0.15), 0.12),
    "coir": ((0.08, 0.4), (0.1, 0.9), (0.03, 0.3), 0.12),
    "compost": ((0.1, 0.4), (0.02, 0.15), (0.1, 0.45), 0.35),
    "mix": ((0.1, 0.45), (0.06, 0.6), (0.04, 0.35), 0.35),
}
NUMBER = 300


class Pots(NamedTuple):
    efficiency: np.ndarray
    immobile: np.ndarray
    rate: np.ndarray
    store: np.ndarray
    held: np.ndarray
    start: np.ndarray
    conversion: np.ndarray
    meter: np.ndarray
    solution_share: np.ndarray
    layers: np.ndarray


def pots_of(case, repelling, seed=20260219):
    rng = np.random.default_rng(seed)
    immobile, rate, store, dry = STANDING[case.medium_class]
    stands = rng.uniform(*immobile, NUMBER)
    if repelling:
        behind = rng.uniform(0.0, dry, NUMBER)
        stands = behind + (1 - behind) * stands
    return Pots(
        efficiency=rng.uniform(0.5, 1.0, NUMBER),
        immobile=stands,
        rate=np.exp(rng.uniform(*np.log(rate), NUMBER)),
        store=rng.uniform(*store, NUMBER),
        held=case.volume * case.water_share * rng.uniform(0.8, 1.2, NUMBER),
        start=np.exp(rng.normal(0, 0.1, NUMBER)),
        conversion=np.exp(rng.normal(0, 0.1, NUMBER)),
        meter=np.exp(rng.normal(0, 0.05, NUMBER)),
        solution_share=rng.uniform(0.83, 1.0, NUMBER),
        layers=rng.choice([1, 2, 3, 5, 10], NUMBER),
    )


def told(case, repelling, **options):
    """The instruction for a container, by the schedule that is chosen for it."""
    held, each = case.volume * case.water_share, 0.114 * case.volume
    flush = Flush(
        case.ec, case.target, case.water, held, case.deficit, each,
        PRACTICAL_VOLUMES * case.volume, 0.25,
    )  # fmt: skip
    washout = washout_of(case.medium_class)
    state = wetting_reaches()["repelling" if repelling else "wettable"]
    timing = options.pop("timing", None)
    start = Start(
        unswept=Interval.of(state.unswept, state.unswept_low, state.unswept_high),
        reach=state.in_lots,
    )
    known = Uncertain(
        washout,
        Interval.of(held, 0.9 * held, 1.1 * held),
        Interval.of(case.ec, 0.87 * case.ec, 1.15 * case.ec),
        Interval.of(1.0, 0.87, 1.15),
        start,
    )
    timing = timing or choose_timing(flush, known).timing
    instruction = instruct(
        flush, *known[:4], timing, **{"start": start, **options},
    )  # fmt: skip
    return instruction, timing, each


class Outcome(NamedTuple):
    ec_over_target: np.ndarray
    passed: np.ndarray
    litres: np.ndarray


def obeyed(case, pots, repelling, by_pour_through, seed=7):
    """Do to every pot what the instruction says, until its check is passed or the rounds end."""
    instruction, timing, each = told(case, repelling)
    rng = np.random.default_rng(seed)
    outcome = Outcome(np.full(NUMBER, np.nan), np.zeros(NUMBER, bool), np.zeros(NUMBER))
    per_day, pause, night = (
        float(np.squeeze(part)) for part in (timing.passes_a_day, timing.rest, timing.night)
    )
    for layers in np.unique(pots.layers):
        rows = np.flatnonzero(pots.layers == layers)
        mine = Pots(*(part[rows] for part in pots))
        dials = WashoutParameters(
            mine.efficiency, mine.immobile, mine.rate, mine.store, int(layers)
        )
        state = uniform_state(case.ec * mine.start * mine.conversion, dials)
        if case.deficit:
            state = soak_up(state, dials, case.deficit / mine.held, case.water)
        open_ = np.ones(len(rows), bool)
        litres, passes = float(instruction.litres[0]), int(instruction.passes[0])
        for round_ in range(int(instruction.rounds[0]) + 1):
            for number in range(1, passes + 1):
                state = apply_water(state, dials, each / mine.held, case.water, 0.25).state
                if number < passes:
                    state = rest(state, dials, night if number % per_day == 0 else pause)
            state = rest(state, dials, float(instruction.wait[0]))
            settled = settled_ec(state, dials)
            if by_pour_through:
                # The share of a mean pot is in the conversion of the reading.
                shown = mine.solution_share / 0.915 * (state.mobile[:, -1] - case.water)
                shown = shown + case.water
            else:
                shown = settled
            error = np.exp(rng.normal(0, 0.15 / np.sqrt(3), len(rows)))
            shown = shown * mine.meter * error / mine.conversion
            done = open_ & (shown <= instruction.check_ec[0])
            outcome.passed[rows[done]] = True
            last = open_ & (done | (round_ == int(instruction.rounds[0])))
            outcome.ec_over_target[rows[last]] = (settled / case.target / mine.conversion)[last]
            outcome.litres[rows[last]] = litres
            open_ &= ~last
            litres += float(instruction.more[0])
            passes = round(float(instruction.more[0]) / each)
    return outcome


@pytest.mark.parametrize("by_pour_through", [False, True], ids=["sample", "pour-through"])
@pytest.mark.parametrize("repelling", [False, True], ids=["wettable", "repelling"])
@pytest.mark.parametrize("name", CASES)
def test_obeyed_it_leaves_few_pots_above_their_target(name, repelling, by_pour_through):
    """At most a tenth above, and of the tenth where most water runs past at most a fifth; pots told
    to stop unfinished count as above if they are."""
    case = CASES[name]
    pots = pots_of(case, repelling)
    outcome = obeyed(case, pots, repelling, by_pour_through)
    above = outcome.ec_over_target > 1
    channelling = pots.efficiency <= np.quantile(pots.efficiency, 0.1)
    assert above.mean() <= 0.10
    assert above[channelling].mean() <= 0.20
    # Safe, and not by pouring without end: most are done, by less than three pot volumes.
    assert outcome.passed.mean() >= 0.9
    assert outcome.litres.max() <= PRACTICAL_VOLUMES * case.volume


def test_old_compost_that_no_practical_amount_brings_down_is_told_so():
    old = Case("compost", 80, 0.56, 20.0, 1.6, 0.6)
    instruction, _, _ = told(old, repelling=True)
    assert not instruction.attained[0]
    assert instruction.share_reachable[0] < 0.9


def test_a_higher_confidence_asks_for_more_water_and_a_lower_figure():
    litres, figures = [], []
    for confidence in (0.5, 0.8, 0.95):
        instruction, _, _ = told(CASES["peat"], repelling=False, confidence=confidence)
        assert instruction.share_reached[0] >= confidence
        litres.append(instruction.litres[0])
        figures.append(instruction.check_ec[0])
    assert litres[0] < litres[1] < litres[2]
    assert figures[0] > figures[1] > figures[2]


@pytest.mark.parametrize("confidence", [0.3, 1.0])
def test_a_confidence_out_of_range_is_refused(confidence):
    with pytest.raises(ValueError, match="confidence"):
        told(CASES["peat"], repelling=False, confidence=confidence)


@pytest.mark.parametrize(
    ("target", "water", "close"),
    [
        pytest.param(3.0, 2.9, True, id="within a meter's error"),
        pytest.param(3.0, 3.1, True, id="saltier than the target"),
        pytest.param(3.0, 2.4, True, id="a fifth below"),
        pytest.param(3.0, 2.2, False, id="a quarter below"),
        pytest.param(3.0, 0.5, False, id="tap water"),
    ],
)
def test_water_close_to_the_target_is_no_plan(target, water, close):
    assert bool(too_close(target, water)) is close
    case = CASES["peat"]._replace(target=target, water=water)
    instruction, _, _ = told(case, repelling=False)
    assert bool(instruction.attained[0]) is not close
    assert bool(instruction.litres[0] == instruction.passes[0] == 0) is close


def test_a_medium_at_its_target_is_left_alone():
    instruction, _, _ = told(CASES["peat"]._replace(ec=2.0), repelling=False)
    assert instruction.attained[0]
    assert instruction.litres[0] == instruction.passes[0] == instruction.more[0] == 0


def test_salt_on_top_takes_more_water_than_salt_spread_evenly():
    even, _, _ = told(CASES["peat"], repelling=False)
    on_top, _, _ = told(
        CASES["peat"], repelling=False, start=Start(top_over_rest=GATHERED_ON_TOP, height=15.0)
    )
    assert on_top.litres[0] > even.litres[0]


def test_a_dry_medium_is_wetted_first_and_the_loss_is_counted():
    dry, _, _ = told(CASES["bark"]._replace(deficit=0.4), repelling=False)
    wet, _, _ = told(CASES["bark"], repelling=False)
    assert dry.wetting[0] > 0.4
    assert float(water_kept(dry.wetting[0], 0.4, 1.0)) == pytest.approx(0.38)
    assert dry.litres[0] >= wet.litres[0] + dry.wetting[0] - 1e-9


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("deficit", [0.0, 0.3])
def test_a_repelling_medium_never_needs_less(name, deficit):
    case = CASES[name]._replace(deficit=deficit * CASES[name].volume * CASES[name].water_share)
    options = {"timing": Timing(0.25, 0.5, 14)}
    plain, repelling = (told(case, repels, **options)[0] for repels in (False, True))
    assert repelling.litres[0] >= plain.litres[0]
    assert repelling.share_reachable[0] <= plain.share_reachable[0]


def batch(ec, a_day=14, **changes):
    ec = np.asarray(ec, dtype=float)
    flush = Flush(ec, 3.0, 0.5, 6.0, 0.0, 1.0, 30.0, 0.25)._replace(**changes)
    return instruct(
        flush, washout_of("peat"), Interval.of(6.0, 5.4, 6.6),
        Interval.of(ec, 0.9 * ec, 1.1 * ec), Interval.of(1.0, 0.9, 1.1),
        Timing(0.25, 0.5, a_day),
    )  # fmt: skip


def test_a_batch_is_its_members_one_by_one_and_likes_are_the_same():
    ec = np.array([4.0, 8.0, 6.0, 8.0])
    together = batch(ec)
    for row, one in enumerate(ec):
        alone = batch([one])
        for whole, part in zip(together, alone, strict=True):
            # A product of matrices sums in another order where more rows stand side by side.
            np.testing.assert_allclose(whole[row], part[0], rtol=1e-12)


@pytest.mark.parametrize("a_day", [1, 3, 14, 40])
@pytest.mark.parametrize("ceiling", [8.0, 30.0])
def test_many_starts_of_one_pot_are_told_as_each_alone(a_day, ceiling):
    ec = np.linspace(3.5, 12.0, 300)
    together = batch(ec, a_day, ceiling=ceiling)
    for row in (0, 127, 128, 299):
        alone = batch(ec[[row]], a_day, ceiling=ceiling)
        for whole, part in zip(together, alone, strict=True):
            np.testing.assert_allclose(whole[row], part[0], rtol=1e-9)


def of_sizes(sizes, **more):
    sizes = np.asarray(sizes, dtype=float)
    flush = Flush(8.0, 3.0, 0.5, 6.0, 0.3 * sizes, 0.17 * sizes, 5.0 * sizes, 0.25)
    held = Interval.of(sizes, 0.9 * sizes, 1.1 * sizes)
    return instruct(
        flush._replace(**more), washout_of("peat"), held, Interval.of(8.0, 7.0, 9.0),
        Interval.of(1.0, 0.9, 1.1), Timing(0.25, 0.5, 14),
    )  # fmt: skip


def test_containers_that_differ_in_size_alone_take_water_by_their_size():
    sizes = 0.7 * (10 + 0.1 * np.arange(100))
    together = of_sizes(sizes)
    assert np.ptp(together.passes) == 0
    np.testing.assert_allclose(together.litres / sizes, together.litres[0] / sizes[0], rtol=1e-12)
    for row in (0, 31, 99):
        for whole, part in zip(together, of_sizes(sizes[[row]]), strict=True):
            np.testing.assert_allclose(whole[row], part[0], rtol=1e-9)


def test_a_size_that_takes_another_pass_volume_is_told_as_it_is_alone():
    sizes, passes = np.array([6.0, 9.0, 12.0]), np.array([1.0, 1.8, 2.0])
    together = of_sizes(sizes, pass_volume=passes)
    for row in range(3):
        alone = of_sizes(sizes[[row]], pass_volume=passes[[row]])
        for whole, part in zip(together, alone, strict=True):
            np.testing.assert_allclose(whole[row], part[0], rtol=1e-9)


def test_the_hours_are_those_of_the_passes_the_rests_and_the_nights():
    flush = Flush(np.array([8.0]), 3.0, 0.5, 6.0, 0.0, 1.0, 30.0, 0.25)
    a_day, duration, rest_after, night = 3, 0.25, 2.0, 19.25
    found = instruct(
        flush, washout_of("peat"), Interval.of(6.0, 5.4, 6.6), Interval.of(8.0, 7.2, 8.8),
        Interval.of(1.0, 0.9, 1.1), Timing(duration, rest_after, a_day, night),
    )  # fmt: skip
    passes = int(found.passes[0])
    assert passes > a_day
    hours = 0.0
    for each in range(1, passes + 1):
        hours += duration
        if each < passes:
            hours += rest_after if each % a_day else night
    assert found.hours[0] == pytest.approx(hours)
    assert found.litres[0] == pytest.approx(found.wetting[0] + passes * 1.0)


def test_a_missing_figure_is_refused():
    with pytest.raises(ValueError, match="missing"):
        batch([np.nan, 8.0])


def test_no_containers_give_no_instructions():
    assert batch([]).litres.shape == (0,)


def test_what_the_intervals_and_the_timing_hold_is_not_taken_from_the_flush():
    bare = batch([8.0], water_held=np.nan, ec_medium=np.nan, duration=np.nan)
    np.testing.assert_array_equal(bare.litres, batch([8.0]).litres)


ECS = st.floats(3.2, 15.0)


@given(ECS, ECS)
@settings(max_examples=30)
def test_a_saltier_medium_never_needs_less(one, other):
    got = batch(sorted([one, other]))
    assert got.litres[0] <= got.litres[1]
    assert got.share_reachable[0] >= got.share_reachable[1]


@given(st.floats(0.0, 2.2), st.floats(0.0, 2.2))
@settings(max_examples=30)
def test_saltier_water_never_needs_less(one, other):
    got = batch([8.0, 8.0], ec_water=np.array(sorted([one, other])))
    if got.share_reachable[1] > 0.8:
        assert got.litres[0] <= got.litres[1]


@given(ECS)
@settings(max_examples=30)
def test_the_figures_stand_in_order(ec):
    got = batch([ec])
    assert got.low[0] <= got.likely[0] <= got.litres[0] <= got.high[0]
    assert got.way_mark_low[0] <= got.way_mark[0] <= got.way_mark_high[0]


def test_the_check_waits_for_the_standing_water():
    """Four fifths of its surplus are gone by then: peat the next morning, compost the second."""
    peat, compost = wait_before_check([0.25, 0.25], [0.3, 0.05], [0.05, 0.2])
    assert (peat, compost) == (12.0, 36.0)
    for share, rate, store, wait in [(0.25, 0.3, 0.05, peat), (0.25, 0.05, 0.2, compost)]:
        dials = WashoutParameters(0.8, share, rate, store, 1)
        washed = apply_water(uniform_state(1.0, dials), dials, 1.0, 0.0, 0.0).state
        rested = rest(washed, dials, wait)
        gap = (rested.immobile - rested.mobile) / (washed.immobile - washed.mobile)
        assert gap[0] <= 0.2


def test_a_surer_reading_needs_less_margin():
    sure = check_reading(2.0, Reading(meter_error=0.02, sample_error=0.05, samples=5))
    unsure = check_reading(2.0, Reading(sample_error=0.3, samples=1))
    assert unsure < check_reading(2.0) < sure < 2.0
