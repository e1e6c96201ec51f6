"""How each planting stands its medium, and what would stand it instead."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.vocabulary import STAGES
from saltcalc.data.crops import Crop
from saltcalc.data.extraction import extraction_methods
from saltcalc.data.stage_limits import stage_limits
from saltcalc.message import Message, say
from saltcalc.parts.crops.ranking import alternatives, rank_crops
from saltcalc.parts.crops.tolerance import EXTRACT, YIELDS, CropsResult
from saltcalc.parts.crops.verdicts import (
    CropLimit,
    Standing,
    limits_held,
    standing_of,
    verdict_in_words,
)
from saltcalc.parts.listings import SLOPE_UNIT, StageLimitRow, stage_limit_row
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import from_row, note_of, part, row_of, shown, source_keys
from saltcalc.science.crop_response import relative_yield
from saltcalc.science.tolerance import Verdict
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

_AGES = {
    "germination": {"germination", "plug_1", "plug_2"},
    "seedling": {"seedling", "plug_3", "plug_4", "any"},
    "established": {"established"},
}
"""Ages in the table of container limits that a stage of the request covers."""


@part
class StageRange(StageLimitRow):
    """A range that the reading is held beside."""

    within: bool = shown("Whether the reading lies in it.")
    sources: list[str] = source_keys()


@part
class FlushDownTo:
    """The EC to come down to for a share of the yield."""

    relative_yield: float = shown("", "%")
    ec_saturated_extract: float = shown("EC of the saturated extract.", "dS/m")
    reading: float = shown("The same by the extraction method of the request.", "dS/m")
    reached: bool = shown("Whether the medium is there already.")


@part
class SecondFigures:
    """What another source says of the crop."""

    threshold: float = shown("Saturated extract up to which nothing is lost.", "dS/m")
    slope: float = shown("Loss above it.", SLOPE_UNIT)
    rating: str | None = shown()
    relative_yield: float = shown("What this source would leave of the yield.", "%")
    provenance: str = shown()
    note: Message | str = shown()
    sources: list[str] = source_keys()


@part
class CropAnswer(Standing):
    """How a crop at a stage stands the medium."""

    stage: str = shown()
    group: str = shown()
    local: bool = shown("Whether the row is the grower's own.")
    rating: str | None = shown("S, MS, MT or T.")
    threshold: float = shown("Saturated extract up to which nothing is lost.", "dS/m")
    slope: float = shown("Loss above it.", SLOPE_UNIT)
    ec_saturated_extract: Interval = shown("What the roots meet, as saturated extract.", "dS/m")
    osmotic_potential: Interval = shown("Of the pore water at container capacity.", "kPa")
    governing_reason: Message = shown()
    limits: list[CropLimit] = shown()
    stage_ranges: list[StageRange] = shown(
        "Published ranges for plants of this age, for comparison."
    )
    flush_down_to: list[FlushDownTo] = shown("For 100, 90 and 50 % of the yield.")
    second_figures: list[SecondFigures] = shown()
    alternatives: list[Standing] = shown(
        "Up to five crops of the same group that stand it, nearest first."
    )
    remark: Message | str | None = shown("What the crop's row in the table says beside.")
    note: tuple[Message, ...] = shown()
    sources: list[str] = source_keys()


def show_crops(assessment: Assessment, sample: int, notes: Notes) -> list[CropAnswer] | None:
    """Return how each planting of a sample stands it, or None without a crop or an EC."""
    rows = assessment.plantings_of(sample)
    if not rows:
        notes.missing("crops", "/crops")
        return None
    if math.isnan(assessment.salinity.ec_25c[sample]):
        notes.miss("crops", ["/medium/ec"], say("missing.crop_limit"))
        return None
    others = _alternatives(assessment, rows)
    return [
        _show(assessment, row, others.get(row, []), f"crops/{place}/verdict", notes)
        for place, row in enumerate(rows)
    ]


def _alternatives(assessment: Assessment, rows: list[int]) -> dict[int, list[Standing]]:
    """Return crops that stand the medium in place of each planting that does not."""
    verdict = assessment.crops.verdicts.verdict
    replaced = [row for row in rows if verdict[row] != Verdict.STANDS_IT]
    if not replaced:
        return {}
    plantings, catalogue = assessment.batch.plantings, assessment.catalogue
    ranking = rank_crops(assessment, plantings.sample[replaced], plantings.stage[replaced])
    return {
        row: [
            Standing(
                **standing_of(
                    catalogue[other],
                    ranking.verdicts,
                    (place, other),
                    float(ranking.stands_up_to[place, other]),
                )
            )
            for other in alternatives(ranking, place, int(plantings.crop[row]), catalogue)
        ]
        for place, row in enumerate(replaced)
    }


def _show(
    assessment: Assessment, row: int, others: list[Standing], path: str, notes: Notes
) -> CropAnswer:
    result, plantings = assessment.crops, assessment.batch.plantings
    crop, stage = assessment.crop_of(row), STAGES[plantings.stage[row]]
    zone = row_of(result.zone, row)
    limits = limits_held(result, crop, stage, row, notes)
    _find(assessment, crop, stage, row, path, notes)
    return CropAnswer(
        **standing_of(crop, result.verdicts, row, float(result.stands_up_to[row])),
        stage=stage,
        group=crop.group,
        local=crop.local,
        rating=crop.rating or None,
        threshold=crop.threshold,
        slope=crop.slope,
        ec_saturated_extract=Interval(zone.ec, zone.ec_low, zone.ec_high),
        osmotic_potential=row_of(assessment.salinity.osmotic_potential, int(plantings.sample[row])),
        governing_reason=_reason(limits),
        limits=limits,
        stage_ranges=_stage_ranges(result, row, stage, notes),
        flush_down_to=_flush_down_to(result, row),
        second_figures=[
            from_row(
                SecondFigures,
                figures,
                rating=figures.rating or None,
                relative_yield=float(relative_yield(zone.ec, figures.threshold, figures.slope)),
                note=note_of("crop_second_figures", figures),
                sources=notes.cite(figures.source),
            )
            for figures in crop.second_figures
        ],
        alternatives=others,
        remark=crop.note or note_of("crops", crop) or None,
        note=tuple(_note(assessment, crop, stage, row, limits)),
        sources=notes.cite(*crop.source_keys, *(key for each in limits for key in each.sources)),
    )


def _reason(limits: list[CropLimit]) -> Message:
    counted = [limit for limit in limits if limit.code != Verdict.CANNOT_TELL]
    if not counted:
        return say("crops.no_limit_to_hold")
    first = next(limit for limit in counted if limit.governs)
    told = {"limit": first.in_words, "verdict": verdict_in_words(first.code)}
    others = [
        say("crops.limit_says", limit=limit.in_words, verdict=verdict_in_words(limit.code))
        for limit in counted
        if limit is not first
    ]
    if not others:
        return say("crops.only_limit", **told)
    if all(limit.code == first.code for limit in counted):
        return say("crops.limits_agree", **told)
    return say("crops.strictest_says", others=others, **told)


def _stage_ranges(result: CropsResult, row: int, stage: str, notes: Notes) -> list[StageRange]:
    """Return the published ranges for young plants and container crops on the limit's method."""
    zone = row_of(result.zone, row)
    if math.isnan(zone.suits):
        return []
    method = extraction_methods()[result.zone_method[row]].id
    return [
        stage_limit_row(
            StageRange,
            limit,
            within=limit.ec_low <= zone.reading <= limit.ec_high,
            sources=notes.cite(limit.source),
        )
        for limit in stage_limits()
        if limit.extraction == method and limit.kind == "suits" and limit.stage in _AGES[stage]
    ]


def _flush_down_to(result: CropsResult, row: int) -> list[FlushDownTo]:
    ecs, readings = result.ec_at_yields[row].tolist(), result.readings_at_yields[row].tolist()
    if np.isnan(ecs).any():
        return []
    met = row_of(result.zone, row).ec + result.tolerance_shift[row]
    return [
        FlushDownTo(wanted, ec, reading, reached=bool(met <= ec))
        for wanted, ec, reading in zip(YIELDS, ecs, readings, strict=True)
    ]


def _note(
    assessment: Assessment, crop: Crop, stage: str, row: int, limits: list[CropLimit]
) -> Iterator[Message]:
    governing = next((limit for limit in limits if limit.governs), None)
    if governing:
        yield from governing.sentence
        if len({limit.code for limit in limits} - {Verdict.CANNOT_TELL}) > 1:
            yield say("crops.strictest_governs")
    else:
        yield say("crops.no_limit_to_hold")
    if assessment.ec_is_floor[assessment.batch.plantings.sample[row]]:
        yield say("crops.ec_is_floor")
    highest = float(assessment.crops.stands_up_to[row])
    if not math.isnan(highest):
        yield say(f"crops.stands_up_to_{stage}", highest=highest)
    if not crop.rating and math.isnan(crop.threshold):
        yield say("crops.no_tolerance_published")
    if crop.woody and crop.group == "fruit":
        yield say("crops.rootstocks")


def _find(
    assessment: Assessment, crop: Crop, stage: str, row: int, path: str, notes: Notes
) -> None:
    """Say where a crop fails, where its verdict is open, and where the water burns its leaves."""
    verdicts = assessment.crops.verdicts
    if verdicts.verdict[row] == Verdict.FAILS:
        notes.find("crop_fails", "stop", path, crop=crop.name, stage=stage)
    elif verdicts.best[row] != verdicts.worst[row]:
        sharper = _sharper(assessment, row)
        notes.find(
            "crop_verdict_uncertain", "note", path, crop=crop.name, stage=stage, sharper=sharper
        )
    if crop.foliar is None:
        return
    sample, ions = assessment.batch.plantings.sample[row], assessment.batch.samples.water.ions
    found = float(np.fmax(ions["sodium"][sample], ions["chloride"][sample]))
    limit = crop.foliar.sodium_or_chloride_low or crop.foliar.sodium_or_chloride_high
    if found > limit:
        notes.cite(crop.foliar.source)
        notes.find(
            "water_burns_leaves", "caution", "/water/ions", crop=crop.name, found=found, limit=limit
        )


def _sharper(assessment: Assessment, row: int) -> Message:
    """Say how to tell a verdict that is open."""
    sample = assessment.batch.plantings.sample[row]
    if assessment.ec_is_floor[sample]:
        return say("crops.measure_ec")
    method = extraction_methods()[assessment.batch.samples.extraction[sample]].id
    if method in {EXTRACT, "saturated_paste"}:
        return say("crops.sow_a_few")
    return say("crops.extract_tells_best")
