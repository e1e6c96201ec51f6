"""Nutrients by CaCl2/DTPA (EN 13651), in a litre of medium, with guide values of their own."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.batch import Samples
from saltcalc.data.nutrients import (
    CAT,
    CAT_NUTRIENTS,
    NO_RANGE,
    NUTRIENTS,
    governing_range,
    nutrient_ranges,
)
from saltcalc.parts.plantings import NO_CROP
from saltcalc.science._arrays import Codes, Flags, Floats

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

_NITRATE = NUTRIENTS.index("nitrate_n")


def with_cat(samples: Samples, value: Floats) -> tuple[Floats, Flags]:
    """Return the figures with those by CaCl2/DTPA where no other extract tells, and where that is.

    The guide value for nitrogen is for nitrate and ammonium together: their sum takes the place
    of nitrate.
    """
    cat = np.full(value.shape, np.nan)
    if np.isnan([*samples.cat.values()]).all():
        return value, np.zeros(value.shape, dtype=bool)
    for nutrient in CAT_NUTRIENTS:
        cat[:, NUTRIENTS.index(nutrient)] = samples.cat[nutrient]
    both = samples.cat["mineral_n"]
    cat[:, _NITRATE] = np.where(np.isnan(both), cat[:, _NITRATE], both)
    by_cat = np.isnan(value) & ~np.isnan(cat)
    return np.where(by_cat, cat, value), by_cat


def cat_places(assessment: Assessment) -> Codes:
    """Return the places of the guide values, by the crop that is taken to stall.

    There is none for nitrate alone.
    """
    stalled, samples = assessment.reference_plantings.stalled, assessment.batch.samples
    crops = ["" if row == NO_CROP else assessment.crop_ids[row] for row in stalled]
    places = np.array([_places_for(crop) for crop in crops]).reshape(len(crops), len(NUTRIENTS))
    places[np.isnan(samples.cat["mineral_n"]), _NITRATE] = NO_RANGE
    return places


def own_cat_places(assessment: Assessment) -> Codes:
    """Return places of a laboratory's own guide values behind the published ones."""
    places = np.full(len(NUTRIENTS), NO_RANGE)
    for place, each in enumerate(assessment.own_ranges, start=len(nutrient_ranges())):
        if each.method == CAT:
            places[NUTRIENTS.index(each.nutrient)] = place
    return places


@lru_cache(maxsize=1024)
def _places_for(crop: str) -> tuple[int, ...]:
    ranges = nutrient_ranges()
    own = {each.nutrient: each for each in ranges if each.method == CAT and crop in each.crops}
    chosen = [own.get(nutrient) or governing_range(CAT, nutrient) for nutrient in NUTRIENTS]
    return tuple(NO_RANGE if each is None else ranges.index(each) for each in chosen)


def is_mineral_nitrogen(assessment: Assessment, sample: int) -> bool:
    """Tell whether the figure in the place of nitrate is nitrate and ammonium together."""
    told = not np.isnan(assessment.batch.samples.cat["mineral_n"][sample])
    return told and bool(assessment.nutrients.by_cat[sample, _NITRATE])
