"""Sodium against calcium and magnesium: adsorption ratios, exchangeable sodium, carbonate.

All concentrations are in mmol_c/L (charge equivalents) and broadcast against each other.
``NaN`` means "not reported": it gives ``NaN``, never zero and never infinity.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.data.water_classes import cax_table
from saltcalc.science._arrays import Codes, Flags, Floats, alike, filled, in_shape, not_negative
from saltcalc.science.uncertainty import Interval

CROSS_POTASSIUM = 0.56
CROSS_MAGNESIUM = 0.60
"""Weights of potassium beside sodium, and of magnesium beside calcium [-], Rengasamy & Marchuk."""

CATIONS_OVER_EC = 10.0
"""Sum of the cations over the EC of a soil solution (Handbook 60). [mmol_c/L per dS/m]"""

LEAST_DIVALENT = 0.05
"""Share of that sum that calcium and magnesium are held to be at least (judgement): the rule

scatters by more, and without it sodium that makes up the whole sum would have no ratio. [-]
"""

THINNING_POWERS = (0.4, 0.3, 0.5)
"""Power of the dilution by which SAR falls [-]: the middle, and the ends of its 80 % interval."""


class AdjustedSar(NamedTuple):
    """Adjusted SAR with what decided it, each of the broadcast shape.

    Attributes
    ----------
    sar : ndarray of float
        Adjusted SAR [(mmol/L)^0.5].
    calcium : ndarray of float
        The calcium used in it [mmol_c/L]: Ca_x, or the water's own where nothing can dissolve.
    clamped : ndarray of bool
        True where EC or HCO3/Ca lies outside the table and was set to its edge.
    dissolves : ndarray of bool
        True where Ca_x exceeds the calcium of the water, so that lime has to dissolve.
    """

    sar: Floats
    calcium: Floats
    clamped: Flags
    dissolves: Flags


def _adsorption_ratio(monovalent: Floats, divalent: Floats) -> Floats:
    monovalent, root = alike(monovalent, np.sqrt(divalent / 2))
    ratio = np.full(root.shape, np.nan)
    np.divide(monovalent, root, out=ratio, where=root > 0)
    return ratio


def sar(sodium: ArrayLike, calcium: ArrayLike, magnesium: ArrayLike) -> Floats:
    r"""Sodium adsorption ratio.

    .. math:: SAR = \frac{Na}{\sqrt{(Ca + Mg)/2}}

    Parameters
    ----------
    sodium, calcium, magnesium : array_like of float
        Concentrations [mmol_c/L].

    Returns
    -------
    ndarray of float
        SAR [(mmol/L)^0.5]; NaN where an ion is missing or Ca + Mg is zero.

    Raises
    ------
    ValueError
        If a concentration is negative.

    References
    ----------
    U.S. Salinity Laboratory Staff (1954), USDA Agriculture Handbook 60, p. 72-73.

    Examples
    --------
    >>> print(sar(6.0, 4.0, 2.0).round(2))
    3.46
    """
    return _adsorption_ratio(
        not_negative(sodium, "sodium"),
        not_negative(calcium, "calcium") + not_negative(magnesium, "magnesium"),
    )


def sar_by_ec(
    sodium: ArrayLike, others: ArrayLike, calcium: ArrayLike, magnesium: ArrayLike, ec: ArrayLike
) -> Floats:
    r"""Sodium adsorption ratio that the EC leaves, at the least, where calcium or magnesium lacks.

    .. math:: SAR \ge \frac{Na}{\sqrt{(10\,EC - Na - K - NH_4)/2}}

    Parameters
    ----------
    sodium : array_like of float
        Concentration [mmol_c/L].
    others : array_like of float
        Other cations that were reported, calcium and magnesium apart [mmol_c/L].
    calcium, magnesium : array_like of float
        As reported [mmol_c/L]; NaN for what was not: both together are no less than these.
    ec : array_like of float
        EC of the same solution at 25 °C [dS/m].

    Returns
    -------
    ndarray of float
        SAR [(mmol/L)^0.5]; NaN without sodium or EC.

    Raises
    ------
    ValueError
        If a concentration is negative.

    References
    ----------
    U.S. Salinity Laboratory Staff (1954), USDA Agriculture Handbook 60: the sum of the cations in
    mmol_c/L is about ten times the EC in dS/m.

    Examples
    --------
    >>> print(sar_by_ec(39.0, 0.0, 1.5, np.nan, 5.0).round(1))
    16.6
    """
    cations = CATIONS_OVER_EC * not_negative(ec, "EC")
    reported = filled(np.asarray(calcium), 0.0) + filled(np.asarray(magnesium), 0.0)
    left = cations - not_negative(sodium, "sodium") - not_negative(others, "others")
    most = np.maximum(np.maximum(left, reported), LEAST_DIVALENT * cations)
    return _adsorption_ratio(np.asarray(sodium, dtype=np.float64), most)


def cax(ec: ArrayLike, bicarbonate: ArrayLike, calcium: ArrayLike) -> tuple[Floats, Flags]:
    """Calcium that stays in solution near the surface, by interpolation in the published table.

    Linear in log(Ca_x) over log(HCO3/Ca), then linear in EC between the columns.

    Parameters
    ----------
    ec : array_like of float
        EC of the water [dS/m at 25 °C].
    bicarbonate : array_like of float
        HCO3 with CO3 [mmol_c/L].
    calcium : array_like of float
        Calcium of the water [mmol_c/L].

    Returns
    -------
    cax : ndarray of float
        Ca_x [mmol_c/L]; NaN where an argument is missing or HCO3 and Ca are both zero.
    clamped : ndarray of bool
        True where EC (0.1-8 dS/m) or HCO3/Ca (0.05-30) was set to the edge of the table.

    Raises
    ------
    ValueError
        If an argument is negative.

    References
    ----------
    Suarez (1981), Soil Sci. Soc. Am. J. 45:469-475, as printed in Ayers & Westcot (1985), FAO
    Irrigation and Drainage Paper 29 Rev. 1, Table 11. Valid for lime or silicates as the source of
    calcium, no precipitation of magnesium, and a CO2 pressure of 0.0007 atm.

    Examples
    --------
    A cell of FAO 29, Table 11: HCO3/Ca of 1.0 at 1.0 dS/m.

    >>> calcium, clamped = cax(1.0, 3.0, 3.0)
    >>> print(calcium.round(2), clamped)
    2.09 False
    """
    table = cax_table()
    water_ec, hco3, ca = alike(
        not_negative(ec, "EC"),
        not_negative(bicarbonate, "bicarbonate"),
        not_negative(calcium, "calcium"),
    )
    ratio = np.full(ca.shape, np.inf)
    np.divide(hco3, ca, out=ratio, where=ca > 0)
    known = ~(np.isnan(water_ec) | np.isnan(hco3) | np.isnan(ca)) & ((hco3 > 0) | (ca > 0))
    inside_ratio = np.clip(np.where(known, ratio, 1.0), table.ratio[0], table.ratio[-1])
    inside_ec = np.clip(np.where(known, water_ec, 1.0), table.ecw[0], table.ecw[-1])

    column = np.clip(np.searchsorted(table.ecw, inside_ec) - 1, 0, table.ecw.size - 2)
    row = np.clip(np.searchsorted(table.ratio, inside_ratio) - 1, 0, table.ratio.size - 2)
    log_ratio, log_cax = np.log(table.ratio), np.log(table.cax)
    along = (np.log(inside_ratio) - log_ratio[row]) / (log_ratio[row + 1] - log_ratio[row])

    def at(col: Codes) -> Floats:
        low, high = log_cax[row, col], log_cax[row + 1, col]
        return np.asarray(np.exp(low + along * (high - low)))

    across = (inside_ec - table.ecw[column]) / (table.ecw[column + 1] - table.ecw[column])
    value = (1 - across) * at(column) + across * at(column + 1)
    outside = (inside_ratio != ratio) | (inside_ec != water_ec)
    return np.where(known, value, np.nan), known & outside


def adjusted_sar_suarez(
    sodium: ArrayLike,
    calcium: ArrayLike,
    magnesium: ArrayLike,
    bicarbonate: ArrayLike,
    ec: ArrayLike,
    *,
    lime: ArrayLike = True,
) -> AdjustedSar:
    r"""SAR of the water near the soil surface, where its calcium precipitates or dissolves.

    .. math:: adj\,R_{Na} = \frac{Na}{\sqrt{(Ca_x + Mg)/2}}

    Parameters
    ----------
    sodium, calcium, magnesium, bicarbonate : array_like of float
        Concentrations in the water [mmol_c/L]; bicarbonate includes carbonate.
    ec : array_like of float
        EC of the water [dS/m at 25 °C].
    lime : array_like of bool
        Whether the medium holds lime that can dissolve. Without it Ca_x above the calcium of the
        water cannot come about, and the water's own calcium is kept (a judgement of this project,
        not of the paper).

    Returns
    -------
    AdjustedSar
        NaN where an ion or EC is missing, or Ca_x + Mg is zero.

    Raises
    ------
    ValueError
        If an argument is negative.

    References
    ----------
    Suarez (1981), Soil Sci. Soc. Am. J. 45:469-475; Ayers & Westcot (1985), FAO 29 Rev. 1, Eq. 3
    and Table 11.

    Examples
    --------
    >>> found = adjusted_sar_suarez(7.73, 2.32, 1.44, 3.66, 1.15)
    >>> print(found.calcium.round(2), found.sar.round(2))
    1.55 6.32
    """
    na, ca, mg = (
        not_negative(sodium, "sodium"),
        not_negative(calcium, "calcium"),
        not_negative(magnesium, "magnesium"),
    )
    equilibrium, clamped = cax(ec, bicarbonate, ca)
    dissolves = equilibrium > ca
    used = np.where(dissolves & ~np.asarray(lime, dtype=bool), ca, equilibrium)
    ratio = _adsorption_ratio(na, used + mg)
    shape = ratio.shape
    return AdjustedSar(
        ratio,
        in_shape(used, shape),
        in_shape(clamped, shape),
        in_shape(dissolves, shape),
    )


def sar_of_saturated_extract(sar: ArrayLike, thinned: ArrayLike) -> Interval:
    r"""SAR that the saturation extract would show, from that of an extract with more water.

    .. math:: SAR_e = SAR \, f^{p}

    Water thins sodium and the root of calcium alike by ``f`` and its root, so that p would be 0.5
    without exchange; the exchanger holds the ratio, and p would be 0 with it alone. For soils in
    1:5 extracts the regression is :math:`SAR_e = 2.22\, SAR_{1:5}`, in 1:1 extracts
    :math:`SAR_e = 1.21\, SAR_{1:1}`: with the usual ratios of the EC these are p of 0.35 to 0.43
    and of 0.3. That other dilutions and organic media lie between is a judgement.

    Parameters
    ----------
    sar : array_like of float
        SAR of the extract as made [(mmol/L)^0.5].
    thinned : array_like of float
        EC of the saturation extract over that of this one, at least 1 [-].

    Returns
    -------
    Interval of ndarray
        SAR of the saturation extract [(mmol/L)^0.5], broadcast.

    Raises
    ------
    ValueError
        If the ratio is below zero.

    References
    ----------
    Relationships between saturated paste and 1:1 or 1:5 soil/water extract sodium adsorption
    ratios (2023), Irrigation and Drainage 72(2):503-514, abstract.

    Examples
    --------
    >>> [round(float(each), 1) for each in sar_of_saturated_extract(6.0, 6.5)]
    [12.7, 10.5, 15.3]
    """
    ratio, times = not_negative(sar, "SAR"), np.maximum(thinned, 1.0)
    return Interval(*(np.asarray(ratio * times**power) for power in THINNING_POWERS))


def exchangeable_sodium_percentage(sar: ArrayLike) -> Floats:
    r"""Exchangeable sodium percentage expected from the SAR of the saturation extract.

    .. math:: ESR = -0.0126 + 0.01475\,SAR, \quad ESP = \frac{100\,ESR}{1 + ESR}

    A regression on mineral soils of the western United States; organic media and coir hold sodium
    differently, so it is only indicative there. Below SAR 0.85 the regression is negative and zero
    is returned.

    Parameters
    ----------
    sar : array_like of float
        SAR of the saturation extract [(mmol/L)^0.5].

    Returns
    -------
    ndarray of float
        ESP [%].

    Raises
    ------
    ValueError
        If SAR is negative.

    References
    ----------
    U.S. Salinity Laboratory Staff (1954), USDA Agriculture Handbook 60, p. 26.

    Examples
    --------
    Sodic soils begin at an ESP of 15, near SAR 13 (Handbook 60).

    >>> print(exchangeable_sodium_percentage(13.0).round(1))
    15.2
    """
    ratio = np.maximum(-0.0126 + 0.01475 * not_negative(sar, "SAR"), 0.0)
    return np.asarray(100 * ratio / (1 + ratio))


def residual_sodium_carbonate(
    bicarbonate: ArrayLike, calcium: ArrayLike, magnesium: ArrayLike
) -> Floats:
    """Residual sodium carbonate: carbonate alkalinity less calcium and magnesium.

    Parameters
    ----------
    bicarbonate : array_like of float
        HCO3 with CO3 [mmol_c/L].
    calcium, magnesium : array_like of float
        Concentrations [mmol_c/L].

    Returns
    -------
    ndarray of float
        RSC [mmol_c/L]; negative where calcium and magnesium exceed the carbonates.

    Raises
    ------
    ValueError
        If a concentration is negative.

    References
    ----------
    Eaton (1950), Soil Science 69:123-133.

    Examples
    --------
    >>> print(residual_sodium_carbonate(5.0, 2.0, 1.0))
    2.0
    """
    return np.asarray(
        not_negative(bicarbonate, "bicarbonate")
        - not_negative(calcium, "calcium")
        - not_negative(magnesium, "magnesium")
    )


def cross(
    sodium: ArrayLike, potassium: ArrayLike, calcium: ArrayLike, magnesium: ArrayLike
) -> Floats:
    r"""Cation ratio of structural stability, with potassium and magnesium at their own weight.

    .. math:: CROSS = \frac{Na + 0.56\,K}{\sqrt{(Ca + 0.60\,Mg)/2}}

    Parameters
    ----------
    sodium, potassium, calcium, magnesium : array_like of float
        Concentrations [mmol_c/L].

    Returns
    -------
    ndarray of float
        CROSS [(mmol/L)^0.5]; NaN where an ion is missing or Ca + Mg is zero.

    Raises
    ------
    ValueError
        If a concentration is negative.

    References
    ----------
    Rengasamy & Marchuk (2011), Soil Research 49:280-285.

    Examples
    --------
    >>> print(cross(6.0, 3.0, 4.0, 2.0).round(2))
    4.76
    """
    return _adsorption_ratio(
        not_negative(sodium, "sodium") + CROSS_POTASSIUM * not_negative(potassium, "potassium"),
        not_negative(calcium, "calcium") + CROSS_MAGNESIUM * not_negative(magnesium, "magnesium"),
    )


def mcar(
    sodium: ArrayLike, potassium: ArrayLike, calcium: ArrayLike, magnesium: ArrayLike
) -> Floats:
    r"""Monovalent cation adsorption ratio: sodium and potassium counted alike.

    .. math:: MCAR = \frac{Na + K}{\sqrt{(Ca + Mg)/2}}

    Parameters
    ----------
    sodium, potassium, calcium, magnesium : array_like of float
        Concentrations [mmol_c/L].

    Returns
    -------
    ndarray of float
        MCAR [(mmol/L)^0.5]; NaN where an ion is missing or Ca + Mg is zero.

    Raises
    ------
    ValueError
        If a concentration is negative.

    References
    ----------
    Smiles & Smith (2004), Aust. J. Soil Res. 42:231-246.

    Examples
    --------
    >>> print(mcar(6.0, 3.0, 4.0, 2.0).round(2))
    5.2
    """
    return _adsorption_ratio(
        not_negative(sodium, "sodium") + not_negative(potassium, "potassium"),
        not_negative(calcium, "calcium") + not_negative(magnesium, "magnesium"),
    )


def par(potassium: ArrayLike, calcium: ArrayLike, magnesium: ArrayLike) -> Floats:
    r"""Potassium adsorption ratio.

    .. math:: PAR = \frac{K}{\sqrt{(Ca + Mg)/2}}

    Parameters
    ----------
    potassium, calcium, magnesium : array_like of float
        Concentrations [mmol_c/L].

    Returns
    -------
    ndarray of float
        PAR [(mmol/L)^0.5]; NaN where an ion is missing or Ca + Mg is zero.

    Raises
    ------
    ValueError
        If a concentration is negative.

    References
    ----------
    U.S. Salinity Laboratory Staff (1954), USDA Agriculture Handbook 60 (the form of SAR).

    Examples
    --------
    >>> print(par(3.0, 4.0, 2.0).round(2))
    1.73
    """
    return _adsorption_ratio(
        not_negative(potassium, "potassium"),
        not_negative(calcium, "calcium") + not_negative(magnesium, "magnesium"),
    )
