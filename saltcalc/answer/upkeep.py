"""Keeping salt down between flushes, in words and quantities."""

from __future__ import annotations

import math

import numpy as np

from saltcalc.answer.ledger import Ledger
from saltcalc.answer.quantities import EC_UNIT, SHARE_UNIT, Json, quantity
from saltcalc.answer.wording import figure
from saltcalc.assessment.assess import Assessment
from saltcalc.assessment.upkeep import DAYS, FLUSHED_TO, FRACTIONS, Upkeep


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
        "ec_after_flush": quantity(float(upkeep.flushed[row]), EC_UNIT),
        "build_up": [
            {"day": day, "ec": quantity(float(ec), EC_UNIT)}
            for day, ec in zip(DAYS, upkeep.build_up[row], strict=True)
        ],
        "days_to_limit": quantity(_finite(upkeep.days_from_now[row]), "day"),
        "flush_interval": quantity(_finite(upkeep.flush_interval[row]), "day"),
        "sentence": _sentence(upkeep, row, sealed),
        "sources": ledger.cite("fao29", "million-yeager", "judgement"),
    }


def _finite(value: float) -> float:
    return float(value) if math.isfinite(value) else math.nan


def _sentence(upkeep: Upkeep, row: int, sealed: bool) -> str:
    interval = float(upkeep.flush_interval[row])
    needed = float(upkeep.leaching_fraction_needed[row])
    if sealed:
        start = "Nothing drains here, so every watering leaves its salt behind."
    elif math.isfinite(needed):
        start = (
            f"Let about {needed:.0%} of each watering drain to stay under the limit "
            f"({upkeep.leaching_fraction[row]:.0%} drains now)."
        )
    else:
        start = "With this water no draining holds the limit."
    if math.isinf(interval):
        return f"{start} As watered now it never crosses the limit."
    if sealed:
        return f"{start} From {FLUSHED_TO:.0%} of the limit it is crossed in {interval:.0f} days."
    return (
        f"{start} As watered now, a medium flushed on to {FLUSHED_TO:.0%} of its limit "
        f"({figure(float(upkeep.flushed[row]))} dS/m in the pores) is back at it in "
        f"{interval:.0f} days. The flush plan stops at the limit itself: flush further, or let "
        "more drain, to stay under it."
    )
