"""A flush as one would say it: what to pour, how often, and where to stop."""

from __future__ import annotations

import math

import numpy as np

from saltcalc.answer.flush_ions import single_ion_above
from saltcalc.answer.quantities import SHARE_UNIT, Json, quantity
from saltcalc.answer.wording import figure, volume
from saltcalc.case.vocabulary import STAGES
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.flush_case import MOST_PASSES
from saltcalc.parts.flush_plan import FlushResult
from saltcalc.parts.notes import Notes

HOURS_A_DAY = 8.0
"""Hours of a working day, beyond which a plan is spread over days."""


def target_from(assessment: Assessment, sample: int, notes: Notes) -> str:
    """Say what sets the target of a sample's containers."""
    if not math.isnan(assessment.given.samples.target_ec[sample]):
        return "The target that was given."
    plantings, stood = assessment.batch.plantings, assessment.crops.stands_up_to
    rows = np.flatnonzero((plantings.sample == sample) & ~np.isnan(stood))
    if not rows.size:
        return (
            "The top of the class that suits seedlings, as no crop with a published limit is named."
        )
    row = int(rows[np.argmin(stood[rows])])
    crop = assessment.catalogue[plantings.crop[row]]
    notes.cite(*crop.source_keys, "umass-media", "judgement")
    return (
        f"Of the crops named, {crop.name} ({STAGES[plantings.stage[row]]}) stands least: up to "
        f"{figure(float(stood[row]))} dS/m of saturated extract."
    )


def why_no_flush(assessment: Assessment, row: int) -> str:
    """Say why a container is not flushed."""
    result = assessment.flush_plan
    if not result.case.needed[row]:
        if single_ion_above(assessment, int(result.case.owner[row])):
            return "No flush for the EC, which is at its target; for a single ion see the warnings."
        return "No flush: the medium is at its target."
    if result.case.sealed[row]:
        return "Do not flush: this container cannot drain. See the options, best first."
    if result.passes_run_out[row]:
        return (
            f"So little fits on top at once that it would take more than {MOST_PASSES} passes. "
            "Make more room above the medium, or see the options."
        )
    return "No sensible amount of this water gets there. See the options, best first."


def flush_sentence(assessment: Assessment, row: int, name: str | None) -> str:
    """Return the plan of a container as one would say it."""
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
    several = f" For all {count}: {volume(float(plan.applied[row]) * count)}." if count > 1 else ""
    again = (
        f"let it drain, wait {rest:.0f} minutes, and do it {passes} times in all"
        if passes > 1
        else "and let it drain, once"
    )
    return (
        f"{slow}Pour {volume(each)} on {where}, {again}: "
        f"{volume(float(plan.applied[row]))} each ({_likely(result, row)})."
        f"{several} "
        f"Stop when the drainage of a pass reads {figure(float(plan.stop_reading[row]))} dS/m or "
        f"less.{spread_out}"
    )


def _likely(result: FlushResult, row: int) -> str:
    applied = float(result.plan.applied[row])
    low, high = float(result.water.low[row]), float(result.water.high[row])
    lower = volume(min(low, applied), 2)
    if math.isfinite(high):
        return f"likely {lower} to {volume(max(high, applied), 2)}"
    short = 1 - float(result.water.share_reaching[row])
    ceiling = float(np.asarray(result.case.flush.ceiling)[row])
    most = f"{MOST_PASSES} passes" if result.passes_bound[row] else f"{volume(ceiling, 2)}"
    return (
        f"likely {lower} or more: by the spread of the figures there is a {short:.0%} chance "
        f"that even {most} would not do"
    )


def compare_litres(result: FlushResult, row: int, notes: Notes) -> Json:
    """Return the litres beside the rule of the trade and the simplest model."""
    litres, rule = float(result.plan.applied[row]), float(result.pot_rule[row])
    ratio = litres / rule
    words = "about the same as" if 0.67 <= ratio <= 1.5 else f"{figure(ratio)} times"
    return {
        "twice_the_pot": quantity(rule, "L"),
        "over_twice_the_pot": quantity(ratio, SHARE_UNIT),
        "well_mixed": quantity(float(result.well_mixed[row]), "L"),
        "sentence": f"That is {words} the usual advice of twice the pot's volume "
        f"({volume(rule, 2)}). {_beside_well_mixed(litres, float(result.well_mixed[row]))}",
        "sources": notes.cite("ucanr-soluble-salts"),
    }


def _beside_well_mixed(litres: float, well_mixed: float) -> str:
    sentence = (
        "A container that mixed at once, without standing water or stored salt, would need "
        f"{volume(well_mixed)}"
    )
    if well_mixed > 1.05 * litres:
        return (
            f"{sentence}: more, because water poured on top pushes the old solution out ahead of "
            "it, layer by layer, instead of thinning it all at once."
        )
    return f"{sentence}."
