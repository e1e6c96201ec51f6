"""The flush of each container in words and quantities: litres, passes and where to stop."""

from __future__ import annotations

import math

import numpy as np

from saltcalc.answer.container_water import answer_container_water
from saltcalc.answer.flush_costs import answer_costs, answer_rebound
from saltcalc.answer.flush_options import options_for_open, options_for_sealed, stuck
from saltcalc.answer.ledger import Ledger
from saltcalc.answer.quantities import EC_UNIT, SHARE_UNIT, Json, quantity
from saltcalc.answer.wording import figure
from saltcalc.assessment.assess import Assessment
from saltcalc.assessment.flush_case import (
    CAPACITY_SPREAD,
    DEFAULT_TARGET,
    MOST_PASSES,
    REPELLING_EFFICIENCY,
    STATED_CAPACITY_SPREAD,
)
from saltcalc.assessment.flush_plan import FlushResult
from saltcalc.data.substrates import substrates
from saltcalc.data.washout import washout_defaults
from saltcalc.science.plan import CEILING_VOLUMES, PASS_HOURS, SAMPLE_SIZE
from saltcalc.science.uncertainty import SEED

HOURS_A_DAY = 8.0
"""Hours of a working day, beyond which a plan is spread over days."""


def answer_flush_plan(
    assessment: Assessment, names: list[str | None], sample: int, ledger: Ledger
) -> list[Json] | None:
    """Return the plan of each container of a sample.

    Parameters
    ----------
    assessment : Assessment
        Of the batch.
    names : list of str or None
        Names of this sample's containers.
    sample : int
        Which sample.
    ledger : Ledger
        Where to list what the plans rest on.
    """
    rows = np.flatnonzero(assessment.batch.containers.sample == sample)
    if not rows.size:
        ledger.miss("flush_plan", ["/containers"], "Without a container there are no litres.")
        return None
    if math.isnan(assessment.salinity.ec_25c[sample]):
        ledger.miss(
            "flush_plan", ["/medium/ec"], "Without an EC there is nothing to come down from."
        )
        return None
    state_flush_assumptions(assessment, sample, ledger)
    _caution(assessment, rows, ledger)
    return [
        _answer_one(assessment, int(row), position, name, sample, ledger)
        for position, (row, name) in enumerate(zip(rows, names, strict=True))
    ]


def state_flush_assumptions(assessment: Assessment, sample: int, ledger: Ledger) -> None:
    """List the target and the washout figures that were assumed for a sample."""
    given = assessment.given.samples
    mine = assessment.batch.plantings.sample == sample
    if math.isnan(given.target_ec[sample]) and np.all(
        np.isnan(assessment.crops.stands_up_to[mine])
    ):
        ledger.assume(
            "target",
            quantity(DEFAULT_TARGET, EC_UNIT),
            "No target and no crop with a published limit was given; this is the top of the class "
            "that suits seedlings, as saturated media extract.",
            "/target_ec",
            "umass-media",
        )
    row = int(np.argmax(assessment.batch.containers.sample == sample))
    result = assessment.flush_plan
    washout = result.case.washout
    substrate = list(substrates().values())[assessment.batch.samples.substrate[sample]]
    defaults = washout_defaults()[substrate.medium_class]
    if math.isnan(given.leaching_efficiency[sample]):
        ledger.assume(
            "leaching-efficiency",
            _spread(washout.efficiency, row, SHARE_UNIT),
            "Some of the water runs down the wall and through cracks without taking salt along; "
            f"the usual share for {substrate.medium_class}"
            + (" that repels water." if result.case.repelling[row] else "."),
            "/leaching_efficiency",
            defaults.source,
            *(("rewetting-bark",) if result.case.repelling[row] else ()),
        )
    for name, unit, reason in (
        ("immobile_share", SHARE_UNIT, "Part of the water in the medium does not flow."),
        ("exchange_rate", "1/h", "Its salt comes out into the flowing water at this rate."),
        ("store_ratio", SHARE_UNIT, "Salt held on the medium, over that in its water."),
    ):
        ledger.assume(
            name.replace("_", "-"),
            _spread(getattr(washout, name), row, unit),
            f"{reason} The usual figure for {substrate.medium_class}.",
            "/medium/substrate",
            defaults.source,
        )
    ledger.assume(
        "pass-time",
        quantity(PASS_HOURS, "h"),
        "Time for one pass to sink in and drain. Common practice, no source.",
        "",
        "common-practice",
    )


def _spread(interval: tuple[object, object, object], row: int, unit: str) -> Json | None:
    value, low, high = (float(np.asarray(part)[row]) for part in interval)
    return quantity(value, unit, low, high)


def _caution(assessment: Assessment, rows: np.ndarray, ledger: Ledger) -> None:
    result = assessment.flush_plan
    if np.any(result.case.needed[rows] & ~result.case.sealed[rows]):
        ledger.warn(
            "collect-drainage",
            "caution",
            "Drainage from a flush carries salt and nitrate. Collect it, keep it out of drains, "
            "wells and watercourses, and follow local rules. Spread on soil, it salts the soil.",
            "flush_plan",
        )


def _answer_one(
    assessment: Assessment,
    row: int,
    position: int,
    name: str | None,
    sample: int,
    ledger: Ledger,
) -> Json:
    result, containers = assessment.flush_plan, assessment.batch.containers
    case, count = result.case, int(containers.count[row])
    sealed = bool(case.sealed[row])
    part = f"flush_plan/{position}"
    _warn(assessment, row, sample, part, ledger)
    substrate = list(substrates().values())[assessment.batch.samples.substrate[sample]]
    shown = not sealed and bool(result.plan.reached[row] or gypsum_bound(result, row))
    litres = float(result.plan.applied[row]) if shown else math.nan
    drained = float(result.plan.drained[row]) if shown else math.nan
    low, high = float(result.water.low[row]), float(result.water.high[row])
    # None where gypsum holds the medium above its target from the start.
    flows = shown and bool(case.needed[row] and result.plan.passes[row])
    return {
        "container": name,
        "drainage": "sealed" if sealed else "open",
        "sentence": _sentence(assessment, row, name) if flows else _no_flush(result, row),
        "water_in_container": answer_container_water(assessment, row, sample, ledger),
        "water_held": quantity(float(np.asarray(case.flush.water_held)[row]), "L"),
        "water_per_container": quantity(litres, "L", min(low, litres), max(high, litres)),
        "water_total": quantity(
            litres * count, "L", min(low, litres) * count, max(high, litres) * count
        ),
        "drained_per_container": quantity(drained, "L"),
        "drained_total": quantity(drained * count, "L"),
        "target_ec": quantity(float(case.target_reading[row]), EC_UNIT),
        "target_pore_water": quantity(float(case.target_pore_water[row]), EC_UNIT),
        "least_reachable_ec": quantity(float(result.least_reachable[row]), EC_UNIT),
        "reaches_target": not case.needed[row]
        or bool(result.plan.reached[row] and not gypsum_bound(result, row) and not sealed),
        "stop_reading": quantity(stop_reading(result, row), EC_UNIT) if flows else None,
        "stop_reading_own_method": quantity(
            float(result.plan.ec_medium[row, result.plan.passes[row] - 1])
            / float(case.settled_over_reading[row]),
            EC_UNIT,
        )
        if flows
        else None,
        "rest": quantity(60 * float(np.asarray(case.flush.rest_between)[row]), "min")
        if flows
        else None,
        "time_needed": quantity(float(result.plan.hours[row]), "h") if flows else None,
        "passes": passes_of(assessment, row) if flows else [],
        "comparison": _comparison(result, row, ledger) if flows else None,
        "costs": answer_costs(assessment, row, count, part, ledger) if flows else None,
        "rebound": answer_rebound(assessment, row, sample, ledger) if flows else None,
        "options": _options(assessment, row, sample, ledger),
        "sources": ledger.cite("van-genuchten-1980", substrate.source),
    }


def gypsum_bound(result: FlushResult, row: int) -> bool:
    """Whether gypsum holds the medium above its target."""
    return bool(result.case.gypsum_bound[row]) and bool(result.plan.reached[row])


def stop_reading(result: FlushResult, row: int) -> float:
    """EC of the drainage of the last pass [dS/m]."""
    return float(result.plan.ec_drainage[row, result.plan.passes[row] - 1])


def passes_of(assessment: Assessment, row: int) -> list[Json]:
    """Return the passes of a container's plan."""
    plan, case = assessment.flush_plan.plan, assessment.flush_plan.case
    each = float(np.asarray(case.flush.pass_volume)[row])
    return [
        {
            "applied": quantity(each, "L"),
            "drained": quantity(float(plan.drained_each[row, column]), "L"),
            "ec_medium": quantity(float(plan.ec_medium[row, column]), EC_UNIT),
            "ec_drainage": quantity(float(plan.ec_drainage[row, column]), EC_UNIT),
        }
        for column in range(int(plan.passes[row]))
    ]


def _options(assessment: Assessment, row: int, sample: int, ledger: Ledger) -> list[Json]:
    result = assessment.flush_plan
    if not result.case.needed[row]:
        return []
    if result.case.sealed[row]:
        return options_for_sealed(assessment, row, sample, ledger)
    return options_for_open(assessment, row, sample, ledger) if stuck(result, row) else []


def _no_flush(result: FlushResult, row: int) -> str:
    if not result.case.needed[row]:
        return "No flush: the medium is at its target."
    if result.case.sealed[row]:
        return "Do not flush: this container cannot drain. See the options, best first."
    if _passes_run_out(result, row):
        return (
            f"So little fits on top at once that it would take more than {MOST_PASSES} passes. "
            "Make more room above the medium, or see the options."
        )
    return "No sensible amount of this water gets there. See the options, best first."


def _passes_run_out(result: FlushResult, row: int) -> bool:
    """Whether it is the number of passes that stops a flush, not the water or its amount."""
    ceiling = float(np.asarray(result.case.flush.ceiling)[row])
    return bool(
        result.reachable[row]
        and not result.plan.reached[row]
        and ceiling <= CEILING_VOLUMES * float(result.case.volume[row])
    )


def _sentence(assessment: Assessment, row: int, name: str | None) -> str:
    result = assessment.flush_plan
    case, plan = result.case, result.plan
    passes, count = int(plan.passes[row]), int(assessment.batch.containers.count[row])
    each = float(np.asarray(case.flush.pass_volume)[row])
    rest = 60 * float(np.asarray(case.flush.rest_between)[row])
    days = math.ceil(float(plan.hours[row]) / HOURS_A_DAY)
    slow = (
        "Wet it first: give the first passes slowly, a little at a time, or use a wetting agent, "
        "until water no longer runs straight through. "
        if case.repelling[row]
        else ""
    )
    where = f"each container ({name})" if name else "each container"
    spread_out = f" Spread it over {days} days." if days > 1 else ""
    several = (
        f" For all {count}: {figure(float(plan.applied[row]) * count, 3)} L." if count > 1 else ""
    )
    again = (
        f"let it drain, wait {rest:.0f} minutes, and do it {passes} times in all"
        if passes > 1
        else "and let it drain, once"
    )
    return (
        f"{slow}Pour {figure(each, 3)} L on {where}, {again}: "
        f"{figure(float(plan.applied[row]), 3)} L each ({_likely(result, row)})."
        f"{several} "
        f"Stop when the drainage of a pass reads {figure(stop_reading(result, row))} dS/m or "
        f"less.{spread_out}"
    )


def _likely(result: FlushResult, row: int) -> str:
    applied = float(result.plan.applied[row])
    low, high = float(result.water.low[row]), float(result.water.high[row])
    lower = figure(min(low, applied))
    if math.isfinite(high):
        return f"likely {lower} to {figure(max(high, applied))} L"
    most = figure(float(np.asarray(result.case.flush.ceiling)[row]))
    short = 1 - float(result.water.share_reaching[row])
    return (
        f"likely {lower} L or more: by the spread of the figures there is a {short:.0%} chance "
        f"that even {most} L would not do"
    )


def _comparison(result: FlushResult, row: int, ledger: Ledger) -> Json:
    litres, rule = float(result.plan.applied[row]), float(result.pot_rule[row])
    ratio = litres / rule
    words = "about the same as" if 0.67 <= ratio <= 1.5 else f"{figure(ratio)} times"
    return {
        "twice_the_pot": quantity(rule, "L"),
        "over_twice_the_pot": quantity(ratio, SHARE_UNIT),
        "well_mixed": quantity(float(result.well_mixed[row]), "L"),
        "sentence": f"That is {words} the usual advice of twice the pot's volume ({figure(rule)} "
        f"L). {_beside_well_mixed(litres, float(result.well_mixed[row]))}",
        "sources": ledger.cite("ucanr-soluble-salts"),
    }


def _beside_well_mixed(litres: float, well_mixed: float) -> str:
    sentence = (
        "A container that mixed at once, without standing water or stored salt, would need "
        f"{figure(well_mixed, 3)} L"
    )
    if well_mixed > litres:
        return (
            f"{sentence}: more, because water poured on top pushes the old solution out ahead of "
            "it, layer by layer, instead of thinning it all at once."
        )
    return f"{sentence}."


def _warn(assessment: Assessment, row: int, sample: int, part: str, ledger: Ledger) -> None:
    result = assessment.flush_plan
    case, target = result.case, float(result.case.target_pore_water[row])
    if not case.needed[row]:
        ledger.warn(
            "no-flush-needed",
            "note",
            "The medium is at its target already; a flush would only wash out feed.",
            part,
        )
        return
    if case.repelling[row]:
        ledger.warn(
            "wet-before-flushing",
            "caution",
            "The medium repels water, which then runs past without taking salt along. Wet it "
            "first: trickle slowly, stand it in water for an hour, or use a wetting agent. The "
            f"plan takes {REPELLING_EFFICIENCY:.0%} of the usual efficiency.",
            "/observations",
        )
    if case.sealed[row]:
        air = float(assessment.container_water.air_space[row]) * float(case.volume[row])
        ledger.warn(
            "sealed-container",
            "stop",
            "This container cannot drain: do not flush it. The salt would stay and the roots "
            f"would drown: {figure(air)} L more than it holds after draining fills every air "
            "space. See the options.",
            f"/containers/{part.rsplit('/', maxsplit=1)[1]}/drainage",
        )
        return
    water = float(assessment.salinity.water_ec_25c[sample])
    if water >= target:
        ledger.warn(
            "target-below-water",
            "stop",
            f"No amount of this water (EC {water:.2g} dS/m) brings the pore water below its own "
            f"EC, and the target is {target:.2g} dS/m. " + _with_rain(result, row),
            f"{part}/target_ec",
        )
    elif gypsum_bound(result, row):
        return  # Told for the whole sample, beside what gypsum does to the crops.
    elif not result.practical[row]:
        _warn_of_ceiling(result, row, part, ledger)


def _with_rain(result: FlushResult, row: int) -> str:
    if result.mixed_works[row]:
        return f"With {result.rain_share[row]:.0%} of rain water mixed in it would do."
    return "Rain water mixed in would not do either, with a sensible amount."


def _warn_of_ceiling(result: FlushResult, row: int, part: str, ledger: Ledger) -> None:
    if _passes_run_out(result, row):
        ledger.warn(
            "too-many-passes",
            "caution",
            f"So little fits on top at once that more than {MOST_PASSES} passes would be needed. "
            "Make more room above the medium, or blend or replace it.",
            part,
        )
        return
    litres = (
        f"It would take {figure(float(result.plan.applied[row]))} L a container"
        if result.plan.reached[row]
        else f"It would take more than {figure(float(np.asarray(result.case.flush.ceiling)[row]))} "
        "L a container"
    )
    ledger.warn(
        "over-practical-ceiling",
        "caution",
        f"{litres}, more than {CEILING_VOLUMES:.0f} times its volume. Blending or replacing "
        "the medium is the better way.",
        part,
    )


def intervals_of_plan() -> str:
    """Say how the interval of the water is made."""
    return (
        f"Water to apply: 80 % interval over a quasi-random sample of {SAMPLE_SIZE} (seed {SEED}) "
        "of efficiency, immobile share, exchange rate, stored salt (as assumed), water held (± "
        f"{CAPACITY_SPREAD:.0%} from a table, ± {STATED_CAPACITY_SPREAD:.0%} as measured), and the "
        "conversions of EC."
    )
