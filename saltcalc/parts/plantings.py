"""Which of the crops of a medium is taken to stall in it, and which to thrive."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from saltcalc.data.observations import observations
from saltcalc.parts.crops.limits import grown_figures
from saltcalc.science._arrays import Codes, Flags, Floats, filled

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

NO_CROP = -1
"""Stands for no planting and no crop."""

CLEAR_LEAD = 10.0
"""How much more of its yield [%] an unnamed crop must keep to be taken as the one that thrives."""

MUCH_HARDIER = 1.5
"""Or how many times the threshold of the stalled one it must have (judgement)."""

ANOTHER_THRIVES = "another_crop_thrives"


class ReferencePlantings(NamedTuple):
    """Whose stall is judged, one row a sample.

    Attributes
    ----------
    stalled : ndarray of int
        The planting that tolerates its medium least, or `NO_CROP`.
    thriving : ndarray of int
        Code of the thriving crop that salts would touch first, or `NO_CROP`.
    inferred : ndarray of bool
        Whether it was not named but taken to be the planting that tolerates its medium best.
    """

    stalled: Codes
    thriving: Codes
    inferred: Flags


def of_planting(column: object, planting: Codes) -> Floats:
    """Take a column of plantings to the samples by the planting each is judged by."""
    known = np.asarray(column, dtype=np.float64).reshape(-1)
    values = np.empty(known.size + 1)
    values[:-1], values[NO_CROP] = known, np.nan
    return values[planting]


def reference_plantings(assessment: Assessment) -> ReferencePlantings:
    """Choose the stalled planting and the telling thriving crop of each sample."""
    batch, crops = assessment.batch, assessment.crops
    count, plantings = batch.samples.count, batch.plantings
    verdict = crops.verdicts.verdict.astype(np.int64)
    response = filled(crops.verdicts.response, 100.0)
    hardiness, thrives = filled(crops.max_tolerated_ec, np.inf), crops.thrives
    worst_first = np.lexsort((response, hardiness, -verdict, thrives, plantings.sample))
    stalled = _first_of_sample(worst_first[~thrives[worst_first]], plantings.sample, count)

    threshold = filled(crops.limits.threshold, -1.0)
    best_first = np.lexsort((-threshold, -response, verdict, plantings.sample))
    best = _first_of_sample(best_first, plantings.sample, count)
    seen = batch.thriving
    least = filled(grown_figures(assessment.catalogue)[seen.crop], np.inf)
    least_first = np.lexsort((least, seen.sample))
    named = np.append(seen.crop, NO_CROP)[_first_of_sample(least_first, seen.sample, count)]
    reported = batch.samples.observations[:, another_thrives()]
    crop_of = np.append(plantings.crop, NO_CROP)
    leads = of_planting(response, best) - of_planting(response, stalled) >= CLEAR_LEAD
    leads |= of_planting(threshold, best) >= MUCH_HARDIER * of_planting(threshold, stalled)
    inferred: Flags = reported & (named == NO_CROP) & (crop_of[best] != crop_of[stalled]) & leads
    return ReferencePlantings(stalled, np.where(inferred, crop_of[best], named), inferred)


def _first_of_sample(rows: Codes, sample: Codes, count: int) -> Codes:
    first = np.full(count, NO_CROP)
    backwards = rows[::-1]
    first[sample[backwards]] = backwards  # of several rows of a sample the last one stays
    return first


@cache
def another_thrives() -> int:
    """Return the place of the sign that another crop thrives."""
    return list(observations()).index(ANOTHER_THRIVES)
