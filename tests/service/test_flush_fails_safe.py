"""Whoever obeys the answer leaves few pots above their target, whatever their pot is like.

The pots are drawn from ranges fixed here, from published rows and not from the answer: efficiency
0.5 to 1.0 (pairs of pour-through and extract have 0.83 to 1.0; half the water running past is the
other end), water held a fifth about the figures of like media (Bilderback & Fonteno 1987; Fonteno
1996; Evans 1996), salt on top up to five times that below (Argo & Biernbaum 1995), a meter 5 % and
one pot's sample 15 % off. Standing water, its exchange and the store have no published range: they
are those of the project before its plan was made to fail safe. What is done to a pot is read from
the answer: lots, passes, rests, nights, wait, figure, further water, rounds.

Each pot is checked by itself, or stands on a bench of thirty of which as many are read as the
answer says, the one that drains fastest looked for among eight. A bench has one lot of medium and
one feed, so a quarter of what its pots differ by is common to it (judgement: the ranges are those
of unlike media); with nothing in common one in five of the channelling tenth stays above.
"""

from typing import NamedTuple

import numpy as np
import pytest

from saltcalc.science.flush import (
    SaltState,
    WashoutParameters,
    apply_water,
    rest,
    settled_ec,
    soak_up,
    uniform_state,
)
from saltcalc.science.wetting import water_kept
from tests.science.test_instruction import STANDING

NUMBER, SEED = 900, 20260219
BENCH, LOOKED_AT, IN_COMMON = 30, 8, 0.25

CASES = {
    "peat": ("peat_perlite", 10, 18, 5.5, 2.0),
    "bark": ("pine_bark", 3, 16, 5.5, 2.4),
    "coir": ("coir_perlite", 20, 25, 5.0, 2.0),
    "compost": ("green_waste_compost", 40, 30, 7.0, 3.0),
    "mix": ("general_potting_mix", 10, 18, 5.5, 2.0),
}


class Pot(NamedTuple):
    """What is drawn of each pot."""

    efficiency: np.ndarray
    immobile: np.ndarray
    rate: np.ndarray
    store: np.ndarray
    held: np.ndarray
    start: np.ndarray
    conversion: np.ndarray
    top: np.ndarray
    meter: np.ndarray
    shown: np.ndarray


def drawn(medium, repelling):
    rng = np.random.default_rng(SEED)
    immobile, rate, store, dry = STANDING[medium]
    stands = rng.uniform(*immobile, NUMBER)
    if repelling:
        behind = rng.uniform(0.0, dry, NUMBER)
        stands = behind + (1 - behind) * stands
    return Pot(
        rng.uniform(0.5, 1.0, NUMBER),
        stands,
        np.exp(rng.uniform(*np.log(rate), NUMBER)),
        rng.uniform(*store, NUMBER),
        rng.uniform(0.8, 1.2, NUMBER),
        np.exp(rng.normal(0, 0.1, NUMBER)),
        np.exp(rng.normal(0, 0.1, NUMBER)),
        rng.uniform(1.0, 5.0, NUMBER),
        np.exp(rng.normal(0, 0.05, NUMBER)),
        rng.uniform(0.83, 1.0, NUMBER) / 0.915,
    )


def value(quantity):
    return quantity["value"]


class Outcome(NamedTuple):
    over_target: np.ndarray
    passed: np.ndarray
    litres: np.ndarray


def on_benches_of(pots):
    """Let the pots of a bench be alike in part, and be read with one meter by one conversion."""
    first = Pot(*(np.repeat(figure[::BENCH], BENCH) for figure in pots))
    alike = [
        IN_COMMON * one + (1 - IN_COMMON) * each for one, each in zip(first, pots, strict=True)
    ]
    return Pot(*alike)._replace(meter=first.meter, conversion=first.conversion)


def read_on_benches(number, pots, by_pour_through, rng):
    """Choose which pots are read; (benches, number)."""
    read = []
    for bench in np.arange(NUMBER).reshape(-1, BENCH):
        looked_at = rng.choice(bench, LOOKED_AT, replace=False)
        if not by_pour_through:
            fastest = pots.efficiency[looked_at].argmin()
            looked_at[[0, fastest]] = looked_at[[fastest, 0]]
        read.append(looked_at[:number])
    return np.array(read)


def obey(plan, start_ec, water, pots, height, missing, repelling, by_pour_through, on_benches):
    """Do to each pot what a plan says. EC of the pore water."""
    rng = np.random.default_rng(7)
    dials = WashoutParameters(pots.efficiency, pots.immobile, pots.rate, pots.store, 5)
    held = value(plan["water_held"]) * pots.held
    state = uniform_state(start_ec * pots.start * pots.conversion, dials)
    share = 2.5 / height  # of the height that the salty top takes
    layer = np.clip(share * 5 - np.arange(5), 0, 1)
    profile = 1 + (pots.top[:, np.newaxis] - 1) * layer
    profile /= profile.mean(axis=1, keepdims=True)
    state = SaltState(state.mobile * profile, state.immobile * profile)
    if wetting := plan.get("wetting"):
        reach = 0.7 if repelling else 1.0
        kept = water_kept(value(wetting["water_on_one"]), missing, reach)
        state = soak_up(state, dials, kept / held, water)
    each, target = value(plan["applied_each"]), value(plan["target_pore_water"])
    hours = value(plan["pass_time"])
    between = value(plan["rest"]) / 60
    per_day = plan["passes_a_day"]
    at_work = per_day * hours + (per_day - 1) * between
    night = 24 * np.ceil(at_work / 24 - 1e-12) - at_work
    check, passes = plan["rested_check"], plan["passes"]
    figure = value(check["pour_through" if by_pour_through else "own_method"])
    scale = figure / value(check["own_method"]) * value(plan["target_ec"]) / target
    litres = np.full(NUMBER, value(plan["water_per_container"]))
    over, passed = np.full(NUMBER, np.nan), np.zeros(NUMBER, bool)
    open_ = np.ones(NUMBER, bool)
    for round_ in range(check["most_rounds"] + 1):
        for number in range(1, passes + 1):
            state = apply_water(state, dials, each / held, water, hours).state
            if number < passes:
                state = rest(state, dials, night if number % per_day == 0 else between)
        state = rest(state, dials, value(check["wait"]))
        settled = settled_ec(state, dials)
        solution = settled
        if by_pour_through:
            solution = water + pots.shown * (state.mobile[:, -1] - water)
        samples = 1 if on_benches else check["pots_read"]
        error = np.exp(rng.normal(0, 0.15 / np.sqrt(samples), NUMBER))
        met = scale * solution * pots.meter * error / pots.conversion <= figure
        if on_benches:
            read = read_on_benches(check["pots_read"], pots, by_pour_through, rng)
            met = np.repeat(met[read].all(axis=1), BENCH)
        done = open_ & met
        last = open_ & (done | (round_ == check["most_rounds"]))
        passed |= done
        over[last] = (settled / target / pots.conversion)[last]
        open_ &= ~last
        if not np.any(open_):
            break
        litres[open_] += value(check["more_water"])
        passes = round(value(check["more_water"]) / each)
    return Outcome(over, passed, litres)


@pytest.mark.parametrize("on_benches", [False, True], ids=["each pot", "benches"])
@pytest.mark.parametrize("by_pour_through", [False, True], ids=["own method", "pour-through"])
@pytest.mark.parametrize(
    ("repelling", "moisture"),
    [(False, 1.0), (True, 1.0), pytest.param(True, 0.8, marks=pytest.mark.long)],
    ids=["wettable", "repelling", "repelling and dry"],
)  # fmt: skip
@pytest.mark.parametrize("name", CASES)
def test_obeyed_the_answer_leaves_few_pots_above(
    post, name, repelling, moisture, by_pour_through, on_benches
):
    substrate, volume, height, ec, target = CASES[name]
    request = {
        "medium": {"extraction": "saturated_media_extract", "ec": ec, "substrate": substrate},
        "water": {"ec": 0.5},
        "containers": [
            {
                "volume": volume,
                "height": height,
                "relative_water_content": moisture,
                "count": BENCH,
            }
        ],
        "target_ec": target,
        "observations": ["repels_water_after_drying"] if repelling else [],
    }
    plan = post("/v1/flush-plans", request)["flush_plan"][0]
    if not plan["passes"]:
        # Where it cannot be reached the answer says so and leads with other ways.
        assert (name, repelling) in {("compost", True)}
        assert plan["options"][0]["id"] in ("blend", "replace", "better_water")
        return
    start = value(plan["target_pore_water"]) * ec / target
    pots = drawn(name, repelling)
    if on_benches:
        pots = on_benches_of(pots)
    missing = (1 - moisture) * value(plan["water_held"])
    outcome = obey(plan, start, 0.5, pots, height, missing, repelling, by_pour_through, on_benches)
    above = outcome.over_target > 1
    channelling = pots.efficiency <= np.quantile(pots.efficiency, 0.1)
    assert above.mean() <= 0.10
    assert above[channelling].mean() <= 0.20
    assert outcome.passed.mean() >= 0.9
    assert outcome.litres.max() <= 3 * volume * 1.0001
