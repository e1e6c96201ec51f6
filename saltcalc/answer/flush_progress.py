"""A flush under way, in words and quantities."""

from __future__ import annotations

import math

import numpy as np

from saltcalc.answer.assessment import Readings
from saltcalc.answer.flush_assumptions import state_flush_assumptions
from saltcalc.answer.quantities import EC_UNIT, SHARE_UNIT, Json, quantity
from saltcalc.answer.wording import figure, in_passes
from saltcalc.case.batch import FloatArray
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.assumptions import (
    ALL,
    state_defaults,
    state_reading_temperatures,
    state_readings,
)
from saltcalc.parts.flush_progress import follow_flush
from saltcalc.parts.notes import Notes
from saltcalc.parts.readings import EcReadings
from saltcalc.science.plan import CEILING_VOLUMES
from saltcalc.science.progress import CONFIDENCE, READING_SPREAD, Progress, Range

_ROW = 0

INTERVALS = (
    f"Low and high bound a {100 * CONFIDENCE:.0f} % interval: least squares on the readings so "
    f"far (each taken as good to {100 * READING_SPREAD:.0f} %), with the usual figures of the "
    "medium and their 80 % intervals as what is known beforehand."
)


def answer_progress(
    assessment: Assessment,
    readings: Readings,
    applied: FloatArray,
    drained: FloatArray,
    drainage: EcReadings,
) -> Json:
    """Return what the readings of the one container of a one-sample assessment say.

    Parameters
    ----------
    assessment : Assessment
        Of the medium before the flush.
    readings : list of (str, str)
        Of the request.
    applied, drained : (passes,) ndarray
        Of each pass [L].
    drainage : EcReadings
        EC of the drainage of each pass.
    """
    notes = assessment.notes()
    state_readings(readings, notes)
    state_reading_temperatures(drainage, "readings", "temperature", notes)
    state_defaults(assessment, 0, ALL - {"upkeep", "water_use"}, notes)
    result = assessment.flush_plan
    part = None
    if not assessment.salinity.ec_25c[0] > 0:
        notes.miss(
            "progress", ["/medium/ec"], "A flush is followed from the EC before it, above zero."
        )
    elif result.case.sealed[_ROW]:
        notes.warn(
            "sealed-container",
            "stop",
            "This container cannot drain: it must not be flushed.",
            "/containers/0/drainage",
        )
        notes.miss("progress", ["/containers/0/drainage"], "A sealed container has no drainage.")
    else:
        state_flush_assumptions(assessment, 0, notes)
        progress = follow_flush(result.case, _ROW, applied, drained, drainage.ec)
        part = _progress(assessment, progress, (applied, drained, drainage.ec), notes)
    return {"progress": part, "intervals": INTERVALS} | notes.closing()


def _progress(
    assessment: Assessment,
    progress: Progress,
    readings: tuple[FloatArray, FloatArray, FloatArray],
    notes: Notes,
) -> Json:
    applied, drained, ec_drainage = readings
    result, count = assessment.flush_plan, int(assessment.batch.containers.count[_ROW])
    remaining = progress.remaining
    settled = progress.ec_medium
    litres = remaining.value if progress.reached else math.nan
    if not progress.reached:
        notes.warn(
            "flush-does-not-get-there",
            "caution",
            "By the readings so far this flush does not get to the target with a sensible amount "
            "of water. Blend or replace the medium, or use a better water.",
            "progress/remaining_per_container",
        )
    elif litres + applied.sum() > float(result.case.practical_water[_ROW]):
        notes.warn(
            "over-practical-ceiling",
            "caution",
            f"In all it would take more than {CEILING_VOLUMES:.0f} times the container's volume. "
            "Blending or replacing the medium is the better way.",
            "progress/remaining_per_container",
        )
    runs_past = _runs_past(progress, ec_drainage)
    if runs_past:
        notes.warn(
            "drainage-runs-past",
            "caution",
            "The drainage reads as low as at the end of a flush, but by all the readings together "
            "the medium has not let go of its salt: water seems to run past it, through cracks or "
            "down the wall. Go by the litres and not by the drainage; pour slowly, in small lots, "
            "and settle it with a reading of the medium itself.",
            f"/readings/{applied.size - 1}/ec_drainage",
        )
    strongest = _strongest_start(assessment)
    if np.nanmax(ec_drainage) > strongest:
        notes.warn(
            "drainage-above-medium",
            "caution",
            f"The drainage reads {figure(float(np.nanmax(ec_drainage)))} dS/m, more than the pore "
            f"water was thought to hold at most ({figure(strongest)} dS/m). Check the meter, the "
            "report and the extraction; the estimate trusts both in part.",
            "/readings",
        )
    if np.nansum(drained) > np.sum(applied[~np.isnan(drained)]):
        notes.warn(
            "drained-more-than-applied",
            "caution",
            f"{figure(float(np.nansum(drained)), 3)} L drained of "
            f"{figure(float(np.sum(applied[~np.isnan(drained)])), 3)} L poured on. Either the "
            "container had not drained before, or a volume is a slip; the estimate takes the "
            "drained volumes as they are.",
            "/readings",
        )
    return {
        "container": assessment.batch.containers.name[0],
        "passes_done": int(applied.size),
        "applied_so_far": quantity(float(applied.sum()), "L"),
        "efficiency": _range(progress.efficiency, SHARE_UNIT),
        "immobile_share": _range(progress.immobile_share, SHARE_UNIT),
        "ec_medium": _range(settled, EC_UNIT),
        "target_pore_water": quantity(float(result.case.target_pore_water[_ROW]), EC_UNIT),
        "remaining_per_container": quantity(litres, "L", remaining.low, remaining.high),
        "remaining_total": quantity(
            litres * count, "L", remaining.low * count, remaining.high * count
        ),
        "remaining_passes": progress.remaining_passes if progress.reached else None,
        "applied_each": quantity(float(np.asarray(result.case.flush.pass_volume)[_ROW]), "L"),
        "stop_reading": quantity(progress.stop_reading, EC_UNIT) if progress.reached else None,
        "reaches_target": progress.reached,
        "sentence": _sentence(progress, runs_past=runs_past),
        "sources": notes.cite("judgement"),
    }


def _range(figures: Range, unit: str) -> Json | None:
    return quantity(figures.value, unit, figures.low, figures.high)


def _strongest_start(assessment: Assessment) -> float:
    """EC that the pore water held before the flush, at the upper end of its interval [dS/m]."""
    case = assessment.flush_plan.case
    return float(np.asarray(case.start.high)[_ROW] * np.asarray(case.conversion.high)[_ROW])


def _runs_past(progress: Progress, ec_drainage: FloatArray) -> bool:
    """Whether the drainage already reads what it should at the end, with more still to do."""
    read = ec_drainage[~np.isnan(ec_drainage)]
    to_do = progress.remaining_passes > 0 and bool(read.size)
    return to_do and bool(read[-1] <= progress.stop_reading)


def _sentence(progress: Progress, *, runs_past: bool) -> str:
    now = f"The medium would settle to about {figure(progress.ec_medium.value)} dS/m now"
    if not progress.reached:
        return f"{now}; going on does not get it to the target."
    if progress.remaining_passes == 0:
        return f"{now}, at its target: stop here, and measure again after three days."
    high = progress.remaining.high
    upper = f"to {figure(high)} L" if math.isfinite(high) else "or much more"
    go_on = (
        f"{now}. Go on with {in_passes(progress.remaining_passes, 'more ')}, "
        f"{figure(progress.remaining.value, 3)} L ({figure(progress.remaining.low)} {upper})"
    )
    if runs_past:
        return (
            f"{go_on}. The drainage cannot tell when to stop, as water runs past: read the medium "
            "itself."
        )
    return f"{go_on}, until the drainage reads {figure(progress.stop_reading)} dS/m or less."
