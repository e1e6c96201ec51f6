"""How salt builds up between flushes, as arrays of one row a container."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.batch import ObjectArray
from saltcalc.data.uptake import UPTAKE_IONS, uptake_concentrations
from saltcalc.parts.flush.case import GYPSUM_MARGIN, MAX_PASSES
from saltcalc.parts.flush.plan import FlushResult, advise, middle_pots
from saltcalc.parts.leaching import RULES, rain_over_use, root_zone_requirement
from saltcalc.parts.shown import Column, Series, Text, later, part, shown, shows, source_keys
from saltcalc.parts.upkeep.told import sentences
from saltcalc.parts.watering import Watering, feed_leads
from saltcalc.science import cycles
from saltcalc.science._arrays import Flags, Floats, filled
from saltcalc.science.buildup import HORIZON, Courses, Days, courses, days_until, start_that_lasts
from saltcalc.science.instruction import METER_ERROR, Instruction
from saltcalc.science.root_zone import MOST_UPTAKE, steady_profile, steady_range
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

DAYS = (0, 14, 28, 84)
"""Days for which the build-up is given."""

LASTING_DAYS = (28.0, 14.0, 7.0)
"""Days that a flush should last for; the first that this water allows (judgement)."""

WORTH_MORE = 0.98
"""Share of the limit below which a flush must end for it to be told that one lasts (judgement)."""

TOLD_APART = 1.0 + METER_ERROR
"""EC over the limit from which a meter tells it from the limit. [-]"""

WATER_MARGIN = 1.15
"""A flush does not aim below this many times the EC of its water: a meter's error (judgement)."""

ION_CHARGES = {"calcium": 2, "magnesium": 2}


@part
class BuildUp:
    """The pore water over weeks, as the mean of the root zone."""

    on_day: Series = shown("Days from the start.")
    pore_water: Series = shown("EC of the pore water, without uptake.")
    pore_water_not_flushed: Series | None = shown(
        "The same where the flush that is planned is left out.", optional=True
    )
    pore_water_with_uptake: Series | None = shown(
        "EC of the pore water with as much of the feed taken up as crops do at most.", optional=True
    )


@part
class WithUptake:
    """The same where the crop takes up as much of the feed as crops do at most."""

    share_of_feed: float = shown("Share of the EC of the feed that is taken up.", "1")
    steady_state_ec: Column = shown("EC in the long run, as the mean of the root zone.", "dS/m")
    days_to_limit: Interval = shown("Days until the limit is crossed, with uptake.", "day")


@part
class IonBuildUp:
    """Ions of the water in the root zone in the long run; what the feed brings comes to it."""

    of_ions: list[str] = shown("The ions of water and feed.", choices=UPTAKE_IONS)
    in_water: Series = shown("Concentration in water and rain together.")
    ions_without_uptake: Series = shown("Mean of the root zone without uptake.")
    ions_with_uptake: Series = shown("With the uptake published for the crop that takes up least.")


@part
class LastingFlush:
    """A flush, from now, that goes further than to the limit and so lasts."""

    days: float = shown("How long it lasts in four cases of five, as watered now.", "day")
    target_pore_water: float = shown("EC to which it brings the pore water.", "dS/m")
    target_reading: float = shown("The same as the medium's own method would read it.", "dS/m")
    water_per_container: float = shown("Water to pour through one container.", "L")
    passes: int = shown("Number of passes.")
    wait: float = shown("Rest before that reading.", "h")
    more_water: float = shown("To pour on each where it reads more.", "L", optional=True)
    most_rounds: int = shown("How many times at most that is to be poured.")
    check_reading: float = shown(
        "Done when, after a rest, the medium reads this or less by its own extraction method.",
        "dS/m",
    )


@part
class Upkeep:
    """How salt builds up between flushes, one row a container.

    Attributes
    ----------
    sealed, flushed : (m,) ndarray of bool
        Where nothing can drain, and where a flush is planned.
    supposed : (m,) ndarray of bool
        Whether the watering is a default; known where it is shown.
    release, fed : (m,) ndarray
        The parts of ``ec_applied`` that are slow release, and nutrients [dS/m].
    feed_leads : (m,) ndarray of bool
        Whether the nutrients are most of it.
    with_feed : (m,) ndarray of bool
        Whether the water carries a feed.
    course, course_with_uptake : (m, days) ndarray
        EC at each of :data:`DAYS` from the start [dS/m].
    crossing : (m,) ndarray
        Share of the cases that cross the limit within a year [-].
    steady_with_uptake : (m,) ndarray
        Mean of the root zone with uptake [dS/m].
    days_with_uptake : Interval of (m,) ndarray
        Days until the limit is crossed, with uptake.
    ions_in_water, ions_without_uptake, ions_with_uptake : (m, ions) ndarray
        Of :data:`UPTAKE_IONS` [mmol/L].
    lasting_days, lasting_target, lasting_reading : (m,) ndarray
        How long a flush is to last [day], and the EC to flush on to for it [dS/m]; NaN where the
        one that is planned lasts as long, or none is.
    lasting_plan : Instruction
        The flush down to it, from now.
    lasting_check : (m,) ndarray
        Reading by the medium's own extraction method that ends it [dS/m].
    """

    container: str | None = shown()
    sealed: Flags
    flushed: Flags
    supposed: Flags
    release: Floats
    fed: Floats
    feed_leads: Flags
    with_feed: Flags

    @property
    @shows("True where the water carries a feed, or else left out.", optional=True)
    def fed_with_water(self) -> bool | None:
        """Whether the water carries a feed, that could be weaker."""
        return bool(self.with_feed) or None

    ec_applied: Column = shown(
        "EC of water, rain and feed together, and what a slow release adds to them.", "dS/m"
    )
    limit: Column = shown(
        "EC of the pore water not to go beyond, as the mean of the root zone.", "dS/m"
    )
    irrigation: Column = shown("Water given to one container.", "L/day")
    rain: Column = shown("Rain that falls into it.", "L/day", optional=True)
    evapotranspiration: Column = shown("Water used by one container.", "L/day")
    leaching_fraction: Column = shown("Share of the water that drains, as watered now.", "1")
    leaching_fraction_needed: Column = shown(
        "Share that holds the limit, and chloride and boron at theirs; left out if none does.",
        "1",
        optional=True,
    )
    rule: str | None = shown("The rule that asks for that share.", optional=True, choices=RULES)
    steady_state_ec: Interval = shown(
        "Mean of the root zone in the long run, as watered now, without uptake; left out if it "
        "only rises. Low is with uptake and 0.05 more draining, high with 0.05 less.",
        "dS/m",
        optional=True,
    )
    steady_state_drainage: Interval = shown(
        "EC of the drainage in that state; low and high likewise.", "dS/m", optional=True
    )
    ec_at_start: Column = shown(
        "Pore water now, or the most that the check at the end of the planned flush lets pass.",
        "dS/m",
    )

    @property
    def start_is_below(self) -> bool:
        """Whether the limit is still to be crossed."""
        return bool(self.ec_at_start <= self.limit)

    course: Floats
    course_not_flushed: Floats
    course_with_uptake: Floats

    @property
    @shows()
    def build_up(self) -> BuildUp:
        """The pore water over weeks."""
        taken = Series(self.course_with_uptake.tolist(), "dS/m") if self.fed > 0 else None
        left = Series(self.course_not_flushed.tolist(), "dS/m") if self.flushed else None
        return BuildUp(Series(DAYS, "day"), Series(self.course.tolist(), "dS/m"), left, taken)

    days_to_limit: Interval = shown(
        "From there until the limit is crossed, without uptake: 0 if it is above it, 364 if a year "
        "is not enough. Low and high are means over the quicker and the slower cases.",
        "day",
    )
    crossing: Floats
    steady_with_uptake: Floats
    days_with_uptake: Interval

    @property
    @shows(
        "The same with uptake by the crop; left out where no feed and no slow release is given.",
        optional=True,
    )
    def with_uptake(self) -> WithUptake | None:
        """What uptake by the crop changes at most."""
        if not self.fed > 0:
            return None
        return WithUptake(MOST_UPTAKE, self.steady_with_uptake, self.days_with_uptake)

    ions_in_water: Floats
    ions_without_uptake: Floats
    ions_with_uptake: Floats

    @property
    @shows("Those of which the crop's uptake is published; left out without any.", optional=True)
    def ions(self) -> IonBuildUp | None:
        """Where single ions go."""
        places = np.flatnonzero(~np.isnan(self.ions_with_uptake)).tolist()
        if not places or self.sealed:
            return None
        columns = (self.ions_in_water, self.ions_without_uptake, self.ions_with_uptake)
        return IonBuildUp(
            [UPTAKE_IONS[place] for place in places],
            *(Series(column[places].tolist(), "mmol/L") for column in columns),
        )

    periodic_leaching: Column = shown(
        "A flush of twice the container's volume; left out where none can drain.",
        "L",
        optional=True,
    )
    ec_after_regular_flush: Column = shown(
        "Pore water after such a flush, given at the limit.", "dS/m", optional=True
    )
    flush_interval: Interval = shown(
        "Days from such a flush to the limit, so how often it is due; left out where that takes "
        "more than a year, or the flush does not get below it.",
        "day",
        optional=True,
    )
    lasting_days: Floats
    lasting_target: Floats
    lasting_reading: Floats
    lasting_plan: Instruction
    lasting_check: Floats

    @property
    @shows("Left out where the flush planned lasts as long, or none helps.", optional=True)
    def extended_flush(self) -> LastingFlush | None:
        """The flush that keeps the medium under its limit for longer than the planned one."""
        if math.isnan(self.lasting_days):
            return None
        return LastingFlush(
            days=float(self.lasting_days),
            target_pore_water=float(self.lasting_target),
            target_reading=float(self.lasting_reading),
            water_per_container=float(self.lasting_plan.litres),
            passes=int(self.lasting_plan.passes),
            wait=float(self.lasting_plan.wait),
            more_water=float(self.lasting_plan.more) if self.lasting_plan.rounds else math.nan,
            most_rounds=int(self.lasting_plan.rounds),
            check_reading=float(self.lasting_check),
        )

    @property
    @shows()
    def sentence(self) -> Text:
        """What happens between flushes, in words."""
        return tuple(sentences(self))

    sources: list[str] = source_keys()


def assess_upkeep(assessment: Assessment) -> Upkeep:
    """Follow the salt of every container between flushes."""
    result, watering = assessment.flush_plan, assessment.watering
    case = result.case
    now, goal = np.asarray(case.flush.ec_medium), np.asarray(case.flush.ec_target)
    limit = case.limit_pore_water
    start = np.where(result.flushed, np.minimum(now, goal), now)
    applied, fraction = watering.applied, watering.fraction
    uptake = MOST_UPTAKE * watering.fed
    course = courses(applied, watering.given, watering.use, case.known.water_held)
    steady = cache(lambda: steady_range(applied, fraction, watering.fed))
    fed = cache(
        lambda: courses(applied, watering.given, watering.use, case.known.water_held, uptake)
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        before = case.known.ec_medium
        width = [np.asarray(end) / np.asarray(before.value) for end in before[1:]]
    starts = Interval(start, *(start * filled(each, 1.0) for each in width))
    days = cache(lambda: days_until(course, limit, starts, case.known.conversion))
    after = cache(lambda: np.where(case.sealed, np.nan, _after_regular_flush(result, limit)))

    def interval() -> Interval:
        start = Interval(after(), after(), after())
        found = days_until(course, limit, start, case.known.conversion)
        due = (after() < limit) & (found.value < HORIZON - 1)
        return Interval(*(np.where(due, each, np.nan) for each in found[:3]))

    def slower() -> Interval:
        return Interval(*days_until(fed(), limit, starts, case.known.conversion)[:3])

    needed = cache(lambda: _needed(assessment, watering, limit))
    ions = cache(lambda: _ions(assessment, watering))
    lasting_days, target, plan = _lasting(result, course, limit, days, feed_leads(watering))
    return Upkeep(
        container=assessment.batch.containers.name,
        sealed=case.sealed,
        flushed=result.flushed,
        supposed=np.zeros(fraction.shape, dtype=bool),
        release=watering.release,
        fed=watering.fed,
        feed_leads=feed_leads(watering),
        with_feed=assessment.batch.samples.feed_ec[case.owner] > 0,
        ec_applied=applied,
        limit=limit,
        irrigation=watering.irrigation,
        rain=np.where(watering.rain > 0, watering.rain, np.nan),
        evapotranspiration=watering.use,
        leaching_fraction=fraction,
        leaching_fraction_needed=later(lambda: needed()[0]),
        rule=later(lambda: needed()[1]),
        steady_state_ec=later(lambda: Interval(*(each.mean for each in steady()))),
        steady_state_drainage=later(lambda: Interval(*(each.drainage for each in steady()))),
        ec_at_start=start,
        course=later(lambda: _on_days(course, start)),
        course_not_flushed=later(lambda: _on_days(course, now)),
        course_with_uptake=later(lambda: _on_days(fed(), start)),
        days_to_limit=later(lambda: Interval(*days()[:3])),
        crossing=later(lambda: days().share),
        steady_with_uptake=later(lambda: steady_profile(applied, fraction, uptake).mean),
        days_with_uptake=later(slower),
        ions_in_water=later(lambda: ions()[0]),
        ions_without_uptake=later(lambda: ions()[1]),
        ions_with_uptake=later(lambda: ions()[2]),
        periodic_leaching=np.where(case.sealed, np.nan, result.two_volume_rule),
        ec_after_regular_flush=later(after),
        flush_interval=later(interval),
        lasting_days=lasting_days,
        lasting_target=target,
        lasting_reading=target / case.settled_over_reading,
        lasting_plan=plan,
        lasting_check=plan.check_ec / case.settled_over_reading,
        sources=[],
    )


def _on_days(course: Courses, start: Floats) -> Floats:
    """EC of the middle case on each of :data:`DAYS` [dS/m], shape (m, days)."""
    rows = np.searchsorted(course.days, DAYS)
    return (course.slope[rows, :, 0] * start + course.gain[rows, :, 0]).T


def _needed(
    assessment: Assessment, watering: Watering, limit: Floats
) -> tuple[Floats, ObjectArray]:
    """Share that must drain from each container [L/L], and the rule that asks for it.

    EC is held at the limit of the flush; chloride and boron at those of the plantings. NaN where
    one of them cannot be held, or nothing can drain.
    """
    case, found = assessment.flush_case, assessment.leaching
    share = root_zone_requirement(watering.brought, limit, rain_over_use(assessment, case.owner))
    known = ~np.isnan(watering.brought + limit)
    asked = [np.where(known, filled(share, 1.0), -1.0)]
    for ion in ("chloride", "boron"):
        most = np.full(assessment.batch.samples.count, -1.0)
        of_ion = np.where(found.rule == ion, filled(found.requirement, 1.0), -1.0)
        np.maximum.at(most, assessment.batch.plantings.sample, of_ion.astype(float))
        asked.append(most[case.owner])
    table = np.stack(asked)
    most = table.max(axis=0)
    possible = (most >= 0) & ~case.sealed
    names: ObjectArray = np.array(["root_zone", "chloride", "boron"], dtype=object)
    names = names[table.argmax(axis=0)]
    names[~possible] = None
    return np.where(possible & (most < 1), most, np.nan), names


def _ions(assessment: Assessment, watering: Watering) -> tuple[Floats, Floats, Floats]:
    """Ions in water and rain, and in the root zone without and with uptake [mmol/L]."""
    batch, owner = assessment.batch, assessment.flush_case.owner
    water = batch.samples.water.ions
    nitrogen = filled(water["nitrate_n"], 0.0) + filled(water["ammonium_n"], 0.0)
    there = ~(np.isnan(water["nitrate_n"]) & np.isnan(water["ammonium_n"]))
    amounts = {**water, "nitrogen": np.where(there, nitrogen, np.nan)}
    brought = np.stack(
        [amounts[ion][owner] / ION_CHARGES.get(ion, 1) * watering.thinned for ion in UPTAKE_IONS]
    )
    uptake = np.stack([_uptake(assessment, ion) for ion in UPTAKE_IONS])
    plain = steady_profile(brought, watering.fraction).mean
    taken = steady_profile(brought, watering.fraction, uptake).mean
    return brought.T, plain.T, taken.T


def _uptake(assessment: Assessment, ion: str) -> Floats:
    """Return the published uptake by the crop that takes up least in each container [mmol/L]."""
    rows = uptake_concentrations()
    least = np.full(assessment.batch.samples.count, np.nan)
    sample = assessment.batch.plantings.sample
    published = [
        rows[crop, ion].uptake.value if (crop, ion) in rows else math.nan
        for crop in assessment.crop_ids
    ]
    np.fmin.at(least, sample, np.array(published, dtype=float))
    return np.asarray(least[assessment.flush_case.owner])


def _lasting(
    result: FlushResult,
    course: Courses,
    limit: Floats,
    until: Callable[[], Days],
    by_feed: Flags,
) -> tuple[Floats, Floats, Instruction]:
    """Return for how many days a flush can last, where it has to end [dS/m], and its plan.

    None is told where the flush that is planned lasts as long by the days that are told of it,
    where it is the feed that brings the salt back: a weaker one lasts, and not more water; nor
    where it goes below the limit for a single ion or is done with another water.
    """
    case = result.case
    least = np.fmax(
        WATER_MARGIN * np.asarray(case.flush.ec_water), GYPSUM_MARGIN * case.gypsum_plateau
    )
    lasting, target = np.full((2, limit.size), np.nan)
    told: Instruction | None = None
    # Above the limit by less than a meter's error is no reason to pour more.
    starts = start_that_lasts(course, TOLD_APART * limit, LASTING_DAYS, case.known.conversion)
    for days, start in zip(LASTING_DAYS, starts, strict=True):
        tried = (
            result.flushed
            & np.isnan(lasting)
            & ~(by_feed | case.for_ion | case.other_water)
            & (start > least)
            & (start < WORTH_MORE * limit)
        )
        if tried.any():
            tried &= until().low < days
        if not tried.any():
            continue
        # Poured as the plan is: by another schedule the same litres would not do.
        further = case.flush._replace(ec_target=np.where(tried, start, np.nan))
        found = advise(case, further, result.advice.timing).instruction
        does = found.attained & (found.passes > 0)
        pairs = zip(found, told or found, strict=True)
        told = Instruction(*(np.where(does, new, old) for new, old in pairs))
        lasting, target = np.where(does, days, lasting), np.where(does, start, target)
    told = told or advise(case, case.flush._replace(ec_target=target)).instruction
    return lasting, target, told


def _after_regular_flush(result: FlushResult, limit: Floats) -> Floats:
    """EC that a medium at its limit settles to after twice the container's volume [dS/m].

    Poured on evenly over the time that its passes and the rests between them take, of no more
    passes than a plan has.
    """
    case, flush = result.case, result.case.flush
    rule = result.two_volume_rule
    passes = np.minimum(np.ceil(rule / np.asarray(flush.pass_volume)), MAX_PASSES)
    hours = passes * np.asarray(flush.duration) + (passes - 1) * filled(
        result.advice.timing.rest, 0.0
    )
    pots = middle_pots(case)
    one = cycles.pass_map(pots, rule / np.asarray(flush.water_held), hours)
    left = cycles.moved_by(one, cycles.even_excess(pots, limit, flush.ec_water))
    settled = flush.ec_water + cycles.settled_excess(pots, left)
    return np.asarray(np.fmax(settled, case.gypsum_plateau))
