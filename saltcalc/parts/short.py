"""The answer to one sample of many, in a row of figures and ids."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from saltcalc.case.batch import ObjectArray
from saltcalc.case.vocabulary import STAGES
from saltcalc.parts.acting import HELD_BACK, REPORT, SALT
from saltcalc.parts.causes.next_measurement import NONE_LEFT, SALTS
from saltcalc.parts.causes.show import CAUSES, CHECKS
from saltcalc.parts.choices import METHODS
from saltcalc.parts.crops.verdicts import VERDICT_IDS, VERDICTS
from saltcalc.parts.doubts import contradicted
from saltcalc.parts.flush.calcium import WAYS as CALCIUM_WAYS
from saltcalc.parts.flush.calcium import calcium_ways
from saltcalc.parts.plantings import NO_CROP
from saltcalc.parts.retest import FIND_FIRST, show_retest
from saltcalc.parts.shown import Column, part, shown
from saltcalc.parts.summary.leading import NO_CAUSE
from saltcalc.science._arrays import Codes, Flags, flagged, in_shape
from saltcalc.science.crop_limits import Verdict
from saltcalc.science.diagnosis import SUPPORTED, UNLIKELY
from saltcalc.science.diagnosis import VERDICTS as CERTAINTIES
from saltcalc.science.salt_type import NO_SALT_TYPE, SALT_TYPES

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

METHOD_OPEN = "method_not_given"
SEALED, OTHERS = "sealed", "others"


@part
class Short:
    """What matters first, a row a sample; an end of an interval that is open or not known is empty.

    Each member is a column: figures, or ids with None where there is none.
    """

    verdict: Column = shown("How sure the first cause is.", choices=CERTAINTIES)
    first_cause: Column = shown("Empty where nothing stands out.", choices=CAUSES)
    salt_type: Column = shown("Where salt may be the cause.", choices=SALT_TYPES)
    ec_saturated_extract: Column = shown("What the saturated extract would read.", "dS/m")
    ec_low: Column = shown("Of the same; by any usual method where none is given.", "dS/m")
    ec_high: Column = shown("Of the same.", "dS/m")
    method_assumed: Column = shown(
        "Extraction method that the reading is taken to be by, where none is given: ask for it.",
        choices=METHODS,
    )
    crop: Column = shown("The one that stalls, or the most sensitive.")
    stage: Column = shown("Of that crop.", choices=STAGES)
    crop_verdict: Column = shown("On that crop.", choices=VERDICT_IDS)
    limit: Column = shown("Saturated extract that it tolerates at that stage.", "dS/m")
    held_back: Column = shown(
        "What is to be settled before anything is poured: no litres are told until then.",
        choices=(*HELD_BACK, METHOD_OPEN),
    )
    container: Column = shown(
        "The one that the row tells of, the first that is flushed or dealt with in another way: "
        "its name, or its number where it has none."
    )
    other_containers: Column = shown(
        "What the row does not tell of: a container that cannot drain, or else others.",
        choices=(SEALED, OTHERS),
    )
    water_per_container: Column = shown(
        "To pour through that container, where a flush comes first.", "L"
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
    extract, told = assessment.ec_by_any_method, _first_container(assessment)
    row = _first_flush(assessment, told)
    ways, flushed = assessment.ways, row >= 0
    methods = assessment.batch.samples.extraction
    verdicts = [VERDICTS[Verdict(each)] for each in crops.verdicts.verdict.tolist()]
    return Short(
        verdict=_ids(CERTAINTIES, leading.verdict),
        first_cause=_ids(CAUSES, leading.cause, leading.cause != NO_CAUSE),
        salt_type=_ids(SALT_TYPES, ions, salty & (ions != NO_SALT_TYPE)),
        ec_saturated_extract=extract.value,
        ec_low=extract.low,
        ec_high=np.where(assessment.ec_is_lower_bound, np.nan, extract.high),
        method_assumed=_ids(METHODS, methods, assessment.methods.open),
        crop=_of(assessment.crop_ids, planting, named),
        stage=_of(assessment.stage_names, planting, named),
        crop_verdict=_of(verdicts, planting, named),
        limit=_of(crops.max_tolerated_ec, planting, named, np.nan),
        held_back=_held_back(assessment),
        container=_of(_names(assessment), told, told >= 0),
        other_containers=_others(assessment),
        water_per_container=_of(ways.litres, row, flushed, np.nan),
        calcium_by=np.where(flushed, calcium_ways(assessment), None),
        check_reading=_of(ways.reading, row, flushed, np.nan),
        next_check=_ids(CHECKS, leading.next_check, leading.next_check != NONE_LEFT),
    )


def _held_back(assessment: Assessment) -> ObjectArray:
    """Return what is to be settled in each sample before anything is poured."""
    acting = assessment.acting
    owners = assessment.batch.containers.sample[assessment.flush_plan.planned]
    planned = flagged(assessment.batch.samples.count, owners)
    held: ObjectArray = np.full(planned.size, None, dtype=object)
    held[acting.salt & planned] = SALT
    held[assessment.methods.decide] = METHOD_OPEN
    held[acting.report] = REPORT
    return held


def _names(assessment: Assessment) -> list[str]:
    """Return what each container is called, by its number within its sample if by no name."""
    containers = assessment.batch.containers
    numbers: Counter[int] = Counter()
    names = []
    for sample, name in zip(containers.sample.tolist(), containers.name, strict=True):
        numbers[sample] += 1
        names.append(name if isinstance(name, str) and name else str(numbers[sample]))
    return names


def _others(assessment: Assessment) -> ObjectArray:
    """Tell which samples have containers that cannot drain, or others than the one told of."""
    containers, count = assessment.batch.containers, assessment.batch.samples.count
    found: ObjectArray = np.full(count, None, dtype=object)
    found[np.bincount(containers.sample, minlength=count) > 1] = OTHERS
    found[containers.sample[assessment.flush_case.sealed]] = SEALED
    return found


def _first_container(assessment: Assessment) -> Codes:
    """Return the first container of each sample that something is done with, or -1."""
    ways = assessment.ways
    rows = np.flatnonzero(ways.flush | ways.other)
    owners, places = np.unique(assessment.batch.containers.sample[rows], return_index=True)
    first = np.full(assessment.batch.samples.count, -1)
    first[owners] = rows[places]
    return first


def _first_flush(assessment: Assessment, told: Codes) -> Codes:
    """Return that container of each sample where a flush comes first, or -1."""
    ways = assessment.ways
    first = np.where((told >= 0) & np.append(ways.flush, False)[told], told, -1)
    first[assessment.acting.report | assessment.methods.decide] = -1
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
