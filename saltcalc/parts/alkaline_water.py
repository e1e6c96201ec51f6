"""A water so alkaline that the pH of a container medium climbs with it, though it is right yet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.data.alkalinity_limits import AlkalinityLimit, alkalinity_limits
from saltcalc.data.causes import causes
from saltcalc.data.nutrients import NUTRIENTS
from saltcalc.science._arrays import Codes, Flags, Floats
from saltcalc.science.alkalinity import PER_MMOLC
from saltcalc.science.diagnosis import POSSIBLE
from saltcalc.science.nutrients import NutrientStatus

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

_TOLD_BY = "ph_too_high"
"""The cause whose remedies tell what to do about alkaline water."""

NO_LIMIT = -1
"""Stands for no limit in arrays of places."""


@dataclass(frozen=True)
class AlkalineWater:
    """The alkalinity of each water against what the containers stand, one row a sample.

    Attributes
    ----------
    found : (n,) ndarray
        [mg/L as CaCO3]
    limit : (n,) ndarray of int
        Which of the limits holds, that of the smallest container, or :data:`NO_LIMIT`.
    too_much : (n,) ndarray of bool
        Where it is above it, the pH is not low, and nothing is told of a pH too high already.
    """

    found: Floats
    limit: Codes
    too_much: Flags

    def limit_of(self, sample: int) -> AlkalinityLimit | None:
        """Return the limit of a sample, if one holds."""
        place = int(self.limit[sample])
        return None if place == NO_LIMIT else alkalinity_limits()[place]


def assess_alkaline_water(assessment: Assessment) -> AlkalineWater:
    """Hold the alkalinity of each water against the usual limit for its containers.

    Mineral soil is held to none: lime and clay hold its pH.
    """
    samples, containers = assessment.batch.samples, assessment.batch.containers
    found = samples.water.ions["bicarbonate"] * PER_MMOLC["mg/L CaCO3"]
    least = np.full(samples.count, np.inf)
    np.minimum.at(least, containers.sample, containers.volume)
    held = np.isfinite(least) & ~assessment.mineral_soil
    ends, most = np.array([(each.volume_up_to, each.most) for each in alkalinity_limits()]).T
    place = np.searchsorted(ends, np.where(held, least, 0.0))
    status = assessment.nutrients.status[:, NUTRIENTS.index("ph")]
    verdict = assessment.causes.findings.diagnosis.verdict[:, list(causes()).index(_TOLD_BY)]
    off = (verdict >= POSSIBLE) | (status == NutrientStatus.LOW)
    return AlkalineWater(
        found=found,
        limit=np.where(held, place, NO_LIMIT),
        too_much=held & ~off & (found > most[place]),
    )
