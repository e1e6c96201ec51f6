"""How bad it is for the crop that it harms most."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.defaults import rows_filled
from saltcalc.case.vocabulary import STAGES
from saltcalc.data.extraction import PORE_WATER
from saltcalc.data.nutrients import NUTRIENTS
from saltcalc.message import Message, say
from saltcalc.parts.causes.next_measurement import SALTS
from saltcalc.parts.crops.show import CropAnswer
from saltcalc.parts.shown import Amount
from saltcalc.parts.summary.rows import (
    LIMIT_OF,
    MEASURE_OF,
    WorstCrop,
)
from saltcalc.science.crop_limits import SCATTER, Stage, Verdict

if TYPE_CHECKING:
    from saltcalc.parts.answer import Answer
    from saltcalc.parts.assessment import Assessment


def worst_crop(
    answer: Answer, crops: list[CropAnswer], cause: str | None, *, in_doubt: bool
) -> WorstCrop | None:
    """Say how bad it is for the crop that stalls, in the unit of the cause.

    An EC in doubt says of no crop that it is well.
    """
    assessment, sample = answer.assessment, answer.sample
    rows = assessment.plantings_of(sample)
    stalled = int(assessment.causes.stalled[sample])
    if stalled not in rows or not crops:
        return None
    stalled = _harmed_most(answer, crops, cause, stalled)
    crop = crops[rows.index(stalled)]
    measure, basis, found, allowed, known = _held(answer, crop, cause)
    if math.isnan(found.value) or not allowed.value > 0:
        return None
    times = found.value / allowed.value
    told = {
        "what": say(f"measure.{measure}"),
        "where": say("summary.in_the_pores") if basis == PORE_WATER else "",
        "crop": crop.name,
        "stage": stage_of(assessment, stalled),
        "found": found.value,
        "limit": allowed.value,
        "times": times,
        "unit": "" if found.unit == "1" else f" {found.unit}",
    }
    if measure != "ec":
        short = measure == "nitrate_n" or cause == "ph_too_low"
        sentence = say(f"summary.{'short_of' if short else 'over'}_limit_of_cause", **told)
    elif assessment.ec_is_lower_bound[sample]:
        if times <= 1:
            return None
        sentence = say("summary.above_limit_at_least", **told)
    elif in_doubt and times <= 1:
        return None
    else:
        which = "within" if times <= 1 else "just_above" if times < SCATTER else "above"
        sentence = (
            say(f"summary.{which}_limit_of_{_kind_of(assessment, stalled)}", **told)
            if assessment.crop_of(stalled).unknown
            else say(f"summary.{which}_limit", **told)
        )
    return WorstCrop(
        crop=crop.crop,
        stage=crop.stage,
        verdict=crop.verdict,
        measure=measure,
        found=found,
        allowed=allowed,
        provenance=known,
        sentence=sentence,
    )


def _harmed_most(answer: Answer, crops: list[CropAnswer], cause: str | None, stalled: int) -> int:
    """Return the planting whose own limit of a cause is exceeded most, or the one that stalls."""
    rows, thrives = answer.assessment.plantings_of(answer.sample), answer.assessment.crops.thrives
    over = {
        (limit.found.value / limit.allowed.value, crop.crop, row)
        for row, crop in zip(rows, crops, strict=True)
        for limit in crop.limits
        if limit.id == LIMIT_OF.get(cause or "") and limit.code > Verdict.TOLERATES
        if not thrives[row]
    }
    return max(over)[-1] if over else stalled


def _kind_of(assessment: Assessment, planting: int) -> str:
    """Return by which plants a crop is judged whose own tolerance is not published."""
    grown = assessment.batch.plantings.stage[planting] == Stage.ESTABLISHED
    light = bool(np.asarray(assessment.crop_limits.light_feeder)[planting])
    return "established" if grown and not light else "sensitive"


def _held(
    answer: Answer, crop: CropAnswer, cause: str | None
) -> tuple[str, str, Amount, Amount, str]:
    """Return what a cause is measured by, its basis, what was found, the limit, and how known."""
    limit = next((each for each in crop.limits if each.id == LIMIT_OF.get(cause or "")), None)
    if limit and limit.code > Verdict.TOLERATES:
        return limit.id, limit.basis, limit.found, limit.allowed, limit.provenance
    measure = MEASURE_OF.get(cause or "")
    evidence = next(each for each in answer.weighed if each.cause == (cause or SALTS)).evidence_for
    for each in evidence if measure else ():
        for figure in each.figures:
            if figure.measure == measure:
                found, allowed = figure.figure, figure.limit
                held = _by_range(answer, cause, measure)
                return measure, "", *(held or (found, allowed, each.provenance))
    known = next((each.provenance for each in crop.limits if each.governs), crop.provenance)
    ec, most = float(crop.ec_saturated_extract.value), float(crop.max_tolerated_ec)
    return "ec", "", Amount(ec, "dS/m"), Amount(most, "dS/m"), known


def _by_range(answer: Answer, cause: str | None, measure: str) -> tuple[Amount, Amount, str] | None:
    """Return a nutrient and the end of its range that it lies beyond, as shown, and how known.

    The limit of the rule that speaks loudest lies farther out, and would be a second one.
    """
    nutrients, place = answer.assessment.nutrients, NUTRIENTS.index(measure)
    short = measure == "nitrate_n" or cause == "ph_too_low"
    end = float((nutrients.low if short else nutrients.high)[answer.sample, place])
    found = float(nutrients.judged.value[answer.sample, place])
    if not (found < end if short else found > end):
        return None
    unit = "1" if measure == "ph" else "mg/L"
    known = nutrients.ranges[nutrients.limits[answer.sample, place]].provenance
    return Amount(found, unit), Amount(end, unit), known


def stage_of(assessment: Assessment, planting: int) -> Message:
    """Name the stage of a planting, and that it was not given."""
    stage = say(f"stage.{STAGES[assessment.batch.plantings.stage[planting]]}")
    if rows_filled(assessment.defaults, "stage")[planting]:
        return say("summary.stage_not_given", stage=stage)
    return stage
