"""Which crops stand a medium: the whole catalogue, from the best to the worst."""

from __future__ import annotations

import math
from collections import Counter

import numpy as np

from saltcalc.answer.assessment import Readings
from saltcalc.answer.crop_limits import VERDICTS
from saltcalc.answer.crops import verdict_members
from saltcalc.answer.quantities import EC_UNIT, INTERVALS, Json, quantity
from saltcalc.case.vocabulary import STAGES
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.assumptions import (
    OF_IONS,
    OF_MEDIUM,
    OF_PLANTINGS,
    state_defaults,
    state_readings,
)
from saltcalc.parts.crop_ranking import CropRanking, rank_crops
from saltcalc.parts.crops import root_zone
from saltcalc.parts.notes import Notes
from saltcalc.science.tolerance import Verdict


def answer_crop_ranking(
    assessment: Assessment, readings: Readings, stage: str, group: str = "", rating: str = ""
) -> Json:
    """Rank the crops of the catalogue in the medium of a one-sample assessment.

    Parameters
    ----------
    assessment : Assessment
        Of one sample.
    readings : list of (str, str)
        Of its request.
    stage : str
        Age of the crops.
    group, rating : str, optional
        Only crops of this group or rating.
    """
    notes = assessment.notes()
    state_readings(readings, notes)
    state_defaults(assessment, 0, OF_MEDIUM | OF_IONS | OF_PLANTINGS, notes)
    sample, stages = np.array([0]), np.array([STAGES.index(stage)])
    extract = assessment.salinity.saturated_extract
    answer: Json = {
        "stage": stage,
        "ec_saturated_extract": quantity(
            float(extract.value[0]),
            EC_UNIT,
            float(extract.low[0]),
            math.inf if assessment.ec_is_floor[0] else float(extract.high[0]),
        ),
        "counts": None,
        "ranking": None,
        "intervals": INTERVALS,
    }
    if np.isnan(extract.value[0]):
        notes.miss("ranking", ["/medium/ec"], "A crop's limit is held against the EC.")
        return answer | notes.closing()
    zone, _ = root_zone(
        assessment.batch,
        assessment.salinity,
        assessment.medium_sodicity,
        assessment.ec_is_floor,
        sample,
        stages,
    )
    ranking = rank_crops(zone, assessment.salinity, sample, stages, assessment.catalogue)
    rows = [
        _line(assessment, ranking, int(code), notes)
        for code in ranking.order[0]
        if (not group or assessment.catalogue[code].group == group)
        and (not rating or assessment.catalogue[code].rating == rating)
    ]
    counted = Counter(row["verdict"] for row in rows)
    answer["counts"] = [
        {"verdict": VERDICTS[verdict], "crops": counted[VERDICTS[verdict]]}
        for verdict in (Verdict.STANDS_IT, Verdict.REDUCED, Verdict.FAILS, Verdict.CANNOT_TELL)
    ]
    answer["ranking"] = [{"rank": place} | row for place, row in enumerate(rows, start=1)]
    notes.cite("umass-media", "judgement")
    return answer | notes.closing()


def _line(assessment: Assessment, ranking: CropRanking, code: int, notes: Notes) -> Json:
    crop = assessment.catalogue[code]
    return {
        "crop": crop.id,
        "name": crop.name,
        "group": crop.group,
        "rating": crop.rating or None,
        "local": crop.local,
        **verdict_members(ranking.verdicts, (0, code)),
        "stands_up_to": quantity(float(ranking.stands_up_to[0, code]), EC_UNIT),
        "sources": notes.cite(*crop.source_keys),
    }
