"""Which of the crops of a medium is taken to stall in it, and which to thrive."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

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
    # Of crops that fare alike, the figures choose, and at last the id: never the order as sent.
    own, alike = crops.limits.threshold, (plantings.stage, _by_id(assessment.crop_ids))
    keys = (*alike, filled(own, np.inf), response, hardiness, -verdict, thrives, plantings.sample)
    worst_first = np.lexsort(keys)
    stalled = _first_of_sample(worst_first[~thrives[worst_first]], plantings.sample, count)

    threshold = filled(own, -1.0)
    best_first = np.lexsort((*alike, -threshold, -response, verdict, plantings.sample))
    best = _first_of_sample(best_first, plantings.sample, count)
    seen = batch.thriving
    least = filled(grown_figures(assessment.catalogue)[seen.crop], np.inf)
    names = _by_id([assessment.catalogue[int(code)].id for code in seen.crop])
    least_first = np.lexsort((names, least, seen.sample))
    named = np.append(seen.crop, NO_CROP)[_first_of_sample(least_first, seen.sample, count)]
    reported = batch.samples.observations[:, another_thrives()]
    crop_of = np.append(plantings.crop, NO_CROP)
    leads = of_planting(response, best) - of_planting(response, stalled) >= CLEAR_LEAD
    leads |= of_planting(threshold, best) >= MUCH_HARDIER * of_planting(threshold, stalled)
    inferred: Flags = reported & (named == NO_CROP) & (crop_of[best] != crop_of[stalled]) & leads
    return ReferencePlantings(stalled, np.where(inferred, crop_of[best], named), inferred)


def harmed_first(assessment: Assessment, limit: ArrayLike, unknown: float = np.inf) -> Codes:
    """Return the planting of each sample that an ion harms first, of those not seen to thrive.

    Parameters
    ----------
    assessment : Assessment
        Of n samples.
    limit : (m,) array_like
        What each planting tolerates of it.
    unknown : float, optional
        What a planting counts as of which that is not known.

    Returns
    -------
    (n,) ndarray of int
        A planting, or `NO_CROP`.
    """
    plantings, thrives = assessment.batch.plantings, assessment.crops.thrives
    names, limit = _by_id(assessment.crop_ids), np.asarray(limit, dtype=np.float64)
    keys = (plantings.stage, names, np.isnan(limit), filled(limit, unknown), plantings.sample)
    first = np.lexsort(keys)
    count = assessment.batch.samples.count
    return _first_of_sample(first[~thrives[first]], plantings.sample, count)


def in_its_place(assessment: Assessment, row: int) -> tuple[str, int]:
    """Return by what a planting comes before another that fares alike: its crop and its stage."""
    return assessment.crop_ids[row], int(assessment.batch.plantings.stage[row])


def _by_id(ids: Sequence[str]) -> Codes:
    """Return the places of ids in their own order."""
    return np.unique(np.array(ids, dtype=str), return_inverse=True)[1].reshape(-1)


def _first_of_sample(rows: Codes, sample: Codes, count: int) -> Codes:
    first = np.full(count, NO_CROP)
    backwards = rows[::-1]
    first[sample[backwards]] = backwards  # of several rows of a sample the last one stays
    return first


@cache
def another_thrives() -> int:
    """Return the place of the sign that another crop thrives."""
    return list(observations()).index(ANOTHER_THRIVES)
