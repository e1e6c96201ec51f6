"""The ways out where a flush in place cannot be, each with its numbers, best first."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from saltcalc.message import Message, say
from saltcalc.parts.flush.calcium import before_flush, show_calcium
from saltcalc.parts.flush.case import DRIPPER_FLOW
from saltcalc.parts.flush.costs import reported
from saltcalc.parts.flush.plan import FlushResult, advise, daily_use
from saltcalc.parts.flush.pouring import say_end, say_when
from saltcalc.parts.flush.short_plan import ShortPlan, say_turns, short_plan
from saltcalc.parts.notes import Notes, Range
from saltcalc.parts.plantings import NO_CROP
from saltcalc.parts.shown import Column, Series, Text, part, row_of, shown, source_keys
from saltcalc.parts.water import RAIN_EC, assume_rain
from saltcalc.science._arrays import Flags, Floats
from saltcalc.science.application import dripper_hours
from saltcalc.science.blend import blend_share, blended
from saltcalc.science.drying import UPTAKE_EC, days_of_uptake, ec_at_moisture
from saltcalc.science.flush_advice import Advice
from saltcalc.science.instruction import PRACTICAL_POURINGS

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

CLEAN_MEDIUM = 0.8
"""EC of the saturated extract [dS/m] of a low-salt medium to blend with, at most."""

CLEAN_OVER_TARGET = 0.5
"""For a low target: EC of the low-salt medium over the target (judgement)."""

WATER_OVER_TARGET = 0.5
"""EC of a flushing water that gets to its target without great excess, over that target."""

LEAST_BLENDED = 0.05
"""Share of the old medium in a blend below which it is replaced rather (judgement). [-]"""

BLEND_FIRST_FROM = 0.5
"""Share of the old medium in a blend from which blending is the easier way (judgement)."""

LONGEST_WAIT = 52.0
"""Weeks beyond which waiting for plants to take salt up is no way out (judgement)."""

RELATIVE_WATER_CONTENTS = (1.0, 0.8, 0.6)
"""Water held over water held at capacity, for which the pore water is given."""

SPARE_POURINGS = ("blend", "replace")
"""Ways out where a flush works and takes many pourings: those that do without one."""

_AS_IF_DRAINED = ("flush_elsewhere", "drill_holes")
"""Ways to flush a container that cannot drain, the one that needs no tools first."""


@dataclass(frozen=True)
class FlushOptions:
    """What could be done instead of a flush in place, one row a container.

    Attributes
    ----------
    rain_fraction : (m,) ndarray
        Share of rain water that brings the water's EC to half the target [L/L]; 0 where it is,
        NaN where rain water would not do either.
    mixed_water : (m,) ndarray
        EC of the water with that share of rain [dS/m]; NaN where none is mixed in.
    mixed_advice : Advice
        Plans with that water; of no pass where there is none.
    mixed_works : (m,) ndarray of bool
        Where rain is mixed in, and with it the medium gets to its target with a practical amount.
    salty_fraction, clean_ec : (m,) ndarray
        Share of this medium in a blend with a low-salt one [L/L], and that one's EC as saturated
        extract [dS/m].
    blend_ec, blend_nitrogen : (m,) ndarray
        Of the blend: EC as saturated extract [dS/m], nitrate nitrogen by the medium's own
        extraction if the low-salt medium holds none [mg/L].
    ec_as_it_dries : (m, 3) ndarray
        EC of the pore water at each of :data:`RELATIVE_WATER_CONTENTS` [dS/m].
    uptake_days : (m, 2) ndarray
        Days until plants draw the medium down, at most and at least salt taken up [days].
    """

    rain_fraction: Column
    mixed_water: Column
    mixed_advice: Advice
    mixed_works: Flags
    salty_fraction: Column
    clean_ec: Column
    blend_ec: Column
    blend_nitrogen: Column
    ec_as_it_dries: Floats
    uptake_days: Floats


OPTIONS = (
    "drip",
    "flush_elsewhere",
    "drill_holes",
    "better_water",
    "blend",
    "replace",
    "keep_moist",
    "tolerant_crop",
    "draw_down",
)
"""Ids of the ways out."""


@part
class EcByMoisture:
    """The pore water as the medium dries."""

    at_moisture: Series = shown("Water held, divided by water held after drainage.")
    pore_water: Series = shown("EC of the pore water at that moisture.")


@part
class Option:
    """A way out that is not a flush in place; each kind shows figures of its own."""

    shown_as: ClassVar[str] = "Option"

    id: str = shown(choices=OPTIONS)
    sentence: Text = shown()


@part
class Blend(Option):
    """Mixing the medium with one that holds less salt."""

    salty_fraction: float = shown("Share of the salty medium in a blend, by volume.", "1")
    clean_parts: float = shown("Parts of clean medium for one part of salty medium.", "1")
    ec_clean: float = shown("EC taken for the clean medium, as saturated extract.", "dS/m")
    ec_blend: float = shown("EC of the blend, as saturated extract.", "dS/m")
    nitrate_n_blend: float = shown(
        "Nitrate nitrogen of the blend, by the medium's own extraction.", "mg/L"
    )
    sources: list[str] = source_keys()


@part
class OtherFlush(Option):
    """A flush in another vessel, with holes drilled, or with another water."""

    plan: ShortPlan | None = shown("As of the option before it where left out.", optional=True)
    rain_share: float = shown(
        "Share of rain water in the water for the flush; left out where it takes none.",
        "1",
        optional=True,
    )
    sources: list[str] = source_keys()


@part
class Drip(Option):
    """Drippers in place of pouring by hand."""

    flow: float = shown("Flow of all drippers of one container.", "L/h")
    hours: float = shown("Hours for them to run.", "h")
    sources: list[str] = source_keys()


@part
class Replacement(Option):
    """Another medium."""

    sources: list[str] = source_keys()


@part
class KeepMoist(Option):
    """Water that thins the salt while it stays."""

    ec_by_moisture: EcByMoisture = shown()
    sources: list[str] = source_keys()


@part
class TolerantCrops(Option):
    """Crops that stand the medium as it is."""

    tolerant_crops: list[str] = shown("Names, best first.")
    sources: list[str] = source_keys()


@part
class DrawDown(Option):
    """Plants that take salt up."""

    duration: Range = shown(
        "Days that it takes, roughly, from the soonest to the latest; open at a year."
    )
    sources: list[str] = source_keys()


AnyOption = Drip | Blend | OtherFlush | Replacement | KeepMoist | TolerantCrops | DrawDown


def assess_flush_options(assessment: Assessment) -> FlushOptions:
    """Work out what could be done with every container instead of a flush in place."""
    # What a blend or another water has to come to is the limit, however far a flush goes.
    batch, case = assessment.batch, (assessment.to_limit or assessment).flush_case
    flush, target = case.flush, case.target_pore_water
    ec_water, start = np.asarray(flush.ec_water), np.asarray(flush.ec_medium)
    rain = _rain_fraction(ec_water, target)
    # Rain is mixed in where the water as it is will not do.
    mixed = (rain > 0) & assessment.flush_plan.infeasible
    mixed_water = np.where(mixed, WATER_OVER_TARGET * target, np.nan)
    advice = advise(case, flush._replace(ec_water=mixed_water))
    clean = np.minimum(CLEAN_MEDIUM, CLEAN_OVER_TARGET * case.target_extract)
    salty = blend_share(case.extract, clean, case.target_extract)
    nitrate = reported(batch.samples.medium, "nitrate_n")[case.owner]
    return FlushOptions(
        rain_fraction=rain,
        mixed_water=mixed_water,
        mixed_advice=advice,
        mixed_works=mixed
        & advice.instruction.attained
        & (advice.instruction.passes > 0)
        & ~case.gypsum_bound,
        salty_fraction=salty,
        clean_ec=clean,
        blend_ec=_blended(case.extract, clean, salty),
        blend_nitrogen=_blended(nitrate, np.zeros_like(nitrate), salty),
        ec_as_it_dries=ec_at_moisture(start[:, np.newaxis], RELATIVE_WATER_CONTENTS),
        uptake_days=days_of_uptake(
            start[:, np.newaxis],
            target[:, np.newaxis],
            ec_water[:, np.newaxis],
            np.asarray(flush.water_held)[:, np.newaxis],
            daily_use(batch, case)[:, np.newaxis],
            UPTAKE_EC[::-1],
        ),
    )


def _rain_fraction(ec_water: Floats, target: Floats) -> Floats:
    wanted = WATER_OVER_TARGET * target
    with np.errstate(divide="ignore", invalid="ignore"):
        fraction = (ec_water - wanted) / (ec_water - RAIN_EC)
    fraction = np.where(ec_water <= wanted, 0.0, fraction)
    return np.where(wanted < RAIN_EC, np.nan, fraction)


def _blended(salty: Floats, clean: Floats, fraction: Floats) -> Floats:
    known = np.where(np.isnan(fraction), 0.0, fraction)
    return np.where(np.isnan(fraction), np.nan, blended(salty, clean, known))


def show_options(assessment: Assessment, row: int, notes: Notes) -> list[AnyOption]:
    """Return the ways out for a container, best first; none where its plan will do."""
    flush = assessment.flush_of(row)
    if not flush.has_other_ways:
        return []
    if flush.case.sealed:
        ways = _for_sealed(assessment, row, notes)
    elif flush.many_pourings:
        others = other_ways(assessment, row, notes)
        spared = [each for each in others if each.id in SPARE_POURINGS]
        drip = _drip(flush, notes)
        first_spared = flush.so_salty and not _rooted(assessment, row)
        ways = [*spared, drip] if first_spared else [drip, *spared]
    else:
        ways = other_ways(assessment, row, notes)
    # A blend is for the next crop where roots hold the medium.
    return sorted(ways, key=lambda each: each.id == "blend") if _rooted(assessment, row) else ways


def _rooted(assessment: Assessment, row: int) -> bool:
    """Whether a grown plant holds the medium of a container, that cannot be tipped out then."""
    sample = int(assessment.flush_case.owner[row])
    return bool(assessment.rooted[sample])


def _drip(flush: FlushResult, notes: Notes) -> Drip:
    """Return the same litres by a dripper, which needs nobody."""
    turns, litres = say_turns(flush.advice), flush.told.litres
    return Drip(
        id="drip",
        sentence=say("option.drip", flow=DRIPPER_FLOW, turns=turns, litres=litres),
        flow=DRIPPER_FLOW,
        hours=float(dripper_hours(litres, DRIPPER_FLOW)),
        sources=notes.cite("common_practice"),
    )


def _for_sealed(assessment: Assessment, row: int, notes: Notes) -> list[AnyOption]:
    """Return every way out for a container that cannot drain, best first."""
    options = row_of(assessment.flush_options, row)
    flush, plan = assessment.flush_of(row), _feasible(assessment, row, notes)
    blend = _blend(options, notes)
    crops = _tolerant_crops(assessment, row, notes)
    rooted = _rooted(assessment, row)
    moist, replacement = _keep_moist(options, notes), _replacement(notes, rooted)
    many = plan is not None and bool(flush.case.by_hand) and not plan.by_hand
    elsewhere: list[AnyOption] = []
    if plan:
        ways = [plan.option(each, notes.cite("common_practice")) for each in _AS_IF_DRAINED]
        first, second = reversed(ways) if many or rooted else ways
        elsewhere = [first, *([] if rooted else [replace(second, plan=None)])]
    # What cannot work is told last, so that nobody tries it.
    helpful: list[AnyOption] = [crops, moist] if crops.tolerant_crops else [moist]
    last: list[AnyOption] = [_draw_down(options, notes)]
    if not crops.tolerant_crops:
        last.append(crops)
    if many and flush.so_salty and not rooted:
        return [*blend, replacement, *elsewhere, *helpful, *last]
    if options.salty_fraction >= BLEND_FIRST_FROM:
        return [*blend, *elsewhere, *helpful, replacement, *last]
    if many:
        drilled, *tipped_out = elsewhere
        return [drilled, *blend, replacement, *tipped_out, *helpful, *last]
    if plan:
        return [*elsewhere, *blend, *helpful, replacement, *last]
    return [*blend, replacement, *helpful, *last]


def other_ways(assessment: Assessment, row: int, notes: Notes) -> list[AnyOption]:
    """Return the ways out where a flush with this water is not the way, best first."""
    options = row_of(assessment.flush_options, row)
    better_water = []
    if options.mixed_works:
        mixed = _mixed(assessment, row, notes)
        better_water = [mixed.option("better_water", notes.cite("judgement"))]
    return [
        *better_water,
        *_blend(options, notes),
        _replacement(notes, _rooted(assessment, row)),
        _tolerant_crops(assessment, row, notes),
        _keep_moist(options, notes),
    ]


@dataclass(frozen=True)
class _FeasiblePlan:
    """A plan that gets a container there, if it could drain."""

    shown: ShortPlan
    rain_fraction: float
    first: tuple[Message, ...]
    turns: Message
    after: tuple[Message, ...]
    """How it is spread over time, how many pots are read, and what to do if they read more."""

    @property
    def by_hand(self) -> bool:
        """Whether it takes no more pourings than people do by hand."""
        return self.shown.passes <= PRACTICAL_POURINGS

    def option(self, which: str, sources: list[str]) -> OtherFlush:
        """Return the option to flush by this plan."""
        plan = self.shown
        litres = say(
            "flush.litres_in_passes" if not self.rain_fraction else "flush.litres_with_rain",
            litres=plan.water_per_container,
            passes=say("passes", count=plan.passes),
            own=plan.check_reading,
            when=say_when(plan.wait),
            rain=self.rain_fraction,
            mix=plan.ec_water,
        )
        dripped = which == "drill_holes" and not self.by_hand
        told = say(
            "option.drill_and_drip" if dripped else f"option.{which}",
            litres=litres,
            flow=DRIPPER_FLOW,
            turns=self.turns,
        )
        hands: tuple[Message, ...] = ()
        if not self.by_hand and not dripped:
            dripper = {"flow": DRIPPER_FLOW, "turns": self.turns}
            hands = (say("option.drip", litres=plan.water_per_container, **dripper),)
        sentence = (*self.first, told, *hands, *self.after)
        return OtherFlush(which, sentence, plan, self.rain_fraction or math.nan, sources)


def _feasible(assessment: Assessment, row: int, notes: Notes) -> _FeasiblePlan | None:
    """Choose the plan with the water as it is or, if that will not do, with rain mixed in."""
    flush = assessment.flush_of(row)
    if not flush.infeasible:
        plan = short_plan(flush, flush.advice, flush.case.flush.ec_water)
        first = before_flush(show_calcium(assessment, row, notes))
        return _FeasiblePlan(
            plan, 0.0, first, say_turns(flush.advice), say_end(flush, flush.advice)
        )
    works = assessment.flush_options.mixed_works[row]
    return _mixed(assessment, row, notes) if works else None


def _mixed(assessment: Assessment, row: int, notes: Notes) -> _FeasiblePlan:
    assume_rain(notes)
    options = row_of(assessment.flush_options, row)
    flush = assessment.flush_of(row)
    plan = short_plan(flush, options.mixed_advice, options.mixed_water)
    first = before_flush(show_calcium(assessment, row, notes))
    return _FeasiblePlan(
        plan,
        options.rain_fraction,
        first,
        say_turns(options.mixed_advice),
        say_end(flush, options.mixed_advice),
    )


def _blend(options: FlushOptions, notes: Notes) -> list[AnyOption]:
    fraction, nitrogen = options.salty_fraction, options.blend_nitrogen
    if not fraction >= LEAST_BLENDED:
        return []
    sentences = [say("option.blend", fraction=fraction, clean=options.clean_ec)]
    if math.isfinite(nitrogen):
        sentences.append(say("option.blend_nitrogen", nitrogen=nitrogen))
    return [
        Blend(
            id="blend",
            sentence=(*sentences, say("option.blend_check")),
            salty_fraction=fraction,
            clean_parts=(1 - fraction) / fraction,
            ec_clean=options.clean_ec,
            ec_blend=options.blend_ec,
            nitrate_n_blend=nitrogen,
            sources=notes.cite("judgement"),
        )
    ]


def _replacement(notes: Notes, rooted: bool) -> Replacement:
    told = say("option.repot" if rooted else "option.replace")
    return Replacement("replace", told, notes.cite("common_practice"))


def _keep_moist(options: FlushOptions, notes: Notes) -> KeepMoist:
    wet, moist, dry = (float(ec) for ec in options.ec_as_it_dries)
    _, at_moist, at_dry = RELATIVE_WATER_CONTENTS
    return KeepMoist(
        id="keep_moist",
        sentence=say(
            "option.keep_moist", wet=wet, moist=moist, at_moist=at_moist, dry=dry, at_dry=at_dry
        ),
        ec_by_moisture=EcByMoisture(
            Series(RELATIVE_WATER_CONTENTS, "1"), Series((wet, moist, dry), "dS/m")
        ),
        sources=notes.cite("common_practice"),
    )


def _tolerant_crops(assessment: Assessment, row: int, notes: Notes) -> TolerantCrops:
    sample = int(assessment.flush_case.owner[row])
    names, thriving = assessment.tolerant_crops(sample), int(assessment.causes.thriving[sample])
    told = say("option.tolerant_crop" if names else "option.no_crop", crops=names)
    if not names and thriving != NO_CROP:
        told = say("option.keep_for_thriving", crop=assessment.catalogue[thriving].name)
    return TolerantCrops(
        id="tolerant_crop",
        sentence=told,
        tolerant_crops=names,
        sources=notes.cite("maas_hoffman_1977"),
    )


def _draw_down(options: FlushOptions, notes: Notes) -> DrawDown:
    soonest, latest = (float(days) / 7 for days in options.uptake_days)
    return DrawDown(
        id="draw_down",
        sentence=_drawn_down(soonest, latest),
        duration=Range(soonest, latest, "week"),
        sources=notes.cite("judgement"),
    )


def _drawn_down(soonest: float, latest: float) -> Message:
    if math.isinf(soonest):
        return say("option.never_drawn_down")
    if soonest > LONGEST_WAIT:
        return say("option.drawn_down_after_a_year")
    if latest > LONGEST_WAIT:
        return say("option.perhaps_drawn_down", soonest=soonest)
    return say("option.drawn_down", soonest=max(soonest, 1.0), latest=max(latest, 1.0))
