"""The irrigation water as a source of salt, against the crops it is for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from saltcalc.assessment.batch import Batch, BoolArray, FloatArray
from saltcalc.assessment.containers import Water
from saltcalc.assessment.crops import EXTRACT
from saltcalc.assessment.salinity import Salinity
from saltcalc.data.extraction import method_codes
from saltcalc.science.blend import blend_share
from saltcalc.science.extraction import to_pore_water

RAIN_EC = 0.05
"""EC of rain water from a roof and a tank [dS/m]."""

COMFORT = 0.5
"""Share of the highest EC at which a water leaves room: half of it then drains at the limit."""


@dataclass(frozen=True)
class IrrigationWater:
    """The water against each planting, one row a planting; NaN where it cannot be told.

    Attributes
    ----------
    highest_ec : (k,) ndarray
        Pore water at the limit of the crop [dS/m]; a saltier water cannot bring a medium to it.
    exceeds : (k,) ndarray of bool
        Where the water is saltier than that.
    least_rain, comfortable_rain : (k,) ndarray
        Share of rain water in a blend that just meets the limit, and that leaves room [L/L].
    """

    highest_ec: FloatArray
    exceeds: BoolArray
    least_rain: FloatArray
    comfortable_rain: FloatArray


def assess_irrigation_water(
    batch: Batch, salinity: Salinity, water: Water, water_ec: FloatArray, stands_up_to: FloatArray
) -> IrrigationWater:
    """Hold the irrigation water of each sample against its plantings.

    Parameters
    ----------
    batch : Batch
        With its gaps filled.
    salinity : Salinity
        Of its samples.
    water : Water
        Water held by each sample.
    water_ec : (n,) ndarray
        EC of the irrigation water of each sample [dS/m]; NaN where it is not known.
    stands_up_to : (k,) ndarray
        EC of the saturated extract that each planting stands [dS/m].
    """
    sample = batch.plantings.sample
    limit = to_pore_water(
        stands_up_to,
        np.full(sample.shape, method_codes()[EXTRACT]),
        salinity.medium_kind[sample],
        total_porosity=water.total_porosity[sample],
        container_capacity=water.container_capacity[sample],
    ).value
    ec = water_ec[sample]
    return IrrigationWater(
        highest_ec=limit,
        exceeds=ec > limit,
        least_rain=1 - blend_share(ec, RAIN_EC, limit),
        comfortable_rain=1 - blend_share(ec, RAIN_EC, COMFORT * limit),
    )
