"""A crop that stalls beside one that thrives in the same medium: their published limits of salt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.batch import NOT_GIVEN
from saltcalc.case.vocabulary import STAGES
from saltcalc.data.stage_limits import medium_limits
from saltcalc.parts.crops.limits import grown_figures
from saltcalc.parts.crops.tolerance import EXTRACT
from saltcalc.parts.plantings import of_planting
from saltcalc.science._arrays import Codes, Flags, Floats
from saltcalc.science.crop_limits import SCATTER, Stage, grown_figure, own_figure

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment


@dataclass(frozen=True)
class Contrast:
    """The two limits, one row a sample; NaN where no crop is known to stall, or none to thrive.

    Attributes
    ----------
    stalled_limit, thriving_limit : (n,) ndarray
        EC of the saturated extract up to which each loses nothing by a figure of its own [dS/m].
    least_limit : (n,) ndarray
        The least limit of any kind of the stalled crop at its stage, or of seedlings in general
        where no crop is named [dS/m].
    """

    stalled_limit: Floats
    thriving_limit: Floats
    least_limit: Floats

    def over(self, ec: Floats) -> tuple[Floats, Floats]:
        """Return an EC over the limit of the stalled crop, and over that of the thriving one."""
        return ec / self.stalled_limit, ec / self.thriving_limit


def contrast_of(assessment: Assessment, stalled: Codes, thriving: Codes) -> Contrast:
    """Return the limits of the crop that stalls and of the one that thrives in each sample.

    Parameters
    ----------
    assessment : Assessment
        Of the samples.
    stalled : (n,) ndarray of int
        A planting of each sample, -1 for none.
    thriving : (n,) ndarray of int
        Code of a crop, -1 for none.
    """
    crops, stage = assessment.crops, assessment.batch.plantings.stage
    own = own_figure(stage, crops.limits) + crops.tolerance_shift
    shift = assessment.tolerance_shift
    general = medium_limits(EXTRACT, STAGES[Stage.SEEDLING]).suits + shift
    grown = grown_figures(assessment.catalogue)[thriving] + shift
    return Contrast(
        of_planting(own, stalled),
        np.where(thriving < 0, np.nan, grown),
        np.where(stalled < 0, general, of_planting(crops.max_tolerated_ec, stalled)),
    )


def age_decides(assessment: Assessment, stalled: Codes) -> Flags:
    """Where the crop that stalls is above its own limit only if it is young, and no age is given.

    The limit of its own for seedlings was taken, and the grown plants surely stand the EC.

    Parameters
    ----------
    assessment : Assessment
        Of the samples.
    stalled : (n,) ndarray of int
        A planting of each sample, -1 for none.
    """
    crops, batch = assessment.crops, assessment.batch
    sample = batch.plantings.sample
    young = own_figure(batch.plantings.stage, crops.limits) + crops.tolerance_shift
    grown = grown_figure(crops.limits) + crops.tolerance_shift
    most = assessment.salinity.saturated_extract.high[sample]
    least = assessment.salinity.saturated_extract.low[sample]
    stood = (most * SCATTER <= grown) & ~assessment.ec_is_lower_bound[sample]
    by_age = (assessment.given.plantings.stage == NOT_GIVEN) & stood & (least > young)
    found: Flags = of_planting(by_age.astype(float), stalled) == 1.0
    return found
