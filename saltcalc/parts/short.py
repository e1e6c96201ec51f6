"""The answer to one sample of many, in a row of figures and ids."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from saltcalc.case.batch import ObjectArray
from saltcalc.case.vocabulary import STAGES
from saltcalc.parts.causes.next_measurement import NONE_LEFT
from saltcalc.parts.causes.show import CAUSES, CHECKS
from saltcalc.parts.crops.verdicts import VERDICT_IDS, VERDICTS
from saltcalc.parts.doubts import contradicted, ec_is_open
from saltcalc.parts.flush.calcium import WAYS as CALCIUM_WAYS
from saltcalc.parts.flush.calcium import calcium_ways
from saltcalc.parts.plantings import NO_CROP
from saltcalc.parts.retest import FIND_FIRST, show_retest
from saltcalc.parts.shown import Column, part, shown
from saltcalc.parts.summary.actions import SALTS
from saltcalc.parts.summary.leading import NO_CAUSE
from saltcalc.science._arrays import Codes, Flags, in_shape
from saltcalc.science.crop_limits import Verdict
from saltcalc.science.diagnosis import SUPPORTED, UNLIKELY
from saltcalc.science.diagnosis import VERDICTS as CERTAINTIES
from saltcalc.science.salt_type import NO_SALT_TYPE, SALT_TYPES

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment


@part
class Short:
    """What matters first, a row a sample; an end of an interval that is open or not known is empty.

    Each member is a column: figures, or ids with None where there is none.
    """

    verdict: Column = shown("How sure the first cause is.", choices=CERTAINTIES)
    first_cause: Column = shown("Empty where nothing stands out.", choices=CAUSES)
    salt_type: Column = shown("Where salt may be the cause.", choices=SALT_TYPES)
    ec_saturated_extract: Column = shown("What the saturated extract would read.", "dS/m")
    ec_low: Column = shown("Of the same.", "dS/m")
    ec_high: Column = shown("Of the same.", "dS/m")
    crop: Column = shown("The one that stalls, or the most sensitive.")
    stage: Column = shown("Of that crop.", choices=STAGES)
    crop_verdict: Column = shown("On that crop.", choices=VERDICT_IDS)
    limit: Column = shown("Saturated extract that it tolerates at that stage.", "dS/m")
    water_per_container: Column = shown(
        "To pour through the first container, where a flush comes first.", "L"
    )
    calcium_by: Column = shown(
        "How calcium is brought into the medium before that water; empty where it needs none.",
        choices=CALCIUM_WAYS,
    )
    check_reading: Column = shown(
        "Reading of the medium after a rest, by its own method, at or below which that flush is "
        "done.",
        "dS/m",
    )
    next_check: Column = shown("What settles most for its effort.", choices=CHECKS)


def show_short(assessment: Assessment) -> Short:
    """Return the rows of all samples, each member a column."""
    leading, crops, salinity = assessment.leading, assessment.crops, assessment.salinity
    ions, verdict = assessment.medium_ions.salt_type.code, assessment.causes.findings.diagnosis
    salty = verdict.verdict[:, CAUSES.index(SALTS)] != UNLIKELY
    salty &= ~contradicted(assessment)
    planting = np.where(np.isnan(salinity.ec_25c), NO_CROP, assessment.causes.stalled)
    named: Flags = planting != NO_CROP
    extract, row = salinity.saturated_extract, _first_flush(assessment)
    ways, flushed = assessment.ways, row >= 0
    verdicts = [VERDICTS[Verdict(each)] for each in crops.verdicts.verdict.tolist()]
    return Short(
        verdict=_ids(CERTAINTIES, leading.verdict),
        first_cause=_ids(CAUSES, leading.cause, leading.cause != NO_CAUSE),
        salt_type=_ids(SALT_TYPES, ions, salty & (ions != NO_SALT_TYPE)),
        ec_saturated_extract=extract.value,
        ec_low=extract.low,
        ec_high=np.where(assessment.ec_is_lower_bound, np.nan, extract.high),
        crop=_of(assessment.crop_ids, planting, named),
        stage=_of(assessment.stage_names, planting, named),
        crop_verdict=_of(verdicts, planting, named),
        limit=_of(crops.max_tolerated_ec, planting, named, np.nan),
        water_per_container=_of(ways.litres, row, flushed, np.nan),
        calcium_by=np.where(flushed, calcium_ways(assessment), None),
        check_reading=_of(ways.reading, row, flushed, np.nan),
        next_check=_ids(CHECKS, leading.next_check, leading.next_check != NONE_LEFT),
    )


def _first_flush(assessment: Assessment) -> Codes:
    """Return the first container of each sample for which a flush comes first, or -1."""
    ways = assessment.ways
    rows = np.flatnonzero(ways.flush | ways.other)
    owners, places = np.unique(assessment.batch.containers.sample[rows], return_index=True)
    first = np.full(assessment.batch.samples.count, -1)
    first[owners] = np.where(ways.flush[rows[places]], rows[places], -1)
    first[ec_is_open(assessment) | assessment.methods.decide] = -1
    supported = assessment.causes.findings.diagnosis.verdict == SUPPORTED
    for sample in np.flatnonzero(assessment.batch.previous.known).tolist():
        own = assessment.containers_of(sample)
        litres = ways.litres[own][ways.flush[own]].tolist()
        acts = bool(supported[sample].any() or (ways.flush | ways.other)[own].any())
        retest = show_retest(assessment, sample, litres, acts, assessment.notes())
        if retest and retest.next_step == FIND_FIRST:
            first[sample] = -1
    return first


def _ids(ids: Sequence[str], codes: Codes, rows: Flags | bool = True) -> ObjectArray:
    """Return the ids that codes stand for; None in other rows."""
    named: ObjectArray = np.array(ids, dtype=object)[codes]
    named[~in_shape(rows, named.shape)] = None
    return named


def _of(column: Any, places: Codes, rows: Flags, otherwise: Any = None) -> Any:
    """Return the members of a column at places of another table; other rows have none."""
    return np.where(rows, np.append(column, otherwise)[np.where(rows, places, -1)], otherwise)
