"""How well each planting tolerates its medium, and which crops would tolerate it instead."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import cache, cached_property, partial
from typing import TYPE_CHECKING, Any

import numpy as np

from saltcalc.case.vocabulary import STAGES
from saltcalc.data.crops import RATINGS, Crop
from saltcalc.data.extraction import extraction_methods
from saltcalc.data.stage_limits import StageLimit, stage_limits
from saltcalc.message import Message, say
from saltcalc.parts.crop_listings import SLOPE_UNIT
from saltcalc.parts.crops.ranking import alternatives, rank_crops, to_sow_instead
from saltcalc.parts.crops.tolerance import EXTRACT, YIELDS, CropsResult
from saltcalc.parts.crops.verdicts import (
    LIMITS,
    VERDICT_IDS,
    VERDICTS,
    CropLimit,
    Standing,
    limits_held,
    standing_of,
)
from saltcalc.parts.listings import StageLimitRow, stage_limit_row
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import (
    Series,
    from_row,
    how_known,
    later,
    note_of,
    part,
    row_of,
    shown,
    shows,
    source_keys,
)
from saltcalc.parts.watering import is_fed_with_water
from saltcalc.science.crop_limits import OF_FEEDING, Limit, RootZone, Stage, Verdict
from saltcalc.science.crop_response import relative_yield
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

    at_yield: Series = shown("Yield against that without salt.")
    saturated_extract: Series = shown("EC of the saturated extract.")
    reading: Series | None = shown(
        "The same by the extraction method of the request, where that is another one.",
        optional=True,
    )
    reached: list[bool] = shown("Whether the medium is there already.")


@part
class SecondFigures:
    """What another source says of the crop."""

    threshold: float = shown("Saturated extract up to which nothing is lost.", "dS/m")
    slope: float = shown("Loss of yield for each dS/m above it.", SLOPE_UNIT, optional=True)
    rating: str | None = shown(optional=True, choices=RATINGS)
    relative_yield: float = shown("What this source would leave of the yield.", "%", optional=True)
    provenance: str = how_known()
    note: Message | str = shown(optional=True)
    sources: list[str] = source_keys()


@part
class Alternative:
    """A crop that tolerates the medium."""

    crop: str = shown()
    name: str = shown()
    verdict: str = shown(choices=VERDICT_IDS)
    max_tolerated_ec: float = shown(
        "Highest EC of the saturated extract at which it is still tolerant.", "dS/m"
    )


@part
class CropAnswer(Standing):
    """How a crop at a stage tolerates the medium."""

    stage: str = shown(choices=STAGES)
    local: bool | None = shown(
        "True where the row is the grower's own, or else left out.", optional=True
    )
    rating: str | None = shown("S, MS, MT or T.", choices=RATINGS)
    threshold: float = shown("Saturated extract up to which nothing is lost.", "dS/m")
    slope: float = shown("Loss of yield for each dS/m above it.", SLOPE_UNIT)
    ec_saturated_extract: Interval = shown(
        "What the saturated extract would read, gypsum with it, as in max_tolerated_ec.", "dS/m"
    )
    limits: list[CropLimit] = shown("The limits that it is held against.")
    stage_ranges: list[StageRange] = shown(
        "Published ranges for plants of this age that differ from the limit above.", optional=True
    )
    flush_down_to: FlushDownTo | None = shown(
        "For 100, 90 and 50 % of the yield; left out without a published response.", optional=True
    )
    second_figures: list[SecondFigures] = shown("What other sources say of it.", optional=True)
    others: Callable[[], list[Alternative]]
    """Finds the crops to sow instead, which takes a look at every crop."""
    remark: Message | str | None = shown("What else the table says of the crop.", optional=True)
    note: tuple[Message, ...] = shown()
    provenance: str = how_known()
    sources: list[str] = source_keys()

    @cached_property
    @shows("Up to three tolerant crops to sow instead, the nearest first.", optional=True)
    def alternatives(self) -> list[Alternative]:
        """Crops to sow instead."""
        return self.others()


def show_crops(assessment: Assessment, sample: int, notes: Notes) -> list[CropAnswer] | None:
    """Return how well each planting of a sample tolerates it, or None without a crop or an EC."""
    rows = assessment.plantings_of(sample)
    if not rows:
        notes.missing("crops", "/crops")
        return None
    if math.isnan(assessment.salinity.ec_25c[sample]):
        notes.miss("crops", ["/medium/ec"], say("missing.crop_limit"))
        return None
    others = later(lambda: _alternatives(assessment, rows))
    return [
        _show(assessment, row, partial(_of_row, others, row), f"crops/{place}/verdict", notes)
        for place, row in enumerate(rows)
    ]


def _of_row(others: Callable[[], dict[int, list[Alternative]]], row: int) -> list[Alternative]:
    return others().get(row, [])


def _alternatives(assessment: Assessment, rows: list[int]) -> dict[int, list[Alternative]]:
    """Return crops that stand the medium in place of each planting that does not."""
    verdict = assessment.crops.verdicts.verdict
    sown = assessment.batch.plantings.stage != STAGES.index("established")
    governing = assessment.crops.verdicts.governing
    replaced = [
        row
        for row in rows
        if sown[row] and verdict[row] > Verdict.CAUTION and int(governing[row]) not in OF_FEEDING
    ]
    if not replaced:
        return {}
    plantings, catalogue = assessment.batch.plantings, assessment.catalogue
    crops = [int(plantings.crop[row]) for row in replaced]
    codes = np.array(
        sorted({code for crop in crops for code in to_sow_instead(catalogue, crop).tolist()}),
        dtype=np.intp,
    )
    zone = RootZone(
        **{name: np.asarray(part)[replaced] for name, part in vars(assessment.crops.zone).items()}
    )
    ranking = rank_crops(
        assessment, plantings.sample[replaced], plantings.stage[replaced], codes, zone
    )
    column = {code: place for place, code in enumerate(codes.tolist())}
    return {
        row: [
            Alternative(
                crop=catalogue[other].id,
                name=catalogue[other].name,
                verdict=VERDICTS[Verdict(int(ranking.verdicts.verdict[place, column[other]]))],
                max_tolerated_ec=float(ranking.max_tolerated_ec[place, column[other]]),
            )
            for other in alternatives(ranking, place, crop, catalogue)
        ]
        for place, (row, crop) in enumerate(zip(replaced, crops, strict=True))
    }


def _show(
    assessment: Assessment,
    row: int,
    others: Callable[[], list[Alternative]],
    path: str,
    notes: Notes,
) -> CropAnswer:
    result, plantings = assessment.crops, assessment.batch.plantings
    crop, stage = assessment.crop_of(row), STAGES[plantings.stage[row]]
    zone = row_of(result.zone, row)
    limits = limits_held(result, crop, stage, row, notes)
    _find(assessment, crop, stage, row, path, notes)
    extract = row_of(assessment.salinity.saturated_extract, int(plantings.sample[row]))
    if math.isinf(zone.ec_high):
        extract = extract._replace(high=math.inf)
    return CropAnswer(
        **standing_of(crop, result.verdicts, row, float(result.max_tolerated_ec[row])),
        stage=stage,
        local=crop.local or None,
        rating=crop.rating or None,
        threshold=crop.threshold,
        slope=crop.slope,
        ec_saturated_extract=extract,
        limits=limits,
        stage_ranges=_stage_ranges(zone, result.zone_method[row], stage, notes),
        flush_down_to=_flush_down_to(result, row, extract.value),
        second_figures=[
            from_row(
                SecondFigures,
                figures,
                rating=figures.rating or None,
                relative_yield=float(relative_yield(zone.ec, figures.threshold, figures.slope)),
                note=note_of("crop_second_figures", figures),
                **notes.rest_on(figures),
            )
            for figures in crop.second_figures
        ],
        others=others,
        remark=crop.note or note_of("crops", crop) or None,
        note=tuple(_note(assessment, crop, stage, row, limits)),
        provenance=crop.provenance,
        sources=notes.cite(*crop.source_keys),
    )


def _stage_ranges(zone: Any, code: int, stage: str, notes: Notes) -> list[StageRange]:
    """Return published ranges on the limit's method that say other than that limit, each once."""
    if math.isnan(zone.suits):
        return []
    unlike: dict[tuple[float, float], StageLimit] = {}
    for limit in _ranges_of_age(extraction_methods()[code].id, stage):
        if limit.ec_high != zone.suits:
            unlike.setdefault((limit.ec_low, limit.ec_high), limit)
    return [
        stage_limit_row(
            StageRange,
            limit,
            within=limit.ec_low <= zone.reading <= limit.ec_high,
            sources=notes.cite(limit.source),
        )
        for limit in unlike.values()
    ]


@cache
def _ranges_of_age(method: str, stage: str) -> tuple[StageLimit, ...]:
    """Return the published ranges of a method for plants of an age."""
    return tuple(
        limit
        for limit in stage_limits()
        if limit.extraction == method and limit.kind == "suits" and limit.stage in _AGES[stage]
    )


_is_close = partial(math.isclose, rel_tol=1e-5, abs_tol=1e-8)


def _flush_down_to(result: CropsResult, row: int, ec: float) -> FlushDownTo | None:
    ecs, readings = result.ec_at_yields[row].tolist(), result.readings_at_yields[row].tolist()
    if any(map(math.isnan, ecs)):
        return None
    same = all(map(_is_close, readings, ecs))
    return FlushDownTo(
        at_yield=Series(YIELDS, "%"),
        saturated_extract=Series(ecs, "dS/m"),
        reading=None if same else Series(readings, "dS/m"),
        reached=[bool(ec <= each) for each in ecs],
    )


def _note(
    assessment: Assessment, crop: Crop, stage: str, row: int, limits: list[CropLimit]
) -> Iterator[Message]:
    result = assessment.crops
    highest, sample = float(result.max_tolerated_ec[row]), assessment.batch.plantings.sample[row]
    ec = float(assessment.salinity.saturated_extract.value[sample])
    floor = bool(assessment.ec_is_lower_bound[sample])
    governing = next((limit for limit in limits if limit.governs), None)
    if result.thrives[row]:
        yield say("crops.thrives")
        return
    if crop.unknown and not math.isnan(highest) and not math.isnan(ec):
        kept = "open" if floor and ec <= highest else "above" if ec > highest else "within"
        light = bool(np.asarray(result.limits.light_feeder)[row])
        grown = stage == STAGES[Stage.ESTABLISHED] and not light
        which = "judged_as_established" if grown else "no_tolerance_published"
        yield say(f"crops.{which}_{kept}", highest=highest)
    elif crop.unknown:
        yield say("crops.no_tolerance_published")
    if governing:
        yield from governing.in_words
        if governing.code == Verdict.CAUTION and governing.id == LIMITS[Limit.CONTAINER]:
            yield say("crops.between")
        elif len({limit.code for limit in limits} - {Verdict.CANNOT_TELL}) > 1:
            yield say("crops.strictest_governs")
    elif not floor and not crop.unknown:
        yield say("crops.no_limit_to_hold")
    if floor:
        yield say("crops.floor_above" if ec > highest else "crops.floor_below", ec=ec)
    if not math.isnan(highest) and not crop.unknown:
        yield say(f"crops.max_tolerated_ec_{stage}", highest=highest)
    if crop.woody and crop.group == "fruit":
        yield say("crops.rootstocks")


def _find(
    assessment: Assessment, crop: Crop, stage: str, row: int, path: str, notes: Notes
) -> None:
    """Say where a crop fails, where its verdict is open, and where the water burns its leaves."""
    verdicts = assessment.crops.verdicts
    if verdicts.verdict[row] == Verdict.FAILS:
        notes.find("crop_fails", "stop", path, crop=crop.name, stage=say(f"stage.{stage}"))
    elif verdicts.best[row] != verdicts.worst[row] and not assessment.crops.thrives[row]:
        sharper = _sharper(assessment, row)
        old = say(f"stage.{stage}")
        notes.find(
            "crop_verdict_uncertain", "note", path, crop=crop.name, stage=old, sharper=sharper
        )
    _find_lower_in_substrate(assessment, crop, row, path, notes)
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


def _find_lower_in_substrate(
    assessment: Assessment, crop: Crop, row: int, path: str, notes: Notes
) -> None:
    """Say where a fed crop passes by limits of soil what trials in substrate found to cost yield.

    Growers often hold a higher EC on purpose, so that it is a caution and no limit.
    """
    trials, batch = crop.substrate, assessment.batch
    sample = int(batch.plantings.sample[row])
    if (
        trials is None
        or STAGES[batch.plantings.stage[row]] != "established"
        or assessment.mineral_soil[sample]
        or not is_fed_with_water(batch)[sample]
        or assessment.crops.verdicts.verdict[row] > Verdict.CAUTION
    ):
        return
    pore = float(assessment.salinity.pore_water.value[sample])
    if not pore > trials.threshold_high:
        return
    notes.rest_on(trials)
    ends = {"low": trials.threshold_low, "high": trials.threshold_high}
    found = say("crops.substrate_on_average", **ends)
    if not math.isnan(trials.slope_low):
        found = say(
            "crops.substrate_of_three",
            least=trials.slope_low * (pore - trials.threshold_high),
            most=trials.slope_high * (pore - trials.threshold_low),
            **ends,
        )
    notes.find("substrate_trials_lower", "caution", path, crop=crop.name, ec=pore, found=found)


def _sharper(assessment: Assessment, row: int) -> Message:
    """Say how to tell a verdict that is open."""
    sample = assessment.batch.plantings.sample[row]
    if assessment.ec_is_lower_bound[sample]:
        return say("crops.measure_ec")
    method = extraction_methods()[assessment.batch.samples.extraction[sample]].id
    if method in {EXTRACT, "saturated_paste"}:
        return say("crops.sow_a_few")
    return say("crops.extract_tells_best")
