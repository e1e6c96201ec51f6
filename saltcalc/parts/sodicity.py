"""Sodium hazard of media and waters."""

from __future__ import annotations

from dataclasses import dataclass

from saltcalc.case.batch import BoolArray, FloatArray, IntArray, Solutions
from saltcalc.science import sodicity
from saltcalc.science.sodicity import AdjustedSar
from saltcalc.science.water_classes import (
    InfiltrationHazard,
    infiltration_hazard,
    sodium_hazard_hb60,
)


@dataclass(frozen=True)
class Sodicity:
    """Sodium hazard, one row a sample; NaN where an ion that a figure needs is missing.

    Attributes
    ----------
    sar : (n,) ndarray
        Sodium adsorption ratio [(mmol/L)^0.5].
    esp : (n,) ndarray
        Exchangeable sodium percentage expected from it [%].
    infiltration : InfiltrationHazard
        Hazard by SAR and EC together.
    adjusted : AdjustedSar
        SAR after calcium has precipitated or dissolved.
    rsc : (n,) ndarray
        Residual sodium carbonate [mmol_c/L].
    hazard_class : (n,) ndarray of int
        Class of Handbook 60 by SAR and EC together, S1 to S4.
    cross, mcar, par : (n,) ndarray
        Ratios that count potassium too [(mmol/L)^0.5].
    """

    sar: FloatArray
    esp: FloatArray
    infiltration: InfiltrationHazard
    adjusted: AdjustedSar
    rsc: FloatArray
    hazard_class: IntArray
    cross: FloatArray
    mcar: FloatArray
    par: FloatArray


def assess_sodicity(solutions: Solutions, ec: FloatArray, lime: BoolArray) -> Sodicity:
    """Compute the sodium hazard of solutions.

    Parameters
    ----------
    solutions : Solutions
        The extracts of the media, or the waters.
    ec : (n,) ndarray
        Their EC at 25 °C [dS/m].
    lime : (n,) ndarray of bool
        Whether the medium that they meet holds lime which can dissolve.
    """
    ions = solutions.ions
    sodium, potassium = ions["sodium"], ions["potassium"]
    calcium, magnesium, bicarbonate = ions["calcium"], ions["magnesium"], ions["bicarbonate"]
    ratio = sodicity.sar(sodium, calcium, magnesium)
    return Sodicity(
        sar=ratio,
        esp=sodicity.exchangeable_sodium_percentage(ratio),
        infiltration=infiltration_hazard(ratio, ec),
        adjusted=sodicity.adjusted_sar_suarez(
            sodium, calcium, magnesium, bicarbonate, ec, lime=lime
        ),
        rsc=sodicity.residual_sodium_carbonate(bicarbonate, calcium, magnesium),
        hazard_class=sodium_hazard_hb60(ratio, ec),
        cross=sodicity.cross(sodium, potassium, calcium, magnesium),
        mcar=sodicity.mcar(sodium, potassium, calcium, magnesium),
        par=sodicity.par(potassium, calcium, magnesium),
    )
