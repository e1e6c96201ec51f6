"""Alkalinity and hardness in the forms they are reported, and carbonate by pH."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.data.reported_ions import molar_mass
from saltcalc.science._arrays import Floats

# Amount of each form that equals one mmol_c/L. By definition 1 °dH is 10 mg/L CaO, 1 °fH 10 mg/L
# CaCO3, 1 °e one grain of CaCO3 per imperial gallon (14.254 mg/L).
_CACO3 = molar_mass("CaCO3") / 2  # mg/mmol_c
_CAO = molar_mass("CaO") / 2
_HCO3 = molar_mass("HCO3")
PER_MMOLC = {
    "mmol_c/L": 1.0,
    "mg/L CaCO3": _CACO3,
    "mg/L HCO3": _HCO3,
    "mg/L CaO": _CAO,
    "°dH": _CAO / 10,
    "°fH": _CACO3 / 10,
    "°e": _CACO3 / 14.254,
}
"""Forms of alkalinity and hardness, and how much of each is one mmol_c/L."""

LOG_K1_CARBONIC = -6.352
LOG_K2_CARBONIC = -10.329
LOG_K_HENRY = -1.468
"""log10 of the dissociation constants of carbonic acid and of the solubility of carbon dioxide
[mol/L per atm], at 25 °C and zero ionic strength.

Parkhurst & Appelo (2013), database phreeqc.dat.
"""


def from_mmolc(value: ArrayLike, form: str) -> Floats:
    """Convert alkalinity or hardness to a reported form.

    Parameters
    ----------
    value : array_like of float
        Charge equivalents [mmol_c/L].
    form : str
        A key of `PER_MMOLC`.

    Returns
    -------
    ndarray of float
        Alkalinity or hardness in the form.

    Raises
    ------
    KeyError
        If the form is unknown.

    Examples
    --------
    One mmol_c/L is 50 mg/L as CaCO3 and 2.8 German degrees.

    >>> print(from_mmolc(1.0, "mg/L CaCO3").round(1), from_mmolc(1.0, "°dH").round(1))
    50.0 2.8
    """
    return np.asarray(np.asarray(value, dtype=np.float64) * PER_MMOLC[form])


def hardness(calcium: ArrayLike, magnesium: ArrayLike) -> Floats:
    """Total hardness.

    Parameters
    ----------
    calcium, magnesium : array_like of float
        Concentrations [mmol_c/L].

    Returns
    -------
    ndarray of float
        Hardness [mmol_c/L]; NaN where one is missing.

    References
    ----------
    Standard Methods for the Examination of Water and Wastewater, method 2340B.

    Examples
    --------
    40 mg/L of calcium and 12 of magnesium.

    >>> print(hardness(2.0, 1.0))
    3.0
    """
    return np.asarray(
        np.asarray(calcium, dtype=np.float64) + np.asarray(magnesium, dtype=np.float64)
    )


def carbonate_hardness(calcium: ArrayLike, magnesium: ArrayLike, alkalinity: ArrayLike) -> Floats:
    """Return the part of the hardness that bicarbonate balances and boiling takes out.

    Parameters
    ----------
    calcium, magnesium, alkalinity : array_like of float
        Concentrations [mmol_c/L].

    Returns
    -------
    ndarray of float
        Carbonate (temporary) hardness [mmol_c/L]; NaN where one is missing.

    References
    ----------
    Standard Methods for the Examination of Water and Wastewater, method 2340A.

    Examples
    --------
    The bicarbonate of this water balances two thirds of its hardness.

    >>> print(carbonate_hardness(2.0, 1.0, 2.0))
    2.0
    """
    return np.asarray(
        np.minimum(hardness(calcium, magnesium), np.asarray(alkalinity, dtype=np.float64))
    )


def carbonate_fractions(ph: ArrayLike) -> tuple[Floats, Floats, Floats]:
    r"""Fractions of dissolved carbonate by pH at 25 °C and zero ionic strength.

    .. math:: \alpha_0 = \frac{1}{1 + K_1/h + K_1 K_2/h^2}, \quad
        \alpha_1 = \alpha_0 K_1/h, \quad \alpha_2 = \alpha_1 K_2/h

    Parameters
    ----------
    ph : array_like of float
        pH.

    Returns
    -------
    carbon_dioxide, bicarbonate, carbonate : ndarray of float
        Fractions of the total; they sum to 1.

    References
    ----------
    Stumm & Morgan (1996), Aquatic Chemistry; constants of Parkhurst & Appelo (2013).

    Examples
    --------
    At pH 6.35, the first pK, half is bicarbonate.

    >>> print([float(part.round(3)) for part in carbonate_fractions(6.352)])
    [0.5, 0.5, 0.0]
    """
    acidity = np.asarray(ph, dtype=np.float64)
    first = 10.0 ** (LOG_K1_CARBONIC + acidity)
    second = 10.0 ** (LOG_K2_CARBONIC + acidity)
    free = 1 / (1 + first + first * second)
    return free, free * first, free * first * second


def bicarbonate_at(ph: ArrayLike, carbon_dioxide: ArrayLike) -> Floats:
    r"""Bicarbonate in water in balance with carbon dioxide, at 25 °C.

    .. math:: [HCO_3^-] = 1000 \frac{K_H K_1 p_{CO_2}}{10^{-pH}}

    Parameters
    ----------
    ph : array_like of float
        pH.
    carbon_dioxide : array_like of float
        Partial pressure of carbon dioxide [atm].

    Returns
    -------
    ndarray of float
        Bicarbonate [mmol_c/L] at zero ionic strength; NaN where the pH is.

    References
    ----------
    Stumm & Morgan (1996), Aquatic Chemistry; constants of Parkhurst & Appelo (2013).

    Examples
    --------
    In air of a living soil, with 1 % of carbon dioxide.

    >>> print(bicarbonate_at([6.0, 7.0], 0.01).round(3))
    [0.151 1.514]
    """
    acidity = np.asarray(ph, dtype=np.float64)
    pressure = np.asarray(carbon_dioxide, dtype=np.float64)
    return np.asarray(1000.0 * pressure * 10.0 ** (LOG_K_HENRY + LOG_K1_CARBONIC + acidity))
