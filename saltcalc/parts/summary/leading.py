"""What is first in line in each sample: which cause, how sure, and whether all is well."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.implausible import impossible_ph
from saltcalc.data.causes import causes, next_measurements
from saltcalc.parts.by_method import cause_is_open
from saltcalc.parts.causes.next_measurement import FIRST_READING, NONE_LEFT, SALTS
from saltcalc.parts.choices import EC_CLASSES
from saltcalc.parts.contrast import contrast_of
from saltcalc.parts.doubts import in_doubt
from saltcalc.parts.plantings import NO_CROP
from saltcalc.parts.salinity import classes_by_name
from saltcalc.parts.summary.of_water import water_is_too_much
from saltcalc.science._arrays import Codes, Flags, flagged
from saltcalc.science.crop_limits import Verdict
from saltcalc.science.diagnosis import CANNOT_TELL, POSSIBLE, SUPPORTED, UNLIKELY
from saltcalc.science.nutrients import NutrientStatus

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

NO_CAUSE = -1
"""Stands for no cause that stands out."""

SHORT_OF_FEED = "very_low"
"""Class of readings that may not feed plants."""

_SALTS = list(causes()).index(SALTS)
_READING = list(next_measurements()).index(FIRST_READING)
_LOW, _HIGH = int(NutrientStatus.LOW), int(NutrientStatus.HIGH)


@dataclass(frozen=True)
class Leading:
    """What is first in line, one row a sample.

    Attributes
    ----------
    sound : (n,) ndarray of bool
        Where no figure is in doubt, and no method that is not given decides.
    in_range : (n,) ndarray of bool
        Where, besides, every figure is measured and in range, nothing stands out and no crop
        suffers.
    healthy : (n,) ndarray of bool
        Where no sign of harm was seen besides, and the water is no more than a crop tolerates.
    salt_verdict : (n,) ndarray of int
        On total salts; figures in doubt do not say that salt is not the problem.
    first : (n, causes) ndarray of bool
        The causes that stand out and that none is before.
    hinted : (n, causes) ndarray of bool
        The causes that something speaks for and that stay undetermined.
    cause : (n,) ndarray of int
        The cause that is told first, or `NO_CAUSE`.
    method_decides : (n,) ndarray of bool
        Where the method, which is not given, decides on that cause, or on salts where none is told.
    verdict : (n,) ndarray of int
        How sure that cause is, or how sure it is that salt is none.
    next_check : (n,) ndarray of int
        What to check next, a place in the table of measurements, or `NONE_LEFT`.
    """

    sound: Flags
    in_range: Flags
    healthy: Flags
    salt_verdict: Codes
    first: Flags
    hinted: Flags
    cause: Codes
    method_decides: Flags
    verdict: Codes
    next_check: Codes


def assess_leading(assessment: Assessment) -> Leading:
    """Find what is first in line in each sample."""
    findings = assessment.causes.findings
    verdict, sample = findings.diagnosis.verdict, np.arange(assessment.batch.samples.count)
    sound = ~(in_doubt(assessment) | assessment.methods.decide)
    in_range = sound & ~impossible_ph(assessment.given) & _is_in_range(assessment)
    healthy = in_range & ~assessment.given.samples.observations.any(axis=1)
    healthy &= ~water_is_too_much(assessment)
    salt = verdict[:, _SALTS]
    salt_verdict = np.where(sound | (salt != UNLIKELY), salt, CANNOT_TELL)
    hinted: Flags = (verdict == CANNOT_TELL) & findings.diagnosis.evidence_for.any(axis=2)
    first: Flags = (findings.diagnosis.rank == 1) & (verdict >= POSSIBLE)
    stands_out = first.any(axis=1)
    told = np.where(first[:, _SALTS], _SALTS, first.argmax(axis=1))
    open_ = hinted.any(axis=1) & ~healthy
    sure = np.where(stands_out, verdict[sample, told], np.where(open_, CANNOT_TELL, salt_verdict))
    nothing = ~(stands_out | in_range | open_)
    asked = np.where(stands_out, told, _SALTS)
    decides = cause_is_open(assessment, asked) & np.where(
        asked == _SALTS, nothing | stands_out, sure == SUPPORTED
    )
    check = findings.next_measurement
    read_again = assessment.methods.decide | assessment.medium_ions.ec_in_doubt
    check = np.where(read_again & (check == NONE_LEFT), _READING, check)
    return Leading(
        sound=sound,
        in_range=in_range,
        healthy=healthy,
        salt_verdict=salt_verdict,
        first=first,
        hinted=hinted,
        cause=np.where(stands_out, told, NO_CAUSE),
        method_decides=decides,
        verdict=np.where(decides, np.where(stands_out, POSSIBLE, CANNOT_TELL), sure),
        next_check=np.where(healthy, NONE_LEFT, check),
    )


def _is_in_range(assessment: Assessment) -> Flags:
    """Where every figure is measured and in range, nothing stands out and no crop suffers."""
    salinity, nutrients, causes_ = assessment.salinity, assessment.nutrients, assessment.causes
    known = ~np.isnan(salinity.ec_25c)
    found = salinity.reading_class()
    class_ = classes_by_name()[found.method, found.code]
    fed = (class_ != EC_CLASSES.index(SHORT_OF_FEED)) | assessment.little_feed_will_do
    out = (nutrients.status == _LOW) | (nutrients.status == _HIGH)
    out &= ~np.isnan(nutrients.value)
    contrast = contrast_of(assessment, causes_.stalled, causes_.thriving)
    plantings = assessment.batch.plantings.sample
    planted = flagged(known.size, plantings)
    verdict = assessment.crops.verdicts.verdict
    against = flagged(known.size, plantings[verdict > Verdict.TOLERATES])
    suits: Flags = salinity.saturated_extract.value <= contrast.least_limit
    suits |= planted & (causes_.stalled == NO_CROP)
    quiet = ~(causes_.findings.diagnosis.verdict >= POSSIBLE).any(axis=1)
    well: Flags = (
        known & ~assessment.ec_is_lower_bound & fed & ~out.any(axis=1) & quiet & suits & ~against
    )
    return well
