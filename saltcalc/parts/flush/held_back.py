"""Where no flush is planned though the medium is above its target."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.data.causes import causes, next_measurements
from saltcalc.parts.causes.first_of_all import AIRLESS, DISEASE
from saltcalc.parts.causes.next_measurement import SALTS
from saltcalc.science._arrays import Flags
from saltcalc.science.crop_limits import SCATTER
from saltcalc.science.diagnosis import MODERATE, POSSIBLE, SUPPORTED

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

RINSING_TEST = "cress_three_ways"
"""Measurement that shows what rinsing takes away."""

_ALSO_LEACHED = ("sodic_structure", "nitrite_toxicity")
"""Causes that leaching is part of the cure of, though the rinsing of one sample does not show it.

Sodic structure takes calcium first.
"""

_BROUGHT = {"chloride_toxicity": "chloride", "boron_toxicity": "boron"}
"""Causes that no leaching cures with a water that brings too much of an ion."""

_WORSE_WET = (
    AIRLESS,
    DISEASE,
    "cold_root_zone",
    "cold_injury",
    *(each for each in causes() if each.endswith("_shortage")),
)
"""Causes that more water makes worse (judgement)."""


def is_leached(cause: str) -> bool:
    """Whether leaching with a good water takes a cause away."""
    rinsing = next_measurements()[RINSING_TEST]
    return rinsing.shows(cause) == rinsing.shows(SALTS) or cause in _ALSO_LEACHED


def not_cured(assessment: Assessment) -> Flags:
    """Return in which samples causes are supported and a flush cures none of them.

    A flush is left to the medium that is above its salt target as well, unless water makes the
    supported cause worse, or that cause is dealt with first; and to whoever asks for a target.
    Where the water itself brings what is too much, another water comes first.

    Parameters
    ----------
    assessment : Assessment
        Of the batch.
    """
    verdict, places = assessment.causes.findings.diagnosis.verdict, list(causes())
    supported: Flags = verdict >= SUPPORTED
    brought = np.zeros(supported.shape, dtype=bool)
    for cause, ion in _BROUGHT.items():
        # A flush for an ion that this water brings is planned with another one.
        brought[:, places.index(cause)] = (
            _brought(assessment, ion) & ~assessment.ion_aims.other_water
        )
    leached, worse_wet = _by_leaching()
    fed = (supported & brought).any(axis=1)
    cured = (supported & leached & ~brought).any(axis=1)
    worse = (supported & (brought | worse_wet)).any(axis=1)
    other = supported.any(axis=1) & ~cured
    salty = verdict[:, places.index(SALTS)] >= POSSIBLE
    asked = ~np.isnan(assessment.given.samples.target_ec)
    before = assessment.causes.findings.before_water.any(axis=1)
    return np.asarray((fed | before | (other & ~(salty & ~worse))) & ~asked)


@cache
def _by_leaching() -> tuple[Flags, Flags]:
    """Return which causes leaching takes away, and which more water makes worse."""
    leached = np.array([is_leached(cause) for cause in causes()])
    return leached, np.array([cause in _WORSE_WET for cause in causes()])


def just_above(assessment: Assessment) -> Flags:
    """Return in which containers the medium is above its target by less than samples scatter.

    There nothing but that reading speaks for salts, so that a flush would wash out feed for what
    may be the sample. Whoever asks for a target has it.

    Parameters
    ----------
    assessment : Assessment
        Of the batch.
    """
    case, salts = assessment.flush_case, list(causes()).index(SALTS)
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
