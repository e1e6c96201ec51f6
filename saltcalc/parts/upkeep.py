"""Keeping salt down between flushes: where the medium's EC goes with this water, and how soon."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.batch import NOT_GIVEN, Batch
from saltcalc.data.washout import slow_releases
from saltcalc.message import Message, say
from saltcalc.parts.flush.case import MAX_PASSES, FlushCase
from saltcalc.parts.flush.plan import FlushResult, central, daily_use
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import Column, Series, Text, part, row_of, shown, shows, source_keys
from saltcalc.science._arrays import Flags, Floats
from saltcalc.science.buildup import (
    days_to_limit,
    ec_over_days,
    ec_that_lasts,
    leaching_fraction_for,
    steady_state_ec,
)
from saltcalc.science.flush import apply_water, settled_ec, uniform_state
from saltcalc.science.plan import FlushPlan, plan_flush

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

FRACTIONS = (0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5)
"""Leaching fractions for which the steady state is given."""

DAYS = tuple(range(0, 85, 7))
"""Days for which the build-up is given."""

LASTING_DAYS = 28.0
"""Days that a flush should last for (judgement)."""

EFFICIENCY = 1.0
"""Share of the drainage that is the medium's solution, in the salt balance of the handbooks.

Small daily waterings soak in, where a flush poured on runs past in part.
"""


@part
class SteadyStates:
    """The steady state at each leaching fraction."""

    at_fraction: Series = shown("Share of the water that drains.")
    pore_water: Series = shown("Its EC in the long run.")


@part
class BuildUp:
    """The pore water week by week."""

    on_day: Series = shown("From the flush planned, or from now where none is planned.")
    pore_water: Series = shown("Its EC.")


@part
class LastingFlush:
    """A flush, from now, that goes further than the one planned and so lasts longer."""

    days: float = shown("How long it lasts until the limit is crossed, as watered now.", "day")
    target_pore_water: float = shown("Where it brings the pore water.", "dS/m")
    water_per_container: float = shown("Water to pour through one container.", "L")
    passes: int = shown()
    stop_reading: float = shown("Stop when the drainage of a pass reads this or less.", "dS/m")


@part
class Upkeep:
    """How salt builds up between flushes, one row a container.

    Attributes
    ----------
    sealed, flushed : (m,) ndarray of bool
        Where nothing can drain, and where a flush is planned.
    release : (m,) ndarray
        The part of ``ec_applied`` that is slow release [dS/m].
    curve : (m, fractions) ndarray
        EC the pore water comes to at each of :data:`FRACTIONS` [dS/m].
    course : (m, days) ndarray
        EC at each of :data:`DAYS` from the start [dS/m].
    lasting_target : (m,) ndarray
        EC to flush on to so that the limit is crossed only after :data:`LASTING_DAYS` [dS/m]; NaN
        where the flush that is planned lasts as long, or none is.
    lasting_plan : FlushPlan
        The flush down to it, from now.
    practical_water : (m,) ndarray
        The most water that is practical [L].
    """

    container: str | None = shown()
    sealed: Flags
    flushed: Flags
    release: Floats
    ec_applied: Column = shown(
        "Water and feed together, and what a slow release adds to them.", "dS/m"
    )
    limit: Column = shown("Pore water not to go beyond.", "dS/m")
    irrigation: Column = shown("Water given to one container.", "L/day")
    evapotranspiration: Column = shown("Water used by one container.", "L/day")
    leaching_fraction: Column = shown("Share of the water that drains, as watered now.", "1")
    leaching_fraction_needed: Column = shown("Share that holds the limit.", "1")
    steady_state_ec: Column = shown(
        "Pore water in the long run, as watered now; null if it only rises.", "dS/m"
    )
    curve: Floats

    @property
    @shows("Left out where nothing can drain.", optional=True)
    def steady_state_by_leaching_fraction(self) -> SteadyStates | None:
        """The steady state at each leaching fraction; none where nothing can drain."""
        if self.sealed:
            return None
        return SteadyStates(Series(FRACTIONS, "1"), Series(self.curve.tolist(), "dS/m"))

    ec_at_start: Column = shown(
        "Pore water after the flush planned, or now where none is planned.", "dS/m"
    )
    course: Floats

    @property
    @shows()
    def build_up(self) -> BuildUp:
        """The pore water week by week."""
        return BuildUp(Series(DAYS, "day"), Series(self.course.tolist(), "dS/m"))

    days_to_limit: Column = shown(
        "From there until the limit is crossed; null if it never is.", "day"
    )
    regular_flush: Column = shown(
        "A flush of twice the container's volume; left out where none can drain.",
        "L",
        optional=True,
    )
    ec_after_regular_flush: Column = shown(
        "Pore water after such a flush, given at the limit.", "dS/m", optional=True
    )
    flush_interval: Column = shown(
        "Days from such a flush to the limit, so how often it is due; left out where the limit is "
        "never crossed, or the flush does not get below it.",
        "day",
        optional=True,
    )
    lasting_target: Floats
    lasting_plan: FlushPlan
    practical_water: Floats

    @property
    @shows("Left out where the flush planned lasts as long, or none helps.", optional=True)
    def lasting_flush(self) -> LastingFlush | None:
        """The flush that keeps the medium under its limit for longer than the planned one."""
        plan = self.lasting_plan
        if not plan.reached or plan.applied > self.practical_water:
            return None
        return LastingFlush(
            days=LASTING_DAYS,
            target_pore_water=float(self.lasting_target),
            water_per_container=float(plan.applied),
            passes=int(plan.passes),
            stop_reading=float(plan.stop_reading),
        )

    @property
    @shows()
    def sentence(self) -> Text:
        """What happens between flushes, in words."""
        return tuple(_sentences(self))

    sources: list[str] = source_keys()


def assess_upkeep(assessment: Assessment) -> Upkeep:
    """Follow the salt of every container between flushes."""
    batch, result = assessment.batch, assessment.flush_plan
    case, samples = result.case, batch.samples
    owner = case.owner
    use = daily_use(batch, case)
    given = samples.irrigation[owner] * case.area / 10_000.0
    given = np.where(case.sealed, np.minimum(given, use), given)
    with np.errstate(divide="ignore", invalid="ignore"):
        fraction = np.where(given > 0, np.maximum(given - use, 0.0) / given, 0.0)
    release = _release(batch, case, given)
    applied = np.asarray(case.flush.ec_water) + samples.feed_ec[owner] + release
    stated = samples.leaching_efficiency[owner]
    efficiency = np.where(np.isnan(stated), EFFICIENCY, stated)
    held = np.asarray(case.flush.water_held)
    limit = np.asarray(case.flush.ec_target)
    after = np.where(case.sealed, np.nan, _after_regular_flush(result, limit))
    interval = days_to_limit(limit, after, applied, given, use, held, efficiency)
    course = (applied, given, use, held)
    days = days_to_limit(limit, result.ec_after, *course, efficiency)
    lasting = ec_that_lasts(limit, LASTING_DAYS, *course, efficiency)
    worth = result.flushed & (days < LASTING_DAYS) & (lasting > 0)
    lasting = np.where(worth, lasting, np.nan)
    needed = leaching_fraction_for(applied, limit, efficiency)
    return Upkeep(
        container=batch.containers.name,
        sealed=case.sealed,
        flushed=result.flushed,
        release=release,
        ec_applied=applied,
        limit=limit,
        irrigation=given,
        evapotranspiration=use,
        leaching_fraction=fraction,
        leaching_fraction_needed=np.where(case.sealed, np.nan, needed),
        steady_state_ec=steady_state_ec(applied, fraction, efficiency),
        curve=steady_state_ec(applied[:, np.newaxis], FRACTIONS, efficiency[:, np.newaxis]),
        ec_at_start=result.ec_after,
        course=ec_over_days(result.ec_after, *course, np.array(DAYS, dtype=float), efficiency),
        days_to_limit=days,
        regular_flush=np.where(case.sealed, np.nan, result.two_volume_rule),
        ec_after_regular_flush=after,
        flush_interval=np.where(after < limit, interval, np.nan),
        lasting_target=lasting,
        lasting_plan=plan_flush(case.flush._replace(ec_target=lasting), central(case)),
        practical_water=case.practical_water,
        sources=[],
    )


def _release(batch: Batch, case: FlushCase, given: Floats) -> Floats:
    """Salt of a slow release, as EC of each day's water [dS/m]."""
    rates = np.array([each.rate for each in slow_releases().values()] + [0.0])
    code = batch.samples.slow_release[case.owner]
    daily = np.where(code == NOT_GIVEN, 0.0, rates[code]) * np.asarray(case.flush.water_held)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(given > 0, daily / given, 0.0)


def _after_regular_flush(result: FlushResult, limit: Floats) -> Floats:
    """EC that a medium at its limit settles to after twice the container's volume [dS/m].

    Poured on evenly over the time that its passes and the rests between them take, of no more
    passes than a plan has.
    """
    case, flush = result.case, result.case.flush
    rule = result.two_volume_rule
    passes = np.minimum(np.ceil(rule / np.asarray(flush.pass_volume)), MAX_PASSES)
    hours = passes * np.asarray(flush.duration) + (passes - 1) * np.asarray(flush.rest_between)
    parameters = central(case)
    washed = apply_water(
        uniform_state(limit, parameters),
        parameters,
        rule / np.asarray(flush.water_held),
        flush.ec_water,
        hours,
    )
    return np.fmax(settled_ec(washed.state, parameters), case.gypsum_plateau)


def show_upkeep(assessment: Assessment, sample: int, notes: Notes) -> list[Upkeep] | None:
    """Return the salt between flushes of each container of a sample, or None without one."""
    rows = assessment.containers_of(sample)
    missing = [] if rows else ["/containers"]
    if math.isnan(assessment.salinity.ec_25c[sample]) or assessment.ec_is_floor[sample]:
        missing.append("/medium/ec")
    if missing:
        notes.missing("upkeep", *missing)
        return None
    return [_show(assessment, row, place, notes) for place, row in enumerate(rows)]


def _show(assessment: Assessment, row: int, place: int, notes: Notes) -> Upkeep:
    upkeep: Upkeep = row_of(assessment.upkeep, row)
    if math.isnan(upkeep.leaching_fraction_needed) and not upkeep.sealed:
        notes.find(
            "water_cannot_hold_limit",
            "caution",
            f"upkeep/{place}",
            ec=upkeep.ec_applied,
            limit=upkeep.limit,
        )
    sources = notes.cite("fao29", "million_yeager", "ucanr_soluble_salts", "judgement")
    return replace(upkeep, sources=sources)


def _sentences(upkeep: Upkeep) -> Iterator[Message]:
    limit, days, start = upkeep.limit, upkeep.days_to_limit, upkeep.ec_at_start
    if upkeep.release > 0:
        yield say("upkeep.slow_release", release=upkeep.release)
    yield _draining(upkeep)
    begin = "after_flush" if upkeep.flushed else "from_now"
    if math.isinf(days):
        yield say(f"upkeep.never_{begin}", start=start, limit=limit)
    elif start > limit:
        yield say("upkeep.above_limit", start=start, limit=limit)
    else:
        yield say(f"upkeep.crosses_{begin}", start=start, limit=limit, time=_days(days))
    if lasting := upkeep.lasting_flush:
        yield say(
            "upkeep.lasting_flush",
            weeks=LASTING_DAYS / 7,
            water=lasting.water_per_container,
            passes=say("passes", count=lasting.passes),
            stop=lasting.stop_reading,
        )
    interval = upkeep.flush_interval
    if interval < 1:
        yield say("upkeep.flush_lasts_no_day")
    elif math.isfinite(interval):
        yield say("upkeep.regular_flush", water=upkeep.regular_flush, time=_days(interval))


def _days(days: float) -> Message:
    return say("days", count=math.floor(days)) if days >= 1 else say("less_than_a_day")


def _draining(upkeep: Upkeep) -> Message:
    needed, drains = upkeep.leaching_fraction_needed, upkeep.leaching_fraction
    if upkeep.sealed:
        return say("upkeep.nothing_drains")
    if math.isnan(needed):
        return say("upkeep.no_draining_helps")
    which = "enough_drains" if drains >= needed else "more_must_drain"
    return say(f"upkeep.{which}", needed=needed, drains=drains)
