"""Published classes of waters, extracts and soils, by one figure or by two together.

``NaN`` means "not reported" and gives the class code -1. Salinity classes of readings by their
extraction method are in `saltcalc.science.salinity_classes`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.data.water_classes import ClassScale, infiltration_bands
from saltcalc.science._arrays import Codes, Flags, alike, not_negative

NO_CLASS = -1
"""The class code where the figure is missing."""

HB60_DRAWN_EC = (0.1, 5.0)
"""EC between which the diagram of sodium hazard is drawn [dS/m], Handbook 60, Fig. 25."""

# Intercept and slope of SAR over log10 of the EC [µS/cm], Handbook 60, p. 80.
_HB60_HAZARD_CURVES = ((18.87, 4.44), (31.31, 6.66), (43.75, 8.87))

INFILTRATION_CLASSES = ("none", "slight_to_moderate", "severe")
SODIUM_HAZARD_CLASSES = ("S1 low", "S2 medium", "S3 high", "S4 very high")
SOIL_GROUPS = ("normal", "saline", "sodic", "saline_sodic")


class InfiltrationHazard(NamedTuple):
    """Infiltration hazard, each of the broadcast shape.

    Attributes
    ----------
    code : ndarray of int
        Index into `INFILTRATION_CLASSES`, -1 where SAR or EC is missing.
    at_least : ndarray of bool
        True where SAR lies beyond the table, so that the class is a lower bound.
    """

    code: Codes
    at_least: Flags


def classify(value: ArrayLike, scale: ClassScale) -> Codes:
    """Return the class of each value on a published scale.

    Parameters
    ----------
    value : array_like of float
        The figure, in the unit of the scale.
    scale : ClassScale
        One of `saltcalc.data.water_classes.class_scales`.

    Returns
    -------
    ndarray of int
        Index into ``scale.names``; -1 where the value is NaN.

    Examples
    --------
    >>> from saltcalc.data.water_classes import class_scales
    >>> scale = class_scales()["hb60", "ecw"]
    >>> [scale.names[code] for code in classify([0.2, 0.5, 3.0], scale)]
    ['C1_low', 'C2_medium', 'C4_very_high']
    """
    figure = np.asarray(value, dtype=np.float64)
    code = np.zeros(figure.shape, dtype=np.int64)
    for limit, in_upper in zip(scale.limits, scale.limit_in_upper, strict=True):
        code += (figure >= limit) if in_upper else (figure > limit)
    return np.where(np.isnan(figure), NO_CLASS, code)


def sodium_hazard_hb60(sar: ArrayLike, ec: ArrayLike) -> Codes:
    """Sodium hazard of irrigation water by SAR and EC together (S1 to S4).

    The curves are drawn from 0.1 to 5 dS/m; outside, the nearest drawn EC is used.

    Parameters
    ----------
    sar : array_like of float
        SAR of the water [(mmol/L)^0.5].
    ec : array_like of float
        EC of the water [dS/m at 25 °C].

    Returns
    -------
    ndarray of int
        Index into `SODIUM_HAZARD_CLASSES`; -1 where SAR or EC is missing.

    Raises
    ------
    ValueError
        If SAR or EC is negative.

    References
    ----------
    U.S. Salinity Laboratory Staff (1954), USDA Agriculture Handbook 60, p. 80 and Fig. 25.

    Examples
    --------
    At 0.1 dS/m the curves of Handbook 60 start at SAR 10, 18 and 26.

    >>> [SODIUM_HAZARD_CLASSES[code] for code in sodium_hazard_hb60([9.0, 17.0, 25.0, 27.0], 0.1)]
    ['S1 low', 'S2 medium', 'S3 high', 'S4 very high']
    """
    ratio, water_ec = alike(not_negative(sar, "SAR"), not_negative(ec, "EC"))
    log_c = np.log10(1000 * np.clip(water_ec, *HB60_DRAWN_EC))
    code = np.zeros(ratio.shape, dtype=np.int64)
    for intercept, slope in _HB60_HAZARD_CURVES:
        code += ratio > intercept - slope * log_c
    return np.where(np.isnan(ratio) | np.isnan(water_ec), NO_CLASS, code)


def infiltration_hazard(sar: ArrayLike, ec: ArrayLike) -> InfiltrationHazard:
    """Hazard that water enters too slowly, by SAR and EC together; a low EC makes it worse.

    On the edge of two SAR bands the band of the higher SAR counts.

    Parameters
    ----------
    sar : array_like of float
        SAR or adjusted SAR [(mmol/L)^0.5].
    ec : array_like of float
        EC of the water [dS/m at 25 °C].

    Returns
    -------
    InfiltrationHazard
        Class codes, and where the SAR lies above the 40 of the table.

    Raises
    ------
    ValueError
        If SAR or EC is negative.

    References
    ----------
    Ayers & Westcot (1985), FAO Irrigation and Drainage Paper 29 Rev. 1, Table 1.

    Examples
    --------
    FAO 29, Table 1: below SAR 3, water of more than 0.7 dS/m does no harm.

    >>> found = infiltration_hazard(2.0, [0.8, 0.4, 0.1])
    >>> [INFILTRATION_CLASSES[code] for code in found.code]
    ['none', 'slight_to_moderate', 'severe']
    """
    ratio, water_ec = alike(not_negative(sar, "SAR"), not_negative(ec, "EC"))
    bands = infiltration_bands()
    starts = np.array([band.sar_low for band in bands])
    known = ~(np.isnan(ratio) | np.isnan(water_ec))
    band = np.searchsorted(starts, np.where(known, ratio, 0.0), side="right") - 1
    severe_below = np.array([band.severe_below for band in bands])[band]
    none_above = np.array([band.none_above for band in bands])[band]
    code = (water_ec <= none_above).astype(np.int64) + (water_ec < severe_below)
    return InfiltrationHazard(
        code=np.where(known, code, NO_CLASS),
        at_least=known & (ratio > bands[-1].sar_high),
    )


def soil_group_hb60(ec: ArrayLike, esp: ArrayLike) -> Codes:
    """Salt-affected group of a soil by the EC of its saturation extract and its ESP.

    Parameters
    ----------
    ec : array_like of float
        EC of the saturation extract [dS/m at 25 °C]; saline above 4.
    esp : array_like of float
        Exchangeable sodium percentage [%]; sodic above 15.

    Returns
    -------
    ndarray of int
        Index into `SOIL_GROUPS`; -1 where EC or ESP is missing.

    Raises
    ------
    ValueError
        If EC or ESP is negative.

    References
    ----------
    U.S. Salinity Laboratory Staff (1954), USDA Agriculture Handbook 60, p. 4-5.

    Examples
    --------
    >>> codes = soil_group_hb60([2.0, 6.0, 2.0, 6.0], [5.0, 5.0, 20.0, 20.0])
    >>> [SOIL_GROUPS[code] for code in codes]
    ['normal', 'saline', 'sodic', 'saline_sodic']
    """
    extract_ec, percentage = alike(not_negative(ec, "EC"), not_negative(esp, "ESP"))
    code = (extract_ec > 4).astype(np.int64) + 2 * (percentage > 15)
    return np.where(np.isnan(extract_ec) | np.isnan(percentage), NO_CLASS, code)
