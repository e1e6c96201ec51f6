"""The ways out where a flush in place cannot be, each with its numbers, best first."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from saltcalc.answer.quantities import EC_UNIT, SHARE_UNIT, Json, quantity
from saltcalc.answer.wording import figure, in_passes, volume
from saltcalc.case.vocabulary import STAGES
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.crops.limits import catalogue_limits
from saltcalc.parts.crops.tolerance import highest_stood
from saltcalc.parts.flush_plan import (
    MOISTURES,
    FlushResult,
)
from saltcalc.parts.notes import Notes
from saltcalc.parts.water import assume_rain
from saltcalc.science.plan import FlushPlan

HALF = 0.5
"""Share of the old medium in a blend from which blending is the easier way (judgement)."""

LONGEST_WAIT = 52.0
"""Weeks beyond which waiting for plants to take salt up is no way out (judgement)."""

MOST_CROPS = 8

TUB_GROUPS = frozenset({"vegetable"})
"""Groups of crops that people grow in containers, named before others."""


def stuck(result: FlushResult, row: int) -> bool:
    """Whether the container needs a flush and this water, or any sensible amount, will not do."""
    works = result.reachable[row] and result.practical[row] and result.plan.passes[row]
    return bool(result.case.needed[row] and not works)


def options_for_sealed(assessment: Assessment, row: int, sample: int, notes: Notes) -> list[Json]:
    """Return every way out for a container that cannot drain, best first."""
    result = assessment.flush_plan
    plan = _workable(result, row, notes)
    share = float(result.salty_share[row])
    elsewhere = (
        [_flush_elsewhere(result, row, plan, notes), _drill(result, row, plan, notes)]
        if plan
        else []
    )
    blend = [_blend(assessment, row, notes)]
    replace = [_replace(notes)]
    crops, moist = _tolerant_crops(assessment, sample, notes), _keep_moist(result, row, notes)
    helpful = [crops, moist] if crops["crops"] else [moist]
    # What cannot work is told last, so that nobody tries it.
    last = [_draw_down(result, row, notes)] + ([] if crops["crops"] else [crops])
    if math.isfinite(share) and share >= HALF:
        return _made([*blend, *elsewhere, *helpful, *replace, *last])
    if plan:
        return _made([*elsewhere, *blend, *helpful, *replace, *last])
    return _made([*blend, *replace, *helpful, *last])


def options_for_open(assessment: Assessment, row: int, sample: int, notes: Notes) -> list[Json]:
    """Return the ways out where this water cannot do it, best first."""
    result = assessment.flush_plan
    better_water = [_better_water(result, row, notes)] if result.mixed_works[row] else []
    return _made(
        [
            *better_water,
            _blend(assessment, row, notes),
            _replace(notes),
            _tolerant_crops(assessment, sample, notes),
            _keep_moist(result, row, notes),
        ]
    )


@dataclass(frozen=True)
class _Workable:
    """A plan that gets a container there, if it could drain."""

    plan: FlushPlan
    ec_water: float
    rain_share: float


def _workable(result: FlushResult, row: int, notes: Notes) -> _Workable | None:
    """Choose the plan with the water as it is or, if that will not do, with rain mixed in."""
    if not stuck(result, row):
        return _Workable(result.plan, float(np.asarray(result.case.flush.ec_water)[row]), 0.0)
    return _mixed(result, row, notes) if result.mixed_works[row] else None


def _mixed(result: FlushResult, row: int, notes: Notes) -> _Workable:
    assume_rain(notes)
    return _Workable(
        result.mixed_plan, float(result.mixed_water[row]), float(result.rain_share[row])
    )


def _made(options: Iterable[Json | None]) -> list[Json]:
    return [option for option in options if option]


def _plan(result: FlushResult, row: int, way: _Workable) -> Json:
    return {
        "ec_water": quantity(way.ec_water, EC_UNIT),
        "water_per_container": quantity(float(way.plan.applied[row]), "L"),
        "passes": int(way.plan.passes[row]),
        "applied_each": quantity(float(np.asarray(result.case.flush.pass_volume)[row]), "L"),
        "rest": quantity(60 * float(np.asarray(result.case.flush.rest_between)[row]), "min"),
        "stop_reading": quantity(float(way.plan.stop_reading[row]), EC_UNIT),
        "time_needed": quantity(float(way.plan.hours[row]), "h"),
    }


def _litres(row: int, way: _Workable) -> str:
    """Water, passes and where to stop, in words."""
    passes = int(way.plan.passes[row])
    rain = (
        f", {way.rain_share:.0%} of it rain water so that the mix reads "
        f"{figure(way.ec_water)} dS/m or less,"
        if way.rain_share
        else ""
    )
    return (
        f"{volume(float(way.plan.applied[row]))} a container{rain} in {in_passes(passes)}, "
        f"until the drainage reads {figure(float(way.plan.stop_reading[row]))} dS/m or "
        "less"
    )


def _flush_elsewhere(result: FlushResult, row: int, way: _Workable, notes: Notes) -> Json:
    return {
        "id": "flush-elsewhere",
        "sentence": "Tip the medium into a vessel of the same depth that drains, flush it there "
        f"with {_litres(row, way)}; let it drain, and return it. Catch the drainage.",
        "rain_share": quantity(way.rain_share, SHARE_UNIT),
        "plan": _plan(result, row, way),
        "sources": notes.cite("common-practice"),
    }


def _drill(result: FlushResult, row: int, way: _Workable, notes: Notes) -> Json:
    return {
        "id": "drill-holes",
        "sentence": "Drill holes in the base, stand it over a tray, and flush with "
        f"{_litres(row, way)}. Catch the drainage.",
        "rain_share": quantity(way.rain_share, SHARE_UNIT),
        "plan": _plan(result, row, way),
        "sources": notes.cite("common-practice"),
    }


def _blend(assessment: Assessment, row: int, notes: Notes) -> Json | None:
    result = assessment.flush_plan
    share = float(result.salty_share[row])
    if math.isnan(share) or share <= 0:
        return None
    clean, nitrogen = float(result.clean_ec[row]), float(result.blend_nitrogen[row])
    feed = (
        f" It leaves about {nitrogen:.0f} mg/L of nitrate nitrogen by your method of extraction."
        if math.isfinite(nitrogen)
        else ""
    )
    return {
        "id": "blend",
        "sentence": f"Mix {share:.0%} of this medium, by volume, with a low-salt medium "
        f"of at most {figure(clean)} dS/m (saturated extract).{feed} Check EC and pH again "
        "after mixing: peat or bark makes it more acid, compost less.",
        "salty_share": quantity(share, SHARE_UNIT),
        "clean_parts": quantity((1 - share) / share, SHARE_UNIT),
        "ec_clean": quantity(clean, EC_UNIT),
        "ec_blend": quantity(float(result.blend_ec[row]), EC_UNIT),
        "nitrate_n_blend": quantity(nitrogen, "mg/L"),
        "sources": notes.cite("judgement"),
    }


def _replace(notes: Notes) -> Json:
    return {
        "id": "replace",
        "sentence": "Replace the medium; spread the old one thinly, where local rules allow, on "
        "ground that can take the salt.",
        "sources": notes.cite("common-practice"),
    }


def _better_water(result: FlushResult, row: int, notes: Notes) -> Json:
    way = _mixed(result, row, notes)
    return {
        "id": "better-water",
        "sentence": f"Flush with {_litres(row, way)}.",
        "rain_share": quantity(way.rain_share, SHARE_UNIT),
        "plan": _plan(result, row, way),
        "sources": notes.cite("judgement"),
    }


def _keep_moist(result: FlushResult, row: int, notes: Notes) -> Json:
    wet, medium, dry = (float(ec) for ec in result.ec_as_it_dries[row])
    return {
        "id": "keep-moist",
        "sentence": f"Keep it moist, not waterlogged: the pore water reads {figure(wet)} dS/m when "
        f"it has just drained, {figure(medium)} at {MOISTURES[1]:.0%} of that water and "
        f"{figure(dry)} at {MOISTURES[2]:.0%}. It buys time; the salt stays.",
        "ec_by_moisture": [
            {"moisture": quantity(moisture, SHARE_UNIT), "ec": quantity(float(ec), EC_UNIT)}
            for moisture, ec in zip(MOISTURES, result.ec_as_it_dries[row], strict=True)
        ],
        "sources": notes.cite("common-practice"),
    }


def _tolerant_crops(assessment: Assessment, sample: int, notes: Notes) -> Json:
    names = crops_that_stand(assessment, sample)
    listed = (
        f"Sow or plant what stands this medium now: {'; '.join(names)}."
        if names
        else ("No crop of the table stands this medium as seedling.")
    )
    return {
        "id": "tolerant-crop",
        "sentence": listed,
        "crops": names,
        "sources": notes.cite("maas-hoffman-1977"),
    }


def _draw_down(result: FlushResult, row: int, notes: Notes) -> Json:
    soonest, latest = (float(days) / 7 for days in result.uptake_days[row])
    if math.isinf(soonest):
        sentence = "Plants will not draw it down: the water brings as much salt as they take up."
    elif soonest > LONGEST_WAIT:
        sentence = "Plants would take more than a year to draw it down; do not wait for it."
    elif math.isinf(latest) or latest > LONGEST_WAIT:
        sentence = (
            f"Growing plants may draw nutrient salt down in {soonest:.0f} weeks at the very best, "
            "or not within a year; do not count on it."
        )
    else:
        sentence = (
            "Growing plants would draw nutrient salt down in very roughly "
            f"{max(soonest, 1):.0f} to {max(latest, 1):.0f} weeks, without feed; sodium and "
            "chloride stay."
        )
    return {
        "id": "draw-down",
        "sentence": sentence,
        "weeks_at_soonest": quantity(soonest if math.isfinite(soonest) else math.nan, "week"),
        "weeks_at_latest": quantity(latest if math.isfinite(latest) else math.nan, "week"),
        "sources": notes.cite("judgement"),
    }


def crops_that_stand(assessment: Assessment, sample: int) -> list[str]:
    """Return the names of the crops that stand a medium best as seedlings, if any stand it."""
    limits = catalogue_limits(assessment.catalogue)
    shape = (len(assessment.catalogue),)
    stood = highest_stood(
        assessment.salinity,
        limits,
        np.full(shape, sample),
        np.full(shape, STAGES.index("seedling")),
    )
    extract = float(assessment.salinity.saturated_extract.value[sample])
    able = [int(code) for code in np.argsort(-np.nan_to_num(stood)) if stood[code] >= extract]
    in_tubs = [code for code in able if assessment.catalogue[code].group in TUB_GROUPS]
    return [assessment.catalogue[code].name for code in (in_tubs or able)[:MOST_CROPS]]
