"""Whether anything may be poured by the figures of a sample, or what is to be settled first.

Every teller of litres goes by it: the summary, the plans, a flush under way, a row of many.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from saltcalc.parts.causes.next_measurement import SALTS
from saltcalc.parts.causes.show import CAUSES
from saltcalc.parts.doubts import beyond_any_medium, contradicted, ec_is_open
from saltcalc.parts.flush.ion_aim import NO_ION
from saltcalc.parts.plantings import NO_CROP, another_thrives
from saltcalc.science._arrays import Flags
from saltcalc.science.diagnosis import POSSIBLE, SUPPORTED

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

REPORT, SALT = "report_in_doubt", "salt_not_shown"
HELD_BACK = (REPORT, SALT)
"""Why nothing is to be poured yet, the gravest first."""

_OF_THE_EC = frozenset({"reading", "extraction", "all_ions"})
"""Kinds of slips that leave the EC itself open."""


class Acting(NamedTuple):
    """What is to be settled before anything is poured, one row a sample.

    Attributes
    ----------
    report : (n,) ndarray of bool
        Where the report contradicts itself so that the EC is open, or its EC can hardly be.
    salt : (n,) ndarray of bool
        Where no cause is supported, the figures do not show that salt is the problem, and nobody
        asked for a target.
    """

    report: Flags
    salt: Flags

    def held_back(self, sample: int) -> str | None:
        """Return what is to be settled first in a sample, or None."""
        return REPORT if self.report[sample] else SALT if self.salt[sample] else None


def assess_acting(assessment: Assessment) -> Acting:
    """Find what is to be settled before anything is poured."""
    report: Flags = ec_is_open(assessment).copy()
    for sample in np.flatnonzero(contradicted(assessment)).tolist():
        trials = assessment.slips_of_medium(sample)
        if closing := list(trials.closing(0)[:1]):
            report[sample] = trials.slips[closing[0]].kind in _OF_THE_EC
    report |= beyond_any_medium(assessment)
    supported = assessment.causes.findings.diagnosis.verdict == SUPPORTED
    asked = ~np.isnan(assessment.given.samples.target_ec)
    led = assessment.ion_aims.ion != NO_ION
    salt = ~is_of_salt(assessment) & ~led & ~supported.any(axis=1) & ~asked
    return Acting(report, salt)


def is_of_salt(assessment: Assessment) -> Flags:
    """Tell where something is done for the salt.

    Nothing where another cause is supported and salt is not, nor where all that is known of the
    plants is that a crop thrives.
    """
    verdict = assessment.causes.findings.diagnosis.verdict
    salts = verdict[:, CAUSES.index(SALTS)]
    none_else = ~(verdict == SUPPORTED).any(axis=1) & ~_all_is_well(assessment)
    return np.asarray((salts == SUPPORTED) | ((salts >= POSSIBLE) & none_else))


def _all_is_well(assessment: Assessment) -> Flags:
    """Where a crop was seen to thrive, and neither a crop nor a sign speaks of harm."""
    causes, seen = assessment.causes, assessment.batch.samples.observations
    harm = np.delete(seen, another_thrives(), axis=1).any(axis=1)
    return np.asarray((causes.thriving != NO_CROP) & (causes.stalled == NO_CROP) & ~harm)
