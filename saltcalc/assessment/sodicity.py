"""Sodium hazard of media and waters."""

from __future__ import annotations

from dataclasses import dataclass

from saltcalc.assessment.batch import FloatArray, Solutions
from saltcalc.science import sodicity
from saltcalc.science.sodicity import InfiltrationHazard


@dataclass(frozen=True)
class Sodicity:
    """Sodium hazard, one row a sample.

    Attributes
    ----------
    sar : (n,) ndarray
        Sodium adsorption ratio [(mmol_c/L)^0.5]; NaN where sodium, calcium or magnesium is missing.
    esp : (n,) ndarray
        Exchangeable sodium percentage expected from it [%].
    infiltration : InfiltrationHazard
        Hazard by SAR and EC together.
    """

    sar: FloatArray
    esp: FloatArray
    infiltration: InfiltrationHazard


def assess_sodicity(solutions: Solutions, ec: FloatArray) -> Sodicity:
    """Compute the sodium hazard of solutions.

    Parameters
    ----------
    solutions : Solutions
        The extracts of the media, or the waters.
    ec : (n,) ndarray
        Their EC at 25 °C [dS/m].
    """
    ions = solutions.ions
    ratio = sodicity.sar(ions["sodium"], ions["calcium"], ions["magnesium"])
    return Sodicity(
        sar=ratio,
        esp=sodicity.exchangeable_sodium_percentage(ratio),
        infiltration=sodicity.infiltration_hazard(ratio, ec),
    )
