"""The flush of each container in words and quantities: litres, passes and where to stop."""

from __future__ import annotations

import math

import numpy as np

from saltcalc.answer.container_water import answer_container_water
from saltcalc.answer.flush_assumptions import state_flush_assumptions
from saltcalc.answer.flush_costs import answer_costs, answer_rebound
from saltcalc.answer.flush_ions import warn_of_single_ions
from saltcalc.answer.flush_options import options_for_open, options_for_sealed, stuck
from saltcalc.answer.flush_warnings import warn_of_flush, warn_to_collect_drainage
from saltcalc.answer.flush_words import compare_litres, flush_sentence, target_from, why_no_flush
from saltcalc.answer.quantities import EC_UNIT, Json, quantity
from saltcalc.data.substrates import substrates
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.notes import Notes


def answer_flush_plan(
    assessment: Assessment, names: list[str | None], sample: int, notes: Notes
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
    notes : Notes
        Where to list what the plans rest on.
    """
    rows = np.flatnonzero(assessment.batch.containers.sample == sample)
    if not rows.size:
        notes.miss("flush_plan", ["/containers"], "Without a container there are no litres.")
        return None
    if math.isnan(assessment.salinity.ec_25c[sample]):
        notes.miss(
            "flush_plan", ["/medium/ec"], "Without an EC there is nothing to come down from."
        )
        return None
    state_flush_assumptions(assessment, sample, notes)
    warn_to_collect_drainage(assessment, rows, notes)
    warn_of_single_ions(assessment, sample, notes)
    return [
        _answer_one(assessment, int(row), position, name, sample, notes)
        for position, (row, name) in enumerate(zip(rows, names, strict=True))
    ]


def _answer_one(
    assessment: Assessment,
    row: int,
    position: int,
    name: str | None,
    sample: int,
    notes: Notes,
) -> Json:
    result, containers = assessment.flush_plan, assessment.batch.containers
    case, count = result.case, int(containers.count[row])
    sealed = bool(case.sealed[row])
    part = f"flush_plan/{position}"
    warn_of_flush(assessment, row, sample, part, notes)
    substrate = list(substrates().values())[assessment.batch.samples.substrate[sample]]
    shown = not sealed and bool(result.plan.reached[row] or result.gypsum_bound[row])
    litres = float(result.plan.applied[row]) if shown else math.nan
    drained = float(result.plan.drained[row]) if shown else math.nan
    low, high = float(result.water.low[row]), float(result.water.high[row])
    # None where gypsum holds the medium above its target from the start.
    flows = shown and bool(case.needed[row] and result.plan.passes[row])
    return {
        "container": name,
        "drainage": "sealed" if sealed else "open",
        "sentence": flush_sentence(assessment, row, name)
        if flows
        else why_no_flush(assessment, row),
        "water_in_container": answer_container_water(assessment, row, sample, notes),
        "water_held": quantity(float(np.asarray(case.flush.water_held)[row]), "L"),
        "water_per_container": quantity(litres, "L", min(low, litres), max(high, litres)),
        "water_total": quantity(
            litres * count, "L", min(low, litres) * count, max(high, litres) * count
        ),
        "drained_per_container": quantity(drained, "L"),
        "drained_total": quantity(drained * count, "L"),
        "target_from": target_from(assessment, sample, notes),
        "target_ec": quantity(float(case.target_reading[row]), EC_UNIT),
        "target_pore_water": quantity(float(case.target_pore_water[row]), EC_UNIT),
        "least_reachable_ec": quantity(float(result.least_reachable[row]), EC_UNIT),
        "reaches_target": not case.needed[row]
        or bool(result.plan.reached[row] and not result.gypsum_bound[row] and not sealed),
        "stop_reading": quantity(float(result.plan.stop_reading[row]), EC_UNIT) if flows else None,
        "stop_reading_own_method": quantity(
            float(result.plan.ec_after[row]) / float(case.settled_over_reading[row]),
            EC_UNIT,
        )
        if flows
        else None,
        "rest": quantity(60 * float(np.asarray(case.flush.rest_between)[row]), "min")
        if flows
        else None,
        "time_needed": quantity(float(result.plan.hours[row]), "h") if flows else None,
        "passes": passes_of(assessment, row) if flows else [],
        "comparison": compare_litres(result, row, notes) if flows else None,
        "costs": answer_costs(assessment, row, count, part, notes) if flows else None,
        "rebound": answer_rebound(assessment, row, sample, notes) if flows else None,
        "options": _options(assessment, row, sample, notes),
        "sources": notes.cite("van-genuchten-1980", substrate.source),
    }


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


def _options(assessment: Assessment, row: int, sample: int, notes: Notes) -> list[Json]:
    result = assessment.flush_plan
    if not result.case.needed[row]:
        return []
    if result.case.sealed[row]:
        return options_for_sealed(assessment, row, sample, notes)
    if stuck(result, row) or result.many_passes[row] or result.may_exceed_practical[row]:
        return options_for_open(assessment, row, sample, notes)
    return []
