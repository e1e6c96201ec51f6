"""Keeping salt down between flushes, in words and quantities."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from saltcalc.answer.ledger import Ledger
from saltcalc.answer.quantities import EC_UNIT, SHARE_UNIT, Json, quantity
from saltcalc.answer.wording import figure, in_days, in_passes
from saltcalc.assessment.assess import Assessment
from saltcalc.assessment.upkeep import DAYS, FRACTIONS, LASTING_DAYS, Upkeep


def answer_upkeep(
    assessment: Assessment, names: list[str | None], sample: int, ledger: Ledger
) -> list[Json] | None:
    """Return the salt between flushes of each container of a sample."""
    rows = np.flatnonzero(assessment.batch.containers.sample == sample)
    missing = []
    if not rows.size:
        missing.append("/containers")
    if math.isnan(assessment.salinity.ec_25c[sample]):
        missing.append("/medium/ec")
    if missing:
        ledger.miss(
            "upkeep",
            missing,
            "How salt builds up between flushes follows from the container and its EC.",
        )
        return None
    return [
        _answer_one(assessment, int(row), position, name, ledger)
        for position, (row, name) in enumerate(zip(rows, names, strict=True))
    ]


def _answer_one(
    assessment: Assessment, row: int, position: int, name: str | None, ledger: Ledger
) -> Json:
    upkeep = assessment.upkeep
    sealed = bool(assessment.flush_plan.case.sealed[row])
    if math.isnan(float(upkeep.leaching_fraction_needed[row])) and not sealed:
        ledger.warn(
            "water-cannot-hold-limit",
            "caution",
            f"Watered with {figure(float(upkeep.ec_applied[row]))} dS/m, the medium goes above its "
            f"limit of {figure(float(upkeep.limit[row]))} dS/m (pore water) however much drains. A "
            "better water is needed.",
            f"upkeep/{position}",
        )
    lasting = _lasting(assessment, row)
    return {
        "container": name,
        "ec_applied": quantity(float(upkeep.ec_applied[row]), EC_UNIT),
        "limit": quantity(float(upkeep.limit[row]), EC_UNIT),
        "irrigation": quantity(float(upkeep.irrigation[row]), "L/day"),
        "evapotranspiration": quantity(float(upkeep.use[row]), "L/day"),
        "leaching_fraction": quantity(float(upkeep.leaching_fraction[row]), SHARE_UNIT),
        "leaching_fraction_needed": quantity(
            float(upkeep.leaching_fraction_needed[row]), SHARE_UNIT
        ),
        "steady_state_ec": quantity(_finite(upkeep.steady_state[row]), EC_UNIT),
        "steady_state_by_leaching_fraction": []
        if sealed
        else [
            {"leaching_fraction": fraction, "ec": quantity(float(ec), EC_UNIT)}
            for fraction, ec in zip(FRACTIONS, upkeep.curve[row], strict=True)
        ],
        "ec_at_start": quantity(float(upkeep.start[row]), EC_UNIT),
        "build_up": [
            {"day": day, "ec": quantity(float(ec), EC_UNIT)}
            for day, ec in zip(DAYS, upkeep.build_up[row], strict=True)
        ],
        "days_to_limit": quantity(_finite(upkeep.days_to_limit[row]), "day"),
        "regular_flush": quantity(float(upkeep.regular_flush[row]), "L"),
        "ec_after_regular_flush": quantity(float(upkeep.after_regular_flush[row]), EC_UNIT),
        "flush_interval": quantity(_finite(upkeep.flush_interval[row]), "day"),
        "lasting_flush": lasting,
        "sentence": " ".join(_sentences(assessment, row, lasting)),
        "sources": ledger.cite("fao29", "million-yeager", "ucanr-soluble-salts", "judgement"),
    }


def _lasting(assessment: Assessment, row: int) -> Json | None:
    """Return the flush that keeps the medium under its limit for longer than the planned one."""
    upkeep, result = assessment.upkeep, assessment.flush_plan
    plan = upkeep.lasting_plan
    if not plan.reached[row] or plan.applied[row] > result.case.practical_water[row]:
        return None
    return {
        "days": quantity(LASTING_DAYS, "day"),
        "target_pore_water": quantity(float(upkeep.lasting_target[row]), EC_UNIT),
        "water_per_container": quantity(float(plan.applied[row]), "L"),
        "passes": int(plan.passes[row]),
        "stop_reading": quantity(float(plan.stop_reading[row]), EC_UNIT),
    }


def _finite(value: float) -> float:
    return float(value) if math.isfinite(value) else math.nan


def _sentences(assessment: Assessment, row: int, lasting: Json | None) -> Iterator[str]:
    upkeep, result = assessment.upkeep, assessment.flush_plan
    if upkeep.release[row] > 0:
        yield (
            f"The slow release adds as much salt as {figure(float(upkeep.release[row]))} dS/m more "
            "in the water would, as long as it lasts."
        )
    yield _draining(upkeep, row, sealed=bool(result.case.sealed[row]))
    limit, days = float(upkeep.limit[row]), float(upkeep.days_to_limit[row])
    start = f"{figure(float(upkeep.start[row]))} dS/m in the pores"
    begin = f"After the flush planned ({start})" if result.flushed[row] else f"From now ({start})"
    if math.isinf(days):
        yield f"{begin} it never crosses the limit of {figure(limit)} dS/m as watered now."
    elif float(upkeep.start[row]) > limit:
        yield f"It is above the limit of {figure(limit)} dS/m now ({start})."
    else:
        yield (
            f"{begin} it crosses the limit of {figure(limit)} dS/m in {in_days(days)} as watered "
            "now."
        )
    if lasting:
        yield (
            f"To stay under it for {LASTING_DAYS / 7:.0f} weeks, flush further now: "
            f"{figure(lasting['water_per_container']['value'], 3)} L in "
            f"{in_passes(lasting['passes'])}, until the drainage reads "
            f"{figure(lasting['stop_reading']['value'])} dS/m or less."
        )
    interval = float(upkeep.flush_interval[row])
    if interval < 1:
        yield "A flush of twice its volume would not last a day: let more drain."
    elif math.isfinite(interval):
        yield (
            f"Later on, unless more drains, flush it with twice its volume "
            f"({figure(float(upkeep.regular_flush[row]))} L) every {in_days(interval)}."
        )


def _draining(upkeep: Upkeep, row: int, *, sealed: bool) -> str:
    needed = float(upkeep.leaching_fraction_needed[row])
    if sealed:
        return "Nothing drains here, so every watering leaves its salt behind."
    if math.isnan(needed):
        return "With this water no draining holds the limit."
    drains = float(upkeep.leaching_fraction[row])
    if drains >= needed:
        return (
            f"Enough drains to stay under the limit in the long run: {drains:.0%} of each "
            f"watering, where about {needed:.0%} would do."
        )
    return (
        f"Let about {needed:.0%} of each watering drain to stay under the limit ({drains:.0%} "
        "drains now)."
    )
