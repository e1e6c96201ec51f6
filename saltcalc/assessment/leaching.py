"""Leaching requirement of each crop with the water of its sample."""

from __future__ import annotations

from dataclasses import dataclass

from saltcalc.assessment.batch import FloatArray
from saltcalc.science import leaching
from saltcalc.science.crop_response import zero_yield_ec


@dataclass(frozen=True)
class Leaching:
    """Leaching requirements, one row a planting; NaN where the requirement has no meaning.

    Attributes
    ----------
    requirement : (k,) ndarray
        After Rhoades (1974), at the crop's threshold [share of the water applied].
    requirement_high_frequency : (k,) ndarray
        For frequent watering, at the EC without yield [share of the water applied].
    water_factor : (k,) ndarray
        Water applied for each litre used, at ``requirement``.
    """

    requirement: FloatArray
    requirement_high_frequency: FloatArray
    water_factor: FloatArray


def assess_leaching(water_ec: FloatArray, threshold: FloatArray, slope: FloatArray) -> Leaching:
    """Compute the leaching requirement of plantings.

    Parameters
    ----------
    water_ec : (k,) ndarray
        EC of the water of each planting, at 25 °C [dS/m].
    threshold, slope : (k,) ndarray
        Yield response of each planting's crop [dS/m], [% per dS/m].
    """
    requirement = leaching.leaching_requirement_rhoades(water_ec, threshold)
    return Leaching(
        requirement=requirement,
        requirement_high_frequency=leaching.leaching_requirement_high_frequency(
            water_ec, zero_yield_ec(threshold, slope)
        ),
        water_factor=leaching.water_factor(requirement),
    )
