"""The flush of each container as the reader sees it: litres, passes, and what to heed."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.vocabulary import DRAINAGE, STAGES
from saltcalc.data.substrates import substrates
from saltcalc.message import Message, say
from saltcalc.parts.containers import ContainerWater, show_container_water
from saltcalc.parts.flush.case import MAX_PASSES, REPELLING_EFFICIENCY, assume_flush
from saltcalc.parts.flush.costs import Costs, Rebound, show_costs, show_rebound
from saltcalc.parts.flush.ion_excess import find_ions_excess
from saltcalc.parts.flush.options import AnyOption, show_options
from saltcalc.parts.flush.plan import FlushResult
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import Series, Text, how_known, part, row_of, shown, source_keys
from saltcalc.science.plan import CEILING_VOLUMES
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

HOURS_A_DAY = 8.0
"""Hours of a working day, beyond which a plan is spread over days."""

ABOUT_THE_SAME = (0.67, 1.5)
"""Ratios to the rule of two volumes between which the litres are about the same."""

PASSES_TOLD = 8
"""Of how many passes the course is told at most."""

CLEARLY_MORE = 1.05
"""Ratio from which mixing at once takes more water than the plan."""


@part
class PassByPass:
    """What comes out in some of the passes, the first and the last among them."""

    pass_numbers: list[int] = shown("Which passes; at most eight, evenly spread.")
    drained: Series = shown("Water that comes out in the pass.")
    pore_water: Series = shown("What the medium settles to afterwards.")
    drainage_ec: Series = shown("All the drainage of the pass, mixed.")


@part
class RuleOfThumb:
    """The litres beside the rule of the trade and the simplest model."""

    two_volume_rule: float = shown("Twice the container's volume.", "L")
    ratio_to_two_volume_rule: float = shown("This plan's water over that.", "1")
    well_mixed: float = shown("Water if the container mixed at once.", "L")
    sentence: Text = shown()
    sources: list[str] = source_keys()


@part
class FlushPlan:
    """How to take one kind of container down once."""

    container: str | None = shown()
    drainage: str = shown(choices=DRAINAGE)
    sentence: Text = shown("The plan in words.")
    water_in_container: ContainerWater = shown()
    water_held: float = shown("Water in one container after drainage.", "L")
    water_per_container: Interval = shown("Water to pour through one container.", "L")
    water_total: Interval = shown("Water for all of them.", "L")
    drained_per_container: float = shown("Drainage of one container.", "L", optional=True)
    drained_total: float = shown("Drainage of all of them.", "L", optional=True)
    target_from: Message = shown("What sets the target.")
    target_ec: float = shown("Where to bring the medium, by its own extraction method.", "dS/m")
    target_pore_water: float = shown("The same as pore water at container capacity.", "dS/m")
    least_reachable_ec: float = shown(
        "Pore water that no flush with this water gets below.", "dS/m"
    )
    reaches_target: bool = shown()
    stop_reading: float = shown("Stop when the drainage of a pass reads this or less.", "dS/m")
    stop_reading_own_method: float = shown(
        "What the medium then reads by its own extraction method, once settled.",
        "dS/m",
        optional=True,
    )
    passes: int = shown("How many; 0 where nothing is to be poured on.")
    applied_each: float = shown("Water of one pass.", "L", optional=True)
    rest: float = shown("Rest between passes.", "min", optional=True)
    time_needed: float = shown("Time for one container, rests included.", "h", optional=True)
    pass_by_pass: PassByPass | None = shown(optional=True)
    rule_of_thumb: RuleOfThumb | None = shown(optional=True)
    costs: Costs | None = shown(optional=True)
    rebound: Rebound | None = shown(optional=True)
    options: list[AnyOption] = shown("What else can be done, best first.")
    provenance: str = how_known()
    sources: list[str] = source_keys()


def show_flush_plan(assessment: Assessment, sample: int, notes: Notes) -> list[FlushPlan] | None:
    """Return the plan of each container of a sample, or None without a container or an EC."""
    rows = assessment.containers_of(sample)
    if not rows:
        notes.miss("flush_plan", ["/containers"], say("missing.flush_plan"))
        return None
    if math.isnan(assessment.salinity.ec_25c[sample]):
        notes.miss("flush_plan", ["/medium/ec"], say("missing.flush_plan_without_ec"))
        return None
    assume_flush(assessment, sample, notes)
    case = assessment.flush_case
    if np.any(case.needed[rows] & ~case.sealed[rows]):
        notes.find("collect_drainage", "caution", "flush_plan")
    find_ions_excess(assessment, sample, notes)
    return [_show(assessment, row, place, notes) for place, row in enumerate(rows)]


def _show(assessment: Assessment, row: int, place: int, notes: Notes) -> FlushPlan:
    flush = row_of(assessment.flush_plan, row)
    container = row_of(assessment.batch.containers, row)
    case, plan, count, path = flush.case, flush.plan, container.count, f"flush_plan/{place}"
    _find(assessment, row, place, notes)
    shows_litres = bool((plan.reached or flush.gypsum_bound) and not case.sealed)
    litres, drained = (plan.applied, plan.drained) if shows_litres else (math.nan, math.nan)
    water = Interval.of(litres, min(flush.water.low, litres), max(flush.water.high, litres))
    # None flows where gypsum holds the medium above its target from the start.
    flows = bool(shows_litres and case.needed and plan.passes)
    substrate = list(substrates().values())[assessment.batch.samples.substrate[case.owner]]
    return FlushPlan(
        container=container.name,
        drainage="sealed" if case.sealed else "open",
        sentence=_plan_in_words(flush, container.name, count)
        if flows
        else _why_no_flush(flush, assessment),
        water_in_container=show_container_water(assessment, row, notes),
        water_held=case.flush.water_held,
        water_per_container=water,
        water_total=Interval(*(end * count for end in water)),
        drained_per_container=drained,
        drained_total=drained * count,
        target_from=_target_from(assessment, case.owner, notes),
        target_ec=case.target_reading,
        target_pore_water=case.target_pore_water,
        least_reachable_ec=flush.least_reachable,
        reaches_target=not case.needed
        or bool(plan.reached and not flush.gypsum_bound and not case.sealed),
        stop_reading=plan.stop_reading if flows else math.nan,
        stop_reading_own_method=plan.ec_after / case.settled_over_reading if flows else math.nan,
        rest=60 * case.flush.rest_between if flows else math.nan,
        time_needed=plan.hours if flows else math.nan,
        passes=int(plan.passes) if flows else 0,
        applied_each=case.flush.pass_volume if flows else math.nan,
        pass_by_pass=_pass_by_pass(flush) if flows else None,
        rule_of_thumb=_compare(flush, notes) if flows else None,
        costs=show_costs(assessment, row, path, notes) if flows else None,
        rebound=show_rebound(assessment, row, notes) if flows else None,
        options=show_options(assessment, row, notes),
        **notes.rest_on(
            substrate, also=("van_genuchten_1980", "milks_1989", substrate.shape_source)
        ),
    )


def _pass_by_pass(flush: FlushResult) -> PassByPass:
    """Return the course of a flush in a few of its passes."""
    plan = flush.plan
    told = np.unique(np.linspace(1, plan.passes, PASSES_TOLD).round().astype(int))
    drained, pore_water, drainage = (
        np.asarray(each)[told - 1].tolist()
        for each in (plan.drained_each, plan.ec_medium, plan.ec_drainage)
    )
    return PassByPass(
        pass_numbers=told.tolist(),
        drained=Series(drained, "L"),
        pore_water=Series(pore_water, "dS/m"),
        drainage_ec=Series(drainage, "dS/m"),
    )


def _target_from(assessment: Assessment, sample: int, notes: Notes) -> Message:
    """Say what sets the target of a sample's containers."""
    if not math.isnan(assessment.given.samples.target_ec[sample]):
        return say("flush.target_given")
    tolerated = assessment.crops.stands_up_to
    rows = [row for row in assessment.plantings_of(sample) if not math.isnan(tolerated[row])]
    if not rows:
        return say("flush.target_of_seedlings")
    row = min(rows, key=lambda row: float(tolerated[row]))
    crop = assessment.crop_of(row)
    notes.cite(*crop.source_keys, "umass_media", "judgement")
    return say(
        "flush.target_of_crop",
        crop=crop.name,
        stage=STAGES[assessment.batch.plantings.stage[row]],
        tolerated=float(tolerated[row]),
    )


def _ion_is_above(assessment: Assessment, sample: int) -> bool:
    """Whether a single ion is above what a crop of this sample tolerates."""
    return bool(np.any(assessment.ions_excess.any[assessment.plantings_of(sample)]))


def _why_no_flush(flush: FlushResult, assessment: Assessment) -> Message:
    if not flush.case.needed:
        above = _ion_is_above(assessment, int(flush.case.owner))
        return say("flush.at_target_but_for_an_ion" if above else "flush.at_target")
    if flush.case.sealed:
        return say("flush.cannot_drain")
    if flush.passes_run_out:
        return say("flush.too_many_passes", passes=MAX_PASSES)
    return say("flush.out_of_reach")


def _plan_in_words(flush: FlushResult, name: str | None, count: int) -> tuple[Message, ...]:
    return tuple(_sentences(flush, name, count))


def _sentences(flush: FlushResult, name: str | None, count: int) -> Iterator[Message]:
    """Say the plan: what to pour, how often, and where to stop."""
    plan, rest = flush.plan, float(np.asarray(flush.case.flush.rest_between))
    if flush.case.repelling:
        yield say("flush.wet_first")
    yield say(
        "flush.pour",
        count=int(plan.passes),
        each=flush.case.flush.pass_volume,
        where=say("flush.each_named_container" if name else "flush.each_container", name=name),
        rest=60 * rest,
        litres=plan.applied,
        likely=_likely(flush),
    )
    if count > 1:
        yield say("flush.for_all", number=count, litres=plan.applied * count)
    yield say("flush.stop", stop=plan.stop_reading)
    days = math.ceil(plan.hours / HOURS_A_DAY)
    if days > 1:
        yield say("flush.over_days", days=days)


def _likely(flush: FlushResult) -> Message:
    """Say how sure the litres are."""
    litres, water = float(flush.plan.applied), flush.water
    told = {"low": min(float(water.low), litres), "high": max(float(water.high), litres)}
    if math.isfinite(told["high"]):
        return say("flush.likely", **told)
    short = 1 - flush.water.share_reaching
    if flush.passes_bound:
        return say("flush.likely_or_more_passes", **told, short=short, passes=MAX_PASSES)
    return say("flush.likely_or_more", **told, short=short, most=flush.case.flush.ceiling)


def _compare(flush: FlushResult, notes: Notes) -> RuleOfThumb:
    """Hold the litres against the rule of the trade and the simplest model."""
    litres, rule, mixed = float(flush.plan.applied), flush.two_volume_rule, flush.well_mixed
    ratio = litres / float(rule)
    low, high = ABOUT_THE_SAME
    which = "as_the_rule" if low <= ratio <= high else "times_the_rule"
    more = "flush.well_mixed_more" if mixed > CLEARLY_MORE * litres else "flush.well_mixed"
    return RuleOfThumb(
        two_volume_rule=float(rule),
        ratio_to_two_volume_rule=ratio,
        well_mixed=float(mixed),
        sentence=(say(f"flush.{which}", ratio=ratio, rule=rule), say(more, litres=mixed)),
        sources=notes.cite("ucanr_soluble_salts"),
    )


def _find(assessment: Assessment, row: int, place: int, notes: Notes) -> None:
    """Say what a grower must know before flushing a container."""
    flush, path = row_of(assessment.flush_plan, row), f"flush_plan/{place}"
    case, sample = flush.case, flush.case.owner
    if not case.needed:
        if not _ion_is_above(assessment, sample):
            notes.find("no_flush_needed", "note", path)
        return
    if case.repelling:
        notes.find(
            "wet_before_flushing", "caution", "/observations", efficiency=REPELLING_EFFICIENCY
        )
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
    elif flush.gypsum_bound:
        return  # Told for the whole sample, beside what gypsum does to the crops.
    elif not flush.practical:
        _find_over_ceiling(flush, path, notes)
    else:
        _find_doubts(flush, path, notes)


def _find_over_ceiling(flush: FlushResult, path: str, notes: Notes) -> None:
    if flush.passes_run_out:
        notes.find("too_many_passes", "caution", path, passes=MAX_PASSES)
    elif flush.plan.reached:
        litres, volumes = flush.plan.applied, CEILING_VOLUMES
        notes.find("over_practical_ceiling", "caution", path, litres=litres, volumes=volumes)
    else:
        most = say("flush.over_ceiling", litres=flush.case.flush.ceiling, volumes=CEILING_VOLUMES)
        notes.warn("over_practical_ceiling", "caution", most, path)


def _find_doubts(flush: FlushResult, path: str, notes: Notes) -> None:
    """Say where a plan is tedious, or may turn out beyond what is practical."""
    if flush.many_passes:
        notes.find(
            "many_passes",
            "caution",
            path,
            passes=say("passes", count=int(flush.plan.passes)),
            each=flush.case.flush.pass_volume,
        )
    if flush.may_exceed_practical:
        notes.find("may_exceed_practical_ceiling", "caution", path, volumes=CEILING_VOLUMES)
