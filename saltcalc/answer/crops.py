"""How each crop stands the medium, in words and quantities."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from saltcalc.answer.crop_limits import LIMITS, SLOPE_UNIT, VERDICTS, limit_records
from saltcalc.answer.crop_tables import stage_limit_members
from saltcalc.answer.quantities import EC_UNIT, Json, quantity
from saltcalc.case.vocabulary import STAGES
from saltcalc.data.crops import Crop
from saltcalc.data.extraction import extraction_methods
from saltcalc.data.stage_limits import stage_limits
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.crop_ranking import CropRanking, alternatives, rank_crops
from saltcalc.parts.crops import YIELDS, CropsResult
from saltcalc.parts.notes import Notes
from saltcalc.science.crop_response import relative_yield
from saltcalc.science.tolerance import CropVerdicts, Limit, RootZone, Verdict


def answer_crops(assessment: Assessment, rows: list[int], notes: Notes) -> list[Json]:
    """Return how each planting in ``rows`` stands its medium."""
    ranking = _ranking(assessment, rows)
    return [
        _answer_one(assessment, ranking, row, position, notes) for position, row in enumerate(rows)
    ]


def verdict_members(verdicts: CropVerdicts, place: int | tuple[int, int]) -> Json:
    """Return the verdict at a place of the arrays, its range, and the response behind it."""
    ends = (verdicts.best[place], verdicts.verdict[place], verdicts.worst[place])
    known = [Verdict(int(end)) for end in ends if end != Verdict.CANNOT_TELL]
    return {
        "relative_yield": quantity(
            float(verdicts.response[place]),
            "%",
            float(verdicts.response_low[place]),
            float(verdicts.response_high[place]),
        ),
        "emergence": quantity(
            float(verdicts.emergence[place]),
            "%",
            float(verdicts.emergence_low[place]),
            float(verdicts.emergence_high[place]),
        ),
        "verdict": VERDICTS[Verdict(int(verdicts.verdict[place]))],
        "verdict_range": [VERDICTS[verdict] for verdict in dict.fromkeys(known)]
        or [VERDICTS[Verdict.CANNOT_TELL]],
        "governing": LIMITS.get(Limit(int(verdicts.governing[place]))),
    }


def _ranking(assessment: Assessment, rows: list[int]) -> CropRanking:
    plantings, zone = assessment.batch.plantings, assessment.crops.zone
    columns = {name: np.asarray(field)[rows] for name, field in vars(zone).items()}
    return rank_crops(
        RootZone(**columns),
        assessment.salinity,
        plantings.sample[rows],
        plantings.stage[rows],
        assessment.catalogue,
    )


def _answer_one(
    assessment: Assessment, ranking: CropRanking, row: int, position: int, notes: Notes
) -> Json:
    result, plantings = assessment.crops, assessment.batch.plantings
    code, sample = int(plantings.crop[row]), int(plantings.sample[row])
    crop, stage = assessment.catalogue[code], STAGES[plantings.stage[row]]
    members = verdict_members(result.verdicts, row)
    limits = limit_records(result, crop, stage, row, notes)
    osmotic = assessment.salinity.osmotic_potential
    _warn(assessment, crop, stage, row, position, notes)
    return {
        "crop": crop.id,
        "name": crop.name,
        "stage": stage,
        "group": crop.group,
        "local": crop.local,
        "rating": crop.rating or None,
        "threshold": quantity(crop.threshold, EC_UNIT),
        "slope": quantity(crop.slope, SLOPE_UNIT),
        "ec_saturated_extract": quantity(
            float(np.asarray(result.zone.ec)[row]),
            EC_UNIT,
            float(np.asarray(result.zone.ec_low)[row]),
            float(np.asarray(result.zone.ec_high)[row]),
        ),
        "osmotic_potential": quantity(
            float(osmotic.value[sample]),
            "kPa",
            float(osmotic.low[sample]),
            float(osmotic.high[sample]),
        ),
        **members,
        "governing_reason": _reason(limits),
        "limits": limits,
        "stage_ranges": _stage_ranges(assessment, row, stage, notes),
        "stands_up_to": quantity(float(result.stands_up_to[row]), EC_UNIT),
        "flush_down_to": _flush_down_to(assessment, row),
        "second_figures": _second_figures(result, crop, row, notes),
        "alternatives": []
        if result.verdicts.verdict[row] == Verdict.STANDS_IT
        else _alternatives(assessment, ranking, position, code),
        "remark": crop.note or None,
        "note": " ".join(_note(assessment, crop, stage, row, limits)),
        "sources": notes.cite(
            *crop.source_keys, *(key for limit in limits for key in limit["sources"])
        ),
    }


def _reason(limits: list[Json]) -> str:
    counted = [limit for limit in limits if limit["verdict"] != VERDICTS[Verdict.CANNOT_TELL]]
    if not counted:
        return "No limit is published for this crop that this reading can be held against."
    first = next(limit for limit in counted if limit["governs"])
    others = [
        f"the {limit['limit']} says {limit['verdict']}" for limit in counted if limit != first
    ]
    if not others:
        return f"The {first['limit']} is the only limit here."
    if all(limit["verdict"] == first["verdict"] for limit in counted):
        return f"Every limit says {first['verdict']}."
    listed = "; ".join(others)
    return f"The strictest limit governs: the {first['limit']} says {first['verdict']}; {listed}."


def _stage_ranges(assessment: Assessment, row: int, stage: str, notes: Notes) -> list[Json]:
    """Return the published ranges for young plants and container crops on the limit's method."""
    result = assessment.crops
    if math.isnan(float(np.asarray(result.zone.suits)[row])):
        return []
    method = extraction_methods()[result.zone_method[row]].id
    reading = float(np.asarray(result.zone.reading)[row])
    return [
        stage_limit_members(limit)
        | {
            "within": limit.ec_low <= reading <= limit.ec_high,
            "sources": notes.cite(limit.source),
        }
        for limit in stage_limits()
        if limit.extraction == method and limit.kind == "suits" and limit.stage in _STAGES_OF[stage]
    ]


_STAGES_OF = {
    "germination": {"germination", "plug_1", "plug_2"},
    "seedling": {"seedling", "plug_3", "plug_4", "any"},
    "established": {"established"},
}
"""Stages of the table of container limits that a stage of the request covers."""


def _flush_down_to(assessment: Assessment, row: int) -> list[Json]:
    result = assessment.crops
    if np.isnan(result.ec_at_yields[row]).any():
        return []
    return [
        {
            "relative_yield": quantity(wanted, "%"),
            "ec_saturated_extract": quantity(float(result.ec_at_yields[row, column]), EC_UNIT),
            "reading": quantity(float(result.readings_at_yields[row, column]), EC_UNIT),
            "reached": bool(
                np.asarray(result.zone.ec)[row] + result.tolerance_shift[row]
                <= result.ec_at_yields[row, column]
            ),
        }
        for column, wanted in enumerate(YIELDS)
    ]


def _second_figures(result: CropsResult, crop: Crop, row: int, notes: Notes) -> list[Json]:
    ec = float(np.asarray(result.zone.ec)[row])
    return [
        {
            "threshold": quantity(figures.threshold, EC_UNIT),
            "slope": quantity(figures.slope, SLOPE_UNIT),
            "rating": figures.rating or None,
            "relative_yield": quantity(
                float(relative_yield(ec, figures.threshold, figures.slope)), "%"
            ),
            "provenance": figures.provenance,
            "note": figures.note,
            "sources": notes.cite(figures.source),
        }
        for figures in crop.second_figures
    ]


def _alternatives(
    assessment: Assessment, ranking: CropRanking, position: int, code: int
) -> list[Json]:
    return [
        {
            "crop": assessment.catalogue[other].id,
            "name": assessment.catalogue[other].name,
            **verdict_members(ranking.verdicts, (position, other)),
            "stands_up_to": quantity(float(ranking.stands_up_to[position, other]), EC_UNIT),
        }
        for other in alternatives(ranking, position, code, assessment.catalogue)
    ]


def _note(
    assessment: Assessment, crop: Crop, stage: str, row: int, limits: list[Json]
) -> Iterator[str]:
    governing = next((limit for limit in limits if limit["governs"]), None)
    if governing:
        yield governing["sentence"]
        others = {limit["verdict"] for limit in limits} - {VERDICTS[Verdict.CANNOT_TELL]}
        if len(others) > 1:
            yield "It is the strictest of the limits that apply, so it governs."
    else:
        yield "No limit is published for this crop that this reading can be held against."
    if assessment.ec_is_floor[assessment.batch.plantings.sample[row]]:
        yield "The EC is the least that the ions allow, so it may fare worse than this."
    highest = assessment.crops.stands_up_to[row]
    if not math.isnan(highest):
        yield f"It stands up to {highest:.2g} dS/m of saturated extract as {_article(stage)}."
    if not crop.rating and math.isnan(crop.threshold):
        yield "No salt tolerance is published for this crop in the tables used."
    if crop.woody and crop.group == "fruit":
        yield (
            "Tree and bush figures hold for rootstocks that keep sodium and chloride out; "
            "otherwise the chloride limit governs."
        )


def _article(stage: str) -> str:
    return {
        "germination": "germinating seed",
        "seedling": "a seedling",
        "established": "an established plant",
    }[stage]


def _warn(
    assessment: Assessment, crop: Crop, stage: str, row: int, position: int, notes: Notes
) -> None:
    verdicts, path = assessment.crops.verdicts, f"crops/{position}/verdict"
    if verdicts.verdict[row] == Verdict.FAILS:
        notes.warn(
            "crop-fails",
            "stop",
            f"{crop.name} ({stage}) does not stand this medium as it is.",
            path,
        )
    elif verdicts.best[row] != verdicts.worst[row]:
        sample = assessment.batch.plantings.sample[row]
        method = extraction_methods()[assessment.batch.samples.extraction[sample]].id
        sharper = (
            "Measure the EC: the ions give only the least it can be."
            if assessment.ec_is_floor[sample]
            else _sharper(method)
        )
        notes.warn(
            "crop-verdict-uncertain",
            "note",
            f"For {crop.name} ({stage}) the figures leave more than one verdict open: see its "
            f"range. {sharper}",
            path,
        )
    _warn_of_wet_leaves(assessment, crop, row, notes)


def _sharper(method: str) -> str:
    if method in {"saturated_media_extract", "saturated_paste"}:
        return "Sow a few seeds in it before you plant the rest."
    return "A saturated media extract would tell it best."


def _warn_of_wet_leaves(assessment: Assessment, crop: Crop, row: int, notes: Notes) -> None:
    if crop.foliar is None:
        return
    sample = assessment.batch.plantings.sample[row]
    ions = assessment.batch.samples.water.ions
    found = np.fmax(ions["sodium"][sample], ions["chloride"][sample])
    low, high = crop.foliar.sodium_or_chloride_low, crop.foliar.sodium_or_chloride_high
    limit = low or high
    if not found > limit:
        return
    notes.cite(crop.foliar.source)
    notes.warn(
        "water-burns-leaves",
        "caution",
        f"Water with {found:.2g} mmol_c/L of sodium or chloride can burn the leaves of "
        f"{crop.name} when it is sprayed on them (from about {limit:g}); water the medium, not "
        "the leaves.",
        "/water/ions",
    )
