"""The flush of each container as the reader sees it: litres, passes, and what to heed."""

from __future__ import annotations

import math
from itertools import chain
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.vocabulary import DRAINAGE, STAGES
from saltcalc.data.substrates import substrates
from saltcalc.message import Message, say
from saltcalc.parts.acting import HELD_BACK
from saltcalc.parts.containers import ContainerWater, show_container_water
from saltcalc.parts.flush.assumed import assume_flush
from saltcalc.parts.flush.calcium import CalciumFirst, before_flush, find_sodic, show_calcium
from saltcalc.parts.flush.case import MAX_PASSES, intake_of
from saltcalc.parts.flush.costs import Costs, Rebound, show_costs, show_rebound
from saltcalc.parts.flush.ion_aim import IONS
from saltcalc.parts.flush.ion_excess import find_ions_excess
from saltcalc.parts.flush.no_flush import ion_is_above, out_of_reach, why_no_flush
from saltcalc.parts.flush.options import AnyOption, show_options
from saltcalc.parts.flush.plan import FlushResult, daily_use
from saltcalc.parts.flush.pouring import (
    Pouring,
    RestedCheck,
    Wetting,
    in_short,
    plan_in_steps,
    show_check,
    show_pouring,
    show_wetting,
)
from saltcalc.parts.flush.reuse import (
    DrainageAsFeed,
    ReturnedDrainage,
    show_feed,
    show_returned,
)
from saltcalc.parts.flush.settled_first import held_back, what_first
from saltcalc.parts.flush.weak_feed import ec_of_weak_feed, find_weak_feed
from saltcalc.parts.ions.show import find_contradiction
from saltcalc.parts.notes import Notes
from saltcalc.parts.plantings import in_its_place
from saltcalc.parts.shown import Series, Text, how_known, part, row_of, shown, source_keys
from saltcalc.parts.water import assume_rain
from saltcalc.science.instruction import PRACTICAL_POURINGS
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment


@part
class PassByPass:
    """What each of the passes does.

    As much drains in each as is poured on, `applied_each`.
    """

    pass_numbers: list[int] = shown("Number of each pass.")
    pore_water: Series = shown("EC of the pore water that the medium settles to after the pass.")
    drainage_ec: Series = shown("EC of all the drainage of the pass, mixed.")


@part
class RuleOfThumb:
    """The litres beside the rule of the trade."""

    two_volume_rule: float = shown("Twice the container's volume.", "L")
    ratio_to_two_volume_rule: float = shown("Water of this plan divided by that.", "1")
    sources: list[str] = source_keys()


@part
class FlushPlan:
    """How to take one kind of container down once."""

    container: str | None = shown()
    drainage: str = shown(choices=DRAINAGE)
    in_short: Text | None = shown("The plan in one line; where there is one.", optional=True)
    sentence: Text = shown("The rest of the plan in words, or why there is none.")
    held_back: str | None = shown(
        "What is to be settled before anything is poured. Where it stands, the figures are those "
        "that hold if it turns out as read, and no step is told.",
        choices=HELD_BACK,
        optional=True,
    )
    goes_further: Message | None = shown(
        "Why it goes further than to the limit. Only with `?flush=advised`.", optional=True
    )
    step_by_step: list[tuple[Message, ...]] = shown(
        "The same to work by, step by step. Only with `?passes=all`.", optional=True
    )
    water_in_container: ContainerWater | None = shown(
        "Left out where it is that of the container before.", optional=True
    )
    water_held: float = shown("Water in one container after drainage.", "L")
    confidence: float = shown(
        "Share of such containers that are at their target after the litres.", "1", optional=True
    )
    water_per_container: Interval = shown(
        "Water to pour on one container before the check, for that share; low and high bound what "
        "eight in ten of them take; left out where there is no plan.",
        "L",
        optional=True,
    )
    likely_water: float = shown(
        "Water that the middle one of such containers takes.", "L", optional=True
    )
    water_total: Interval = shown("Water for all of them.", "L", optional=True)
    drained_per_container: float = shown("Drainage of one container.", "L", optional=True)
    drained_total: float = shown("Drainage of all of them.", "L", optional=True)
    target_from: Message | None = shown(
        "What sets the target of all containers; told with the first.", optional=True
    )
    target_ec: float = shown("Where to bring the medium, by its own extraction method.", "dS/m")
    target_pore_water: float = shown(
        "EC of the pore water at container capacity that it stands for.", "dS/m"
    )
    least_reachable_ec: float = shown(
        "EC of the pore water that no flush with this water gets below.", "dS/m"
    )
    reaches_target: bool = shown("Whether the plan brings the medium to its target.")
    passes: int = shown("Number of passes after wetting; 0 where nothing is to be poured on.")
    applied_each: float = shown("Water of one pass.", "L", optional=True)
    calcium_first: CalciumFirst | None = shown(optional=True)
    wetting: Wetting | None = shown(optional=True)
    pouring: Pouring | None = shown(optional=True)
    pass_time: Interval = shown(
        "Time for the water of one pass to sink in and drain.", "h", optional=True
    )
    rest: float = shown("Rest between passes of one day.", "min", optional=True)
    passes_a_day: int | None = shown("Most of them in a day.", optional=True)
    pouring_days: int | None = shown("Days on which water is poured.", optional=True)
    daily_use: float = shown(
        "Water that one container uses in a day; where a plan takes several days, poured on beside "
        "its litres on each day after the first. Left out of a plan of one day.",
        "L",
        optional=True,
    )
    time_needed: float = shown(
        "From the first pass to the end of the last, nights with it.", "h", optional=True
    )
    rests_save: float = shown(
        "Share of the water of passes without rests that this schedule saves.", "1", optional=True
    )
    way_mark: Interval = shown(
        "Drainage of the last pass, mixed: a mark on the way, not a sign to stop.",
        "dS/m",
        optional=True,
    )
    rested_check: RestedCheck | None = shown(optional=True)
    pass_by_pass: PassByPass | None = shown("Only with `?passes=all`.", optional=True)
    rule_of_thumb: RuleOfThumb | None = shown(optional=True)
    costs: Costs | None = shown(optional=True)
    rebound: Rebound | None = shown(optional=True)
    returned_drainage: ReturnedDrainage | None = shown(optional=True)
    drainage_as_feed: DrainageAsFeed | None = shown(optional=True)
    options: list[AnyOption] = shown("What else can be done, best first.")
    provenance: str = how_known()
    sources: list[str] = source_keys()


def show_flush_plan(
    assessment: Assessment,
    sample: int,
    notes: Notes,
    *,
    every_pass: bool = False,
    lasting_told: bool = False,
) -> list[FlushPlan] | None:
    """Return the plan of each container of a sample, or None without a container or an EC.

    Parameters
    ----------
    assessment : Assessment
        Flushed to the limit, or as advised.
    sample : int
        Which sample.
    notes : Notes
        What is said beside the plans.
    every_pass : bool, optional
        Whether every pass is told.
    lasting_told : bool, optional
        Whether the flush that lasts is told beside these plans, for which it is then said what
        its pourings come to.
    """
    rows = assessment.containers_of(sample)
    if not rows:
        notes.miss("flush_plan", ["/containers"], say("missing.flush_plan"))
        return None
    if math.isnan(assessment.salinity.ec_25c[sample]):
        notes.miss("flush_plan", ["/medium/ec"], say("missing.flush_plan_without_ec"))
        return None
    assume_flush(assessment, sample, notes)
    if assessment.ion_aims.other_water[sample]:
        assume_rain(notes)
    case, planned = assessment.flush_case, assessment.flush_plan.planned
    if assessment.acting.report[sample]:
        find_contradiction(assessment, sample, notes)
    if np.any(planned[rows] & ~case.sealed[rows]):
        notes.find("collect_drainage", "caution", "flush_plan")
    if np.any(planned[rows]):
        find_sodic(assessment, sample, notes)
        _find_seedlings(assessment, sample, notes)
        find_weak_feed(assessment, rows, notes)
    find_ions_excess(assessment, sample, notes)
    waters: list[ContainerWater] = []
    return [
        _show(
            assessment,
            row,
            place,
            notes,
            waters,
            every_pass=every_pass,
            lasting_told=lasting_told,
        )
        for place, row in enumerate(rows)
    ]


def _show(
    assessment: Assessment,
    row: int,
    place: int,
    notes: Notes,
    waters: list[ContainerWater],
    *,
    every_pass: bool,
    lasting_told: bool,
) -> FlushPlan:
    """Return the plan of a container, without what that of the one before says alike.

    ``waters`` are those of the containers before, to which its own is added.
    """
    flush = assessment.flush_of(row)
    container = row_of(assessment.batch.containers, row)
    case, told, count, path = flush.case, flush.told, container.count, f"flush_plan/{place}"
    _find(assessment, row, place, notes, lasting_told=lasting_told)
    flows = bool(flush.flushed)
    at_rest = bool(not case.needed and not case.sealed and not flush.ec_is_lower_bound)
    litres = told.litres if flows or at_rest else math.nan
    water = Interval.of(litres, min(told.low, litres), max(told.high, litres))
    substrate = list(substrates().values())[assessment.batch.samples.substrate[case.owner]]
    pouring = show_pouring(assessment, row) if flows else None
    check = show_check(assessment, row, pouring) if pouring else None
    wetting = show_wetting(flush) if flows else None
    use = float(daily_use(assessment.batch, assessment.flush_case)[row])
    use = use if flows and told.days > 1 else math.nan
    calcium = show_calcium(assessment, row, notes) if flush.planned else None
    first = before_flush(calcium)
    steps = [first] if first else []
    if check and pouring:
        fed = not math.isnan(ec_of_weak_feed(assessment, row))
        work = plan_in_steps(flush, pouring, wetting, check, count, use, weak_feed=fed)
        many = say("flush.more_than_by_hand", count=int(told.passes))
        sentence = (*first, *([many] if flush.many_pourings else ()), *chain.from_iterable(work))
        steps += work
    else:
        sentence = (why_no_flush(flush, assessment), *first)
    held = held_back(assessment, case.owner, flush)
    if held:
        sentence, steps = what_first(held, flush, pouring, container.name), []
    waters.append(show_container_water(assessment, row, notes, layers=every_pass))
    return FlushPlan(
        container=container.name,
        drainage="sealed" if case.sealed else "open",
        in_short=(*first, in_short(flush, pouring, check, container.name))
        if pouring and check and not held
        else None,
        sentence=sentence,
        held_back=held,
        goes_further=_why_further(assessment, row) if flows and not held else None,
        step_by_step=steps if flows and every_pass else [],
        water_in_container=None if waters[-2:-1] == waters[-1:] else waters[-1],
        water_held=case.flush.water_held,
        confidence=case.confidence if flows else math.nan,
        water_per_container=water,
        likely_water=told.likely if flows else math.nan,
        water_total=Interval(*(end * count for end in water)),
        drained_per_container=flush.drained if flows else math.nan,
        drained_total=flush.drained * count if flows else math.nan,
        target_from=None if place else _target_from(assessment, case.owner, notes),
        target_ec=case.target_reading,
        target_pore_water=case.target_pore_water,
        least_reachable_ec=flush.least_reachable,
        reaches_target=not case.needed or bool(flows and not flush.gypsum_bound),
        passes=int(told.passes) if flows else 0,
        applied_each=case.flush.pass_volume if flows else math.nan,
        calcium_first=calcium,
        wetting=wetting,
        pouring=pouring,
        pass_time=_pass_time(flush, substrate.id) if flows else Interval.of(*[math.nan] * 3),
        rest=60 * flush.advice.timing.rest if flows else math.nan,
        passes_a_day=int(flush.advice.timing.passes_a_day) if flows else None,
        pouring_days=int(told.days) if flows else None,
        daily_use=use,
        time_needed=told.hours if flows else math.nan,
        rests_save=flush.advice.rest_saves if flows else math.nan,
        way_mark=Interval.of(told.way_mark, told.way_mark_low, told.way_mark_high)
        if flows
        else Interval.of(*[math.nan] * 3),
        rested_check=check,
        pass_by_pass=_pass_by_pass(assessment, row) if flows and every_pass else None,
        rule_of_thumb=_compare(flush, notes) if flows else None,
        costs=show_costs(assessment, row, path, notes) if flows else None,
        rebound=show_rebound(assessment, row, notes) if flows else None,
        returned_drainage=show_returned(assessment, row, notes) if flows else None,
        drainage_as_feed=show_feed(assessment, row, notes) if flows else None,
        options=[] if held else show_options(assessment, row, notes),
        **notes.rest_on(
            substrate, also=("van_genuchten_1980", "milks_1989", substrate.shape_source)
        ),
    )


def _why_further(assessment: Assessment, row: int) -> Message | None:
    """Say why a plan goes further than to the limit, and what would do for that; else nothing."""
    if assessment.to_limit is None:
        return None
    before = assessment.to_limit
    days = float(before.upkeep.lasting_days[row])
    if math.isnan(days):
        return None
    water = say("flush.litres", litres=before.flush_of(row).told.litres)
    return say("flush.goes_further", time=say("days", count=int(days)), water=water)


def _find_seedlings(assessment: Assessment, sample: int, notes: Notes) -> None:
    """Say what a flush does to seedlings that stand in the medium."""
    seedling = assessment.batch.plantings.stage[assessment.plantings_of(sample)]
    if np.any(seedling == STAGES.index("seedling")):
        notes.find("seedlings_in_the_flush", "note", "/crops")


def _pass_time(flush: FlushResult, substrate: str) -> Interval:
    """Return the time of a pass, as wide as the usual intake rates of its medium."""
    rate, hours = intake_of(substrate).rate, float(flush.case.flush.duration)
    return Interval.of(hours, hours * rate.value / rate.high, hours * rate.value / rate.low)


def _pass_by_pass(assessment: Assessment, row: int) -> PassByPass:
    """Return the course of a flush of the middle container."""
    flush, course = assessment.flush_of(row), row_of(assessment.flush_course, row)
    told = np.arange(1, int(flush.told.passes) + 1)
    water, floor = flush.case.flush.ec_water, flush.case.gypsum_plateau
    return PassByPass(
        pass_numbers=told.tolist(),
        pore_water=Series(np.fmax(course.settled[told - 1] + water, floor).tolist(), "dS/m"),
        drainage_ec=Series((course.drainage[told - 1] + water).tolist(), "dS/m"),
    )


def _target_from(assessment: Assessment, sample: int, notes: Notes) -> Message:
    """Say what sets the target of a sample's containers."""
    if not math.isnan(assessment.given.samples.target_ec[sample]):
        return say("flush.target_given")
    if np.any(assessment.flush_case.for_ion[assessment.containers_of(sample)]):
        ion = IONS[assessment.ion_aims.ion[sample]]
        return say("flush.target_of_ion", ion=say(f"ion.{ion}"))
    tolerated = assessment.crops.max_tolerated_ec
    rows = [row for row in assessment.plantings_of(sample) if not math.isnan(tolerated[row])]
    if not rows:
        return say("flush.target_of_seedlings")
    row = min(rows, key=lambda row: (float(tolerated[row]), in_its_place(assessment, row)))
    crop = assessment.crop_of(row)
    notes.cite(*crop.source_keys, "umass_media", "judgement")
    return say(
        "flush.target_of_crop",
        crop=crop.name,
        stage=say(f"stage.{STAGES[assessment.batch.plantings.stage[row]]}"),
        tolerated=float(tolerated[row]),
    )


def _compare(flush: FlushResult, notes: Notes) -> RuleOfThumb:
    """Hold the litres against the rule of the trade."""
    litres, rule = float(flush.told.litres), flush.two_volume_rule
    ratio = litres / float(rule)
    return RuleOfThumb(
        two_volume_rule=float(rule),
        ratio_to_two_volume_rule=ratio,
        sources=notes.cite("ucanr_soluble_salts"),
    )


def _find(
    assessment: Assessment, row: int, place: int, notes: Notes, *, lasting_told: bool
) -> None:
    """Say what a grower must know before flushing a container."""
    flush, path = assessment.flush_of(row), f"flush_plan/{place}"
    case, sample = flush.case, flush.case.owner
    if not case.needed:
        open_ = assessment.ec_is_lower_bound[sample] or assessment.acting.report[sample]
        if not ion_is_above(assessment, sample) and not open_:
            notes.find("no_flush_needed", "note", path)
        return
    if not flush.planned and not case.sealed:
        return
    if case.repelling and flush.planned:
        notes.find("wet_before_flushing", "caution", "/observations")
    if case.sealed:
        air = float(assessment.container_water.air_space[row]) * case.volume
        notes.find("sealed_container", "stop", f"/containers/{place}/drainage", air=air)
        return
    if case.flush.ec_water >= case.target_pore_water:
        options = row_of(assessment.flush_options, row)
        rain = "flush.rain_helps" if options.mixed_works else "flush.no_rain_helps"
        notes.find(
            "target_below_water",
            "stop",
            f"{path}/target_ec",
            water=case.flush.ec_water,
            target=case.target_pore_water,
            rain=say(rain, fraction=options.rain_fraction),
        )
    elif case.too_close:
        notes.find(
            "water_near_target",
            "caution",
            f"{path}/target_ec",
            water=case.flush.ec_water,
            target=case.target_pore_water,
        )
    elif flush.gypsum_bound or (case.gypsum_bound and not flush.works):
        return  # Told for the whole sample, beside what gypsum does to the crops.
    elif flush.passes_run_out:
        notes.find("too_many_passes", "caution", path, passes=MAX_PASSES)
    elif not flush.works:
        notes.find("over_practical_ceiling", "caution", path, **out_of_reach(flush))
    elif flush.many_pourings:
        kept = assessment.upkeep
        lasting = lasting_told and not math.isnan(kept.lasting_days[row])
        told = kept.lasting_plan.passes[row] if lasting else flush.told.passes
        notes.find(
            "many_passes",
            "caution",
            f"upkeep/{place}" if lasting else path,
            passes=say("passes", count=int(told)),
            each=case.flush.pass_volume,
            most=PRACTICAL_POURINGS,
        )
