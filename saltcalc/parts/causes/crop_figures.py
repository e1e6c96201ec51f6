"""The EC held against the crop that stalls and the crop that thrives, as evidence on causes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.batch import NOT_GIVEN
from saltcalc.case.vocabulary import STAGES
from saltcalc.data.extraction import extraction_methods
from saltcalc.data.stage_limits import medium_limits, stood_unharmed
from saltcalc.parts.contrast import age_decides, contrast_of
from saltcalc.parts.crops.limits import limits_of
from saltcalc.parts.plantings import NO_CROP, of_planting
from saltcalc.science._arrays import Codes, Flags, Floats
from saltcalc.science.crop_limits import (
    SCATTER,
    CropLimits,
    CropVerdicts,
    RootZone,
    Stage,
    grown_figure,
)
from saltcalc.science.crop_response import Rating
from saltcalc.science.saturation import GYPSUM_TOLERANCE_SHIFT
from saltcalc.science.tolerance import judge
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

Bounds = tuple[Floats | Flags, Floats | Flags]
"""Lower and upper end of a figure, one a sample; what holds or not counts as 1 or 0."""

A_CLASS_ABOVE = 1.6
"""EC over the limit of the stage from which it is a class above it; see the table of evidence."""


def exactly(value: Floats | Flags) -> Bounds:
    """Return a figure that has no interval as bounds."""
    return value, value


def ec_bounds(assessment: Assessment) -> Bounds:
    """Judge a reading by the classes of its own method, and by a converted one only without any.

    With gypsum the reading may count for as much less as plants stand more of it.
    """
    salinity, extract = assessment.salinity, _extract(assessment)
    own_classes = salinity.reading_class().method == assessment.batch.samples.extraction
    own_classes &= (assessment.ec_error == 0) & ~assessment.medium_ions.ec_in_doubt
    low = np.where(own_classes, extract.value, extract.low)
    high = np.where(own_classes, extract.value, extract.high)
    return (
        low * _gypsum_corrected_fraction(assessment),
        np.where(assessment.ec_is_lower_bound, np.nan, high),
    )


def _extract(assessment: Assessment) -> Interval:
    """EC of the saturated extract; one in doubt may be as low as the ions have it, or any higher.

    Those that were not reported come on top of what the ions make.
    """
    extract, times = assessment.salinity.saturated_extract, assessment.medium_ions.times_the_reading
    return Interval(
        extract.value, extract.low * np.minimum(times, 1.0), _open_above(extract.high, times)
    )


def _open_above(high: Floats, times: Floats) -> Floats:
    """Return the upper end of an EC; NaN where the ions make more of it."""
    return np.where(times > 1.0, np.nan, high)


def _gypsum_corrected_fraction(assessment: Assessment) -> Floats:
    """Share of a reading that counts at least, with gypsum taken off it; 1 without gypsum."""
    extract = np.maximum(_extract(assessment).low, np.finfo(np.float64).tiny)
    left = np.maximum(1.0 - GYPSUM_TOLERANCE_SHIFT / extract, 0.0)
    return np.where(assessment.medium_ions.gypsum_saturated, left, 1.0)


def crop_response(assessment: Assessment, stalled: Codes, thriving: Codes) -> dict[str, Bounds]:
    """Return what the salts alone leave of either crop, and how their thresholds compare."""
    crops, extract = assessment.crops, _extract(assessment)
    floor = assessment.ec_is_lower_bound

    def response(verdicts: CropVerdicts, held: CropLimits, planting: Codes) -> Bounds:
        low = of_planting(verdicts.response_low, planting)
        # A rating is the class of a crop and no figure of its own: it shows no loss beyond a doubt.
        rated = np.isnan(of_planting(held.threshold, planting))
        high = np.where(rated, np.nan, of_planting(verdicts.response_high, planting))
        return np.where(floor, np.nan, low), high

    found = {"relative_yield": response(crops.verdicts, crops.limits, stalled)}
    present = np.flatnonzero(thriving != NO_CROP)
    if not present.size:
        return found
    rows = np.full(thriving.shape, NO_CROP)
    rows[present] = np.arange(present.size)
    limits = limits_of(assessment.catalogue, thriving[present])
    zone = RootZone(
        ec_low=extract.low[present], ec=extract.value[present], ec_high=extract.high[present]
    )
    tolerated = judge(np.full(present.shape, int(Stage.ESTABLISHED)), limits, zone)
    ratio = of_planting(limits.threshold, rows) / of_planting(crops.limits.threshold, stalled)
    return found | {
        "thriving_crop_relative_yield": response(tolerated, limits, rows),
        "thriving_crop_limit_ratio": exactly(ratio),
    }


def contrast(assessment: Assessment, stalled: Codes, thriving: Codes) -> dict[str, Bounds]:
    """Hold the EC against the limits of the crop that stalls and of the one that thrives."""
    extract, floor = _extract(assessment), assessment.ec_is_lower_bound
    contrast = contrast_of(assessment, stalled, thriving)
    low = contrast.over(extract.low)
    high = contrast.over(np.where(floor, np.nan, extract.high))
    read = ec_bounds(assessment)
    to_limit = read[0] / contrast.least_limit, read[1] / contrast.least_limit
    tolerated = (to_limit[0] <= SCATTER) & ~floor & ~np.isnan(contrast.stalled_limit)
    tolerated |= assessment.salinity.ec_25c <= _tolerated_unharmed(assessment, stalled)
    tolerated |= age_decides(assessment, stalled) | _suits_most_grown(assessment, stalled)
    return {
        "ec_to_stalled_crop_threshold": (low[0], high[0]),
        "ec_to_thriving_crop_threshold": (low[1], high[1]),
        "ec_to_least_crop_limit": to_limit,
        "tolerates_this_ec": exactly(tolerated),
        "above_own_limit": exactly(to_limit[0] > SCATTER),
        "ec_is_lower_bound": exactly(floor),
    }


def _suits_most_grown(assessment: Assessment, stalled: Codes) -> Flags:
    """Where a grown crop without a tolerance of its own is within the range of most such plants.

    Not a light feeder, which salt touches first, nor where no range is published.
    """
    crops, stage = assessment.crops, assessment.batch.plantings.stage
    own = ~np.isnan(grown_figure(crops.limits)) | (np.asarray(crops.limits.rating) > Rating.UNRATED)
    most = (stage == Stage.ESTABLISHED) & ~np.asarray(crops.limits.light_feeder, bool) & ~own
    within = np.asarray(crops.zone.reading) <= np.asarray(crops.zone.suits)
    known = ~assessment.ec_is_lower_bound[assessment.batch.plantings.sample]
    return np.asarray(of_planting(np.where(most & within & known, 1.0, 0.0), stalled) == 1.0)


def _tolerated_unharmed(assessment: Assessment, stalled: Codes) -> Floats:
    """EC that the crop was seen to stand at its stage, by the method of the reading."""
    samples, stage = assessment.batch.samples, assessment.batch.plantings.stage
    methods = [each.id for each in extraction_methods()]
    return np.array(
        [
            np.nan
            if row == NO_CROP or code == NOT_GIVEN
            else stood_unharmed().get(
                (assessment.crop_ids[row], methods[code], STAGES[stage[row]]), np.nan
            )
            for row, code in zip(stalled, samples.extraction, strict=True)
        ]
    )


def stage_ratio(assessment: Assessment, stalled: Codes) -> Bounds:
    """EC over the container limit of the stage, or of seedlings where no crop is named.

    The limits are drawn up for mixed plants; a crop rated tolerant is not held to them.
    """
    crops, no_crop = assessment.crops, stalled == NO_CROP
    zone, extract = crops.zone, _extract(assessment)
    times = assessment.medium_ions.times_the_reading
    seedlings = medium_limits("saturated_media_extract", STAGES[Stage.SEEDLING]).suits
    hardy = of_planting(crops.limits.rating, stalled) >= Rating.MODERATELY_TOLERANT
    soilless = ~np.isnan(of_planting(zone.suits, stalled))
    suits = np.where(no_crop, seedlings, of_planting(zone.suits, stalled))
    held = (no_crop & ~assessment.mineral_soil) | (soilless & ~hardy)
    least = of_planting(zone.reading_low, stalled) * np.minimum(times, 1.0)
    most = _open_above(of_planting(zone.reading_high, stalled), times)
    lower = np.where(no_crop, extract.low, least) / suits
    upper = np.where(no_crop, extract.high, most) / suits
    lower *= _gypsum_corrected_fraction(assessment)
    # Whoever names no crop is not held to the limit of seedlings beyond a doubt.
    lower, upper = (
        np.where(no_crop, np.minimum(each, A_CLASS_ABOVE), each) for each in (lower, upper)
    )
    read = held & ~assessment.ec_is_lower_bound
    return np.where(held, lower, np.nan), np.where(read, upper, np.nan)
