"""A flush under way: what its readings say of one container."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from saltcalc.message import Message, say
from saltcalc.parts.flush.case import FlushCase, assume_flush
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import Column, Text, part, row_of, shown, source_keys
from saltcalc.science._arrays import Floats
from saltcalc.science.plan import CEILING_VOLUMES
from saltcalc.science.progress import (
    CONFIDENCE,
    READING_SPREAD,
    Progress,
    Readings,
    estimate_progress,
)
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment


@dataclass(frozen=True)
class PassesDone:
    """What was poured on one container and what came out, pass by pass.

    Attributes
    ----------
    applied, drained : (passes,) ndarray
        [L]; drained NaN where it was not measured.
    ec_drainage : (passes,) ndarray
        EC of each pass's drainage at 25 °C [dS/m]; NaN where it was not read.
    """

    applied: Floats
    drained: Floats
    ec_drainage: Floats


@part
class FlushProgress:
    """What the readings of a flush under way say; intervals are of 90 %."""

    shown_as: ClassVar[str] = "Progress"

    container: str | None = shown()
    passes_done: int = shown()
    applied_so_far: float = shown("Water poured on one container.", "L")
    efficiency: Interval = shown("Share of the drainage that moves solution, re-estimated.", "1")
    immobile_share: Interval = shown(
        "Share of the held water that does not flow, re-estimated.", "1"
    )
    ec_medium: Interval = shown("Pore water that the medium would settle to now.", "dS/m")
    target_pore_water: float = shown("Where it is to come down to.", "dS/m")
    remaining_per_container: Interval = shown("Water still to pour through one container.", "L")
    remaining_total: Interval = shown("Of all of them.", "L")
    remaining_passes: int | None = shown()
    applied_each: float = shown("Water of one pass.", "L")
    stop_reading: float = shown("Stop when the drainage of a pass reads this or less.", "dS/m")
    reaches_target: bool = shown()
    sentence: Text = shown()
    sources: list[str] = source_keys()


@part
class ProgressAlone:
    """A flush under way."""

    progress: FlushProgress | None = shown()
    intervals: Text = shown()


def drained_by_default(deficit: float, applied: Floats) -> Floats:
    """Water that drains from each pass if the drainage was not measured [L]: what is not soaked up.

    Parameters
    ----------
    deficit : float
        Water that the container soaks up before it drains [L].
    applied : (passes,) ndarray
        Water poured on in each pass [L].
    """
    through = np.maximum(np.cumsum(applied) - deficit, 0.0)
    return np.diff(through, prepend=0.0)


def follow_flush(case: FlushCase, done: PassesDone) -> Progress:
    """Re-estimate how a container washes out, and what is left to do.

    Parameters
    ----------
    case : FlushCase
        Of one container, before the flush.
    done : PassesDone
        So far.
    """
    flush: Column = case.flush
    ceiling = flush.ceiling - float(done.applied.sum())
    usual = drained_by_default(flush.deficit, done.applied)
    return estimate_progress(
        Readings(np.where(np.isnan(done.drained), usual, done.drained), done.ec_drainage),
        flush._replace(ceiling=max(ceiling, flush.pass_volume)),
        case.washout,
        case.held,
        _starting_ec(case),
    )


def _starting_ec(case: FlushCase) -> Interval:
    """EC before the flush, with the spread of both conversions together."""
    value, low, high = case.start
    factor, weaker, stronger = case.conversion
    down = np.hypot(np.log(low / value), np.log(weaker / factor))
    up = np.hypot(np.log(high / value), np.log(stronger / factor))
    return Interval.of(value, value * np.exp(-down), value * np.exp(up))


def show_progress(assessment: Assessment, done: PassesDone, notes: Notes) -> ProgressAlone:
    """Return what the readings of the one container of a one-sample assessment say."""
    return ProgressAlone(
        progress=_show(assessment, done, notes),
        intervals=say(
            "progress.intervals", confidence=100 * CONFIDENCE, spread=100 * READING_SPREAD
        ),
    )


def _show(assessment: Assessment, done: PassesDone, notes: Notes) -> FlushProgress | None:
    case = row_of(assessment.flush_case, 0)
    if not assessment.salinity.ec_25c[0] > 0:
        notes.missing("progress", "/medium/ec")
        return None
    if case.sealed:
        drainage = "/containers/0/drainage"
        notes.warn("sealed_container", "stop", say("progress.sealed"), drainage)
        notes.miss("progress", [drainage], say("missing.progress_of_sealed"))
        return None
    assume_flush(assessment, 0, notes)
    progress = follow_flush(case, done)
    reached, (litres, low, high) = progress.reached, progress.remaining
    remaining = Interval.of(litres if reached else math.nan, low, high)
    runs_past = _runs_past(progress, done)
    _find(case, progress, done, notes)
    containers = assessment.batch.containers
    return FlushProgress(
        container=containers.name[0],
        passes_done=int(done.applied.size),
        applied_so_far=float(done.applied.sum()),
        efficiency=Interval.of(*progress.efficiency),
        immobile_share=Interval.of(*progress.immobile_share),
        ec_medium=Interval.of(*progress.ec_medium),
        target_pore_water=case.target_pore_water,
        remaining_per_container=remaining,
        remaining_total=Interval(*(end * int(containers.count[0]) for end in remaining)),
        remaining_passes=progress.remaining_passes if reached else None,
        applied_each=case.flush.pass_volume,
        stop_reading=progress.stop_reading if reached else math.nan,
        reaches_target=reached,
        sentence=_sentence(progress, runs_past=runs_past),
        sources=notes.cite("judgement"),
    )


def _find(case: FlushCase, progress: Progress, done: PassesDone, notes: Notes) -> None:
    """Say where the flush does not get there, or its readings do not fit together."""
    poured, remaining = float(done.applied.sum()), "progress/remaining_per_container"
    if not progress.reached:
        notes.find("flush_does_not_get_there", "caution", remaining)
    elif progress.remaining.value + poured > case.practical_water:
        over = say("progress.over_ceiling", volumes=CEILING_VOLUMES)
        notes.warn("over_practical_ceiling", "caution", over, remaining)
    if _runs_past(progress, done):
        last = f"/readings/{done.applied.size - 1}/ec_drainage"
        notes.find("drainage_runs_past", "caution", last)
    # The pore water before the flush, at the upper end of both its intervals.
    most, read = float(case.start.high * case.conversion.high), float(np.nanmax(done.ec_drainage))
    if read > most:
        notes.find("drainage_above_medium", "caution", "/readings", read=read, most=most)
    drained = float(np.nansum(done.drained))
    measured = float(np.sum(done.applied[~np.isnan(done.drained)]))
    if drained > measured:
        notes.find(
            "drained_more_than_applied", "caution", "/readings", drained=drained, applied=measured
        )


def _runs_past(progress: Progress, done: PassesDone) -> bool:
    """Whether the drainage already reads what it should at the end, with more still to do."""
    read = done.ec_drainage[~np.isnan(done.ec_drainage)]
    to_do = progress.remaining_passes > 0 and bool(read.size)
    return to_do and bool(read[-1] <= progress.stop_reading)


def _sentence(progress: Progress, *, runs_past: bool) -> tuple[Message, ...]:
    now, remaining = progress.ec_medium.value, progress.remaining
    if not progress.reached:
        return (say("progress.not_reached", now=now),)
    if progress.remaining_passes == 0:
        return (say("progress.at_target", now=now),)
    likely = "progress.low_to_high" if math.isfinite(remaining.high) else "progress.low_or_more"
    told = {
        "passes": say("more_passes", count=progress.remaining_passes),
        "litres": remaining.value,
        "likely": say(likely, low=remaining.low, high=remaining.high),
        "stop": progress.stop_reading,
    }
    settles = say("progress.now", now=now)
    if runs_past:
        return (settles, say("progress.go_on", **told), say("progress.read_the_medium"))
    return (settles, say("progress.go_on_until", **told))
