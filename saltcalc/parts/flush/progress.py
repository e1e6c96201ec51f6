"""A flush under way: what its readings say of one container, and what to do next."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from saltcalc.message import Message, say
from saltcalc.parts.acting import REPORT
from saltcalc.parts.flush.assumed import assume_flush
from saltcalc.parts.flush.calcium import before_flush, find_sodic, show_calcium
from saltcalc.parts.flush.case import FlushCase
from saltcalc.parts.flush.options import AnyOption, other_ways
from saltcalc.parts.flush.pouring import say_more, say_when
from saltcalc.parts.ions.show import find_contradiction
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import Text, part, shown, source_keys
from saltcalc.science._arrays import Floats
from saltcalc.science.flush_readings import VERDICTS, Flag, FollowUp, follow_readings
from saltcalc.science.flush_story import Log
from saltcalc.science.instruction import PRACTICAL_VOLUMES
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

STOPPING = ("stop", "stop_fed", "stop_rewet", "stop_unmoved")

OF_MEDIUM = ("too_soon", "unlike_medium", "unmoved")
"""Flags of a reading of the medium; the others are of the drainage."""


@dataclass(frozen=True)
class PassesDone:
    """What was poured on one container, what came out, and what was read, in order.

    Attributes
    ----------
    applied, drained : (n,) ndarray
        [L]; drained NaN where it was not measured.
    ec_drainage : (n,) ndarray
        EC of each pass's drainage at 25 °C [dS/m]; NaN where it was not read.
    ec_own : (n,) ndarray
        EC by the extraction method of the medium's reading, before the water [dS/m]; NaN where it
        was not read.
    hours : (n,) ndarray
        From the first [h]; NaN where not told.
    """

    applied: Floats
    drained: Floats
    ec_drainage: Floats
    ec_own: Floats
    hours: Floats


@part
class FlushProgress:
    """What the readings of a flush under way say, and what to do next."""

    shown_as: ClassVar[str] = "Progress"

    container: str | None = shown()
    passes_done: int = shown("Passes that were done so far.")
    applied_so_far: float = shown("Water poured on one container.", "L")
    verdict: str = shown("What to do next.", choices=VERDICTS)
    sentence: Text = shown("The same in words.")
    held_back: str | None = shown(
        "What is to be settled before more is poured; the figures hold if it turns out as read.",
        choices=(REPORT,),
        optional=True,
    )
    efficiency: Interval = shown("Share of the drainage that moves solution, re-estimated.", "1")
    ec_medium: Interval = shown("Pore water that the medium would settle to now.", "dS/m")
    reading_now: Interval = shown(
        "What the medium would read by its own extraction method now, to hold against the check.",
        "dS/m",
    )
    target_pore_water: float = shown("EC of the pore water to come down to.", "dS/m")
    water_still_needed: Interval = shown(
        "Water that the middle of such containers still takes; eight in ten lie between the ends.",
        "L",
    )
    pour_now: float = shown("Water to pour on one container before the check.", "L")
    pour_now_total: float = shown("Water to pour on all containers before the check.", "L")
    passes_now: int = shown("How many passes that water is.")
    applied_each: float = shown("Water of one pass.", "L")
    wait: float = shown("Rest before the check.", "h")
    check_reading: float = shown(
        "Done when, after that rest, the medium reads this or less by its own extraction method.",
        "dS/m",
    )
    options: list[AnyOption] = shown("What else can be done where it is to stop.", optional=True)
    sources: list[str] = source_keys()


@part
class ProgressAlone:
    """A flush under way."""

    progress: FlushProgress | None = shown()
    intervals: Text = shown()


def show_progress(assessment: Assessment, done: PassesDone, notes: Notes) -> ProgressAlone:
    """Return what the readings of the one container of a one-sample assessment say."""
    return ProgressAlone(
        progress=_show(assessment, done, notes), intervals=say("progress.intervals")
    )


def follow_flush(assessment: Assessment, done: PassesDone) -> FollowUp:
    """Follow the one container of an assessment, on the model of its plan.

    Parameters
    ----------
    assessment : Assessment
        Of one container, before the flush.
    done : PassesDone
        So far.
    """
    flush = assessment.flush_of(0)
    case = flush.case
    return follow_readings(
        Log(
            done.applied,
            done.drained,
            done.ec_drainage,
            done.ec_own * case.settled_over_reading,
            done.hours,
        ),
        case.flush,
        case.known,
        case.volume,
        flush.advice.timing,
        case.reading,
        bool(case.read_by_pour_through),
        case.confidence,
        bool(assessment.ec_is_lower_bound[0]),
        float(case.settled_over_reading),
    )


def _show(assessment: Assessment, done: PassesDone, notes: Notes) -> FlushProgress | None:
    flush = assessment.flush_of(0)
    case = flush.case
    if not assessment.salinity.ec_25c[0] > 0:
        notes.missing("progress", "/medium/ec")
        return None
    if case.sealed:
        drainage = "/containers/0/drainage"
        notes.warn("sealed_container", "stop", say("progress.sealed"), drainage)
        notes.miss("progress", [drainage], say("missing.progress_of_sealed"))
        return None
    assume_flush(assessment, 0, notes)
    find_sodic(assessment, 0, notes)
    first = before_flush(show_calcium(assessment, 0, notes))
    found = follow_flush(assessment, done)
    for flag in found.flags:
        _find(case, flag, notes)
    _find_volumes(done, notes)
    containers = assessment.batch.containers
    check = float(found.check_ec / case.settled_over_reading)
    # A reading of the medium since then stands in the place of the one in doubt.
    held = bool(assessment.acting.report[0]) and bool(np.isnan(done.ec_own).all())
    if held:
        find_contradiction(assessment, 0, notes)
        found = found._replace(verdict="measure_again", ask=0.0, ask_passes=0)
    return FlushProgress(
        container=containers.name[0],
        passes_done=int((done.applied > 0).sum()),
        applied_so_far=found.applied,
        verdict=found.verdict,
        sentence=say("progress.report_in_doubt")
        if held
        else (*(first if found.ask else ()), *_sentence(assessment, found, check)),
        held_back=REPORT if held else None,
        efficiency=Interval.of(*found.efficiency),
        ec_medium=Interval.of(*found.ec_medium),
        reading_now=Interval(*(now / case.settled_over_reading for now in found.ec_medium)),
        target_pore_water=case.target_pore_water,
        water_still_needed=Interval.of(*found.needed),
        pour_now=found.ask,
        pour_now_total=found.ask * int(containers.count[0]),
        passes_now=found.ask_passes,
        applied_each=case.flush.pass_volume,
        wait=found.wait,
        check_reading=check,
        options=other_ways(_as_now(assessment, found), 0, notes)
        if found.verdict in STOPPING
        else [],
        sources=notes.cite("judgement"),
    )


def _as_now(assessment: Assessment, found: FollowUp) -> Assessment:
    """Return the same with the medium as it is now: its ions have gone as its EC has."""
    left = found.ec_medium.value / assessment.flush_of(0).case.flush.ec_medium
    samples = assessment.batch.samples
    medium = samples.medium
    ions = {name: amount * left for name, amount in medium.ions.items()}
    medium = replace(medium, ec=medium.ec * left, ions=ions)
    return replace(
        assessment, batch=replace(assessment.batch, samples=replace(samples, medium=medium))
    )


def _find(case: FlushCase, flag: Flag, notes: Notes) -> None:
    """Tell what is odd about a reading."""
    of_medium = flag.code in OF_MEDIUM
    member = "ec_own" if of_medium else "ec_drainage"
    field = f"/readings/{flag.entry}/{member}" if flag.entry >= 0 else "/readings"
    read, expected = flag.read, flag.expected
    if of_medium:
        read, expected = (float(each / case.settled_over_reading) for each in (read, expected))
    told = {"read": read, "expected": expected, "number": flag.entry + 1}
    notes.find(f"readings_{flag.code}", "caution", field, **told)


def _find_volumes(done: PassesDone, notes: Notes) -> None:
    drained = float(np.nansum(done.drained))
    measured = float(np.sum(done.applied[~np.isnan(done.drained)]))
    if drained > measured:
        notes.find(
            "drained_more_than_applied", "caution", "/readings", drained=drained, applied=measured
        )


def _sentence(assessment: Assessment, found: FollowUp, check: float) -> tuple[Message, ...]:
    """Say how far the flush is, as the grower's own method reads it, and what to do next."""
    case = assessment.flush_of(0).case
    now = say("progress.now", now=found.ec_medium.value / case.settled_over_reading)
    told = {"own": check, "when": say_when(found.wait)}
    if case.flush.ec_water >= case.flush.ec_target and found.verdict != "done":
        return now, say("progress.water_above_target")
    match found.verdict:
        case "go_on":
            passes = say("more_passes", count=found.ask_passes)
            return (
                now,
                say_more(assessment, 0, found.ask, passes, _likely(found)),
                say("progress.then_check", **told),
            )
        case "check":
            return now, say("progress.check", **told)
        case "stop":
            return now, say("progress.stop", volumes=PRACTICAL_VOLUMES)
        case "done":
            return (say("progress.done"),)
    return (say(f"progress.{found.verdict}"),)


def _likely(found: FollowUp) -> Message:
    low, high = found.needed.low, found.needed.high
    which = "progress.low_to_high" if math.isfinite(high) else "progress.low_or_more"
    return say(which, low=low, high=high)
