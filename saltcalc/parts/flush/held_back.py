"""Where no flush is planned though the medium is above its target."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from saltcalc.data.causes import causes, next_measurements
from saltcalc.science._arrays import Flags
from saltcalc.science.crop_limits import SCATTER
from saltcalc.science.diagnosis import MODERATE, POSSIBLE, SUPPORTED

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

_SALTS = "total_salts"
RINSING_TEST = "cress_three_ways"
"""Measurement that shows what rinsing takes away."""

_ALSO_LEACHED = ("sodic_structure", "nitrite_toxicity")
"""Causes that leaching is part of the cure of, though the rinsing of one sample does not show it.

Sodic structure takes calcium first.
"""

_BROUGHT = {"chloride_toxicity": "chloride", "boron_toxicity": "boron"}
"""Causes that no leaching cures with a water that brings too much of an ion."""

_WORSE_WET = (
    "lack_of_air",
    "damping_off",
    "cold_root_zone",
    "cold_injury",
    *(each for each in causes() if each.endswith("_shortage")),
)
"""Causes that more water makes worse (judgement)."""


def is_leached(cause: str) -> bool:
    """Whether leaching with a good water takes a cause away."""
    rinsing = next_measurements()[RINSING_TEST]
    return rinsing.shows(cause) == rinsing.shows(_SALTS) or cause in _ALSO_LEACHED


def not_cured(assessment: Assessment) -> Flags:
    """Return in which samples causes are supported and a flush cures none of them.

    A flush is left to the medium that is above its salt target as well, unless water makes the
    supported cause worse; and to whoever asks for a target. Where the water itself brings what is
    too much, another water comes first.

    Parameters
    ----------
    assessment : Assessment
        Of the batch.
    """
    verdict = np.asarray(assessment.causes.findings.diagnosis.verdict)
    place = {cause: at for at, cause in enumerate(causes())}
    supported = {cause: verdict[:, at] >= SUPPORTED for cause, at in place.items()}
    brought = {cause: _brought(assessment, ion) for cause, ion in _BROUGHT.items()}
    none = np.zeros(assessment.batch.samples.count, dtype=bool)
    cured, worse, fed = none.copy(), none.copy(), none.copy()
    for cause, held in supported.items():
        by_water = brought.get(cause, none)
        fed |= held & by_water
        if is_leached(cause):
            cured |= held & ~by_water
        worse |= held & (by_water if cause in brought else cause in _WORSE_WET)
    other = np.any(list(supported.values()), axis=0) & ~cured
    salty = verdict[:, place[_SALTS]] >= POSSIBLE
    asked = ~np.isnan(assessment.given.samples.target_ec)
    return np.asarray((fed | (other & ~(salty & ~worse))) & ~asked)


def just_above(assessment: Assessment) -> Flags:
    """Return in which containers the medium is above its target by less than samples scatter.

    There nothing but that reading speaks for salts, so that a flush would wash out feed for what
    may be the sample. Whoever asks for a target has it.

    Parameters
    ----------
    assessment : Assessment
        Of the batch.
    """
    case, salts = assessment.flush_case, list(causes()).index(_SALTS)
    diagnosis = assessment.causes.findings.diagnosis
    shown = diagnosis.evidence_for[:, salts, MODERATE:].any(axis=1)
    asked = ~np.isnan(assessment.given.samples.target_ec)
    near = np.asarray(case.flush.ec_medium) <= SCATTER * case.target_pore_water
    return np.asarray(case.needed & near & ~(shown | asked)[case.owner])


def _brought(assessment: Assessment, ion: str) -> Flags:
    """Return in which samples the water brings more of an ion than a crop tolerates."""
    excess = getattr(assessment.ions_excess, ion)
    plantings = assessment.batch.plantings.sample
    found = np.zeros(assessment.batch.samples.count, dtype=bool)
    np.logical_or.at(found, plantings, np.asarray(excess.above & excess.water_exceeds))
    return found
