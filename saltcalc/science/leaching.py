"""Leaching requirement and leaching fraction: how much of the water must drain, season-long.

This is for keeping salt down with every irrigation. Taking a salty container down once is
:mod:`saltcalc.science.flush`.

References
----------
.. [1] Rhoades, J.D. (1974). Drainage for salinity control. Agronomy Monograph 17:433-461.
.. [2] Ayers, R.S. & Westcot, D.W. (1985). Water quality for agriculture. FAO Irrigation and
   Drainage Paper 29 Rev. 1, section 2.4.
.. [3] U.S. Salinity Laboratory Staff (1954). Agriculture Handbook 60, chapter 3.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Codes, Floats, not_negative


def _requirement(ratio: Floats) -> Floats:
    return np.where((ratio >= 0) & (ratio < 1), ratio, np.nan)


def leaching_requirement_rhoades(ec_water: npt.ArrayLike, ec_threshold: npt.ArrayLike) -> Floats:
    r"""Leaching requirement under conventional irrigation, after Rhoades.

    .. math:: LR = \frac{EC_w}{5\,EC_e - EC_w}

    Parameters
    ----------
    ec_water : array_like, shape (...)
        EC of the irrigation water. [dS/m at 25 °C]
    ec_threshold : array_like, shape (...)
        EC of the saturation extract that the crop stands, usually its threshold. [dS/m at 25 °C]

    Returns
    -------
    ndarray, shape (...)
        Share of the applied water that must drain. [L/L] NaN where it would be 1 or more: this
        water cannot hold the medium at that limit, however much drains.

    Raises
    ------
    ValueError
        If an EC is negative.

    References
    ----------
    Rhoades (1974) [1]_; FAO 29 [2]_, equation 9.

    Examples
    --------
    Maize with water of 1.2 dS/m, 90 % of its yield at 2.5 (FAO 29, section 2.4.2: about 0.10).

    >>> print(leaching_requirement_rhoades(1.2, 2.5).round(3))
    0.106
    """
    water = not_negative(ec_water, "ec_water")
    threshold = not_negative(ec_threshold, "ec_threshold")
    below = 5.0 * threshold - water
    with np.errstate(divide="ignore", invalid="ignore"):
        return _requirement(np.where(below > 0, water / below, np.nan))


def leaching_requirement_high_frequency(
    ec_water: npt.ArrayLike, ec_zero_yield: npt.ArrayLike
) -> Floats:
    r"""Leaching requirement where water comes daily or nearly so, as in containers and drip.

    .. math:: LR = \frac{EC_w}{2\,\max EC_e}

    Parameters
    ----------
    ec_water : array_like, shape (...)
        EC of the irrigation water. [dS/m at 25 °C]
    ec_zero_yield : array_like, shape (...)
        EC of the saturation extract at which yield is zero. [dS/m at 25 °C]

    Returns
    -------
    ndarray, shape (...)
        Share of the applied water that must drain. [L/L] NaN where it would be 1 or more.

    Raises
    ------
    ValueError
        If an EC is negative.

    References
    ----------
    FAO 29 [2]_, section 2.4.2.

    Examples
    --------
    Water of 1.5 dS/m where nothing grows at 10: the drainage would be at 20.

    >>> print(leaching_requirement_high_frequency(1.5, 10.0))
    0.075
    """
    water = not_negative(ec_water, "ec_water")
    zero_yield = not_negative(ec_zero_yield, "ec_zero_yield")
    with np.errstate(divide="ignore", invalid="ignore"):
        return _requirement(water / (2.0 * zero_yield))


def water_factor(leaching_requirement: npt.ArrayLike) -> Floats:
    r"""Water to apply for each litre the crop uses.

    .. math:: \frac{AW}{ET} = \frac{1}{1 - LR}

    Parameters
    ----------
    leaching_requirement : array_like, shape (...)
        Share of the applied water that must drain. [L/L]

    Returns
    -------
    ndarray, shape (...)
        Applied water over evapotranspiration. [L/L] NaN for a requirement of 1 or more.

    Raises
    ------
    ValueError
        If a requirement is negative.

    References
    ----------
    FAO 29 [2]_, equation 7.

    Examples
    --------
    Tomatoes that use 100 mm and need a fifth to drain get 125 (ASCE Manual 71).

    >>> print(100 * water_factor(0.2))
    125.0
    """
    requirement = _requirement(not_negative(leaching_requirement, "leaching_requirement"))
    return np.asarray(1.0 / (1.0 - requirement))


def leaching_fraction_from_volumes(applied: npt.ArrayLike, collected: npt.ArrayLike) -> Floats:
    """Leaching fraction of one or more irrigations: drained over applied.

    Parameters
    ----------
    applied : array_like, shape (...)
        Water that entered the container. [L]
    collected : array_like, shape (...)
        Water that drained from it. [L]

    Returns
    -------
    ndarray, shape (...)
        Leaching fraction. [L/L] NaN where nothing was applied, or where more was collected than
        applied (the container was not at its drained state before, or rain fell in).

    Raises
    ------
    ValueError
        If a volume is negative.

    References
    ----------
    FAO 29 [2]_, equation 1.

    Examples
    --------
    75 mL out of 500 mL.

    >>> print(leaching_fraction_from_volumes(0.5, 0.075))
    0.15
    """
    entered = not_negative(applied, "applied")
    drained = not_negative(collected, "collected")
    with np.errstate(divide="ignore", invalid="ignore"):
        fraction = drained / entered
    return np.where((entered > 0) & (fraction <= 1), fraction, np.nan)


def leaching_fraction_from_ec(ec_applied: npt.ArrayLike, ec_drainage: npt.ArrayLike) -> Floats:
    """Leaching fraction from the salt balance at steady state: applied EC over drainage EC.

    Parameters
    ----------
    ec_applied : array_like, shape (...)
        EC of the water or feed applied. [dS/m at 25 °C]
    ec_drainage : array_like, shape (...)
        EC of the drainage. [dS/m at 25 °C]

    Returns
    -------
    ndarray, shape (...)
        Leaching fraction. [L/L] It holds only where salt neither builds up nor washes out, and
        where uptake and dissolution are small. NaN where the drainage is weaker than the water
        applied: then the container still fills with salt and the balance says nothing.

    Raises
    ------
    ValueError
        If an EC is negative.

    References
    ----------
    FAO 29 [2]_, equation 2; Agriculture Handbook 60 [3]_.

    Examples
    --------
    >>> print(leaching_fraction_from_ec(0.8, 4.0))
    0.2
    """
    water = not_negative(ec_applied, "ec_applied")
    drainage = not_negative(ec_drainage, "ec_drainage")
    with np.errstate(divide="ignore", invalid="ignore"):
        fraction = water / drainage
    return np.where((drainage > 0) & (fraction <= 1), fraction, np.nan)


class Spread(NamedTuple):
    """Mean and scatter of several readings."""

    mean: Floats
    standard_deviation: Floats
    number: Codes


def spread(readings: npt.ArrayLike, axis: int = -1) -> Spread:
    """Mean and sample standard deviation of readings, leaving out the missing ones.

    Parameters
    ----------
    readings : array_like, shape (..., n)
        Readings of n pots, in any one unit; NaN where missing.
    axis : int
        The axis of the pots.

    Returns
    -------
    Spread
        Mean and standard deviation (n − 1 in the denominator) in the unit of the readings, and
        their number. NaN where fewer than one (mean) or two (deviation) readings are there.

    Examples
    --------
    >>> found = spread([2.0, 3.0, 4.0, np.nan])
    >>> print(found.mean, found.standard_deviation, found.number)
    3.0 1.0 3
    """
    values = np.asarray(readings, dtype=np.float64)
    there = ~np.isnan(values)
    count = there.sum(axis=axis)
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = np.where(there, values, 0.0).sum(axis=axis) / count
        squares = np.where(there, (values - np.expand_dims(mean, axis)) ** 2, 0.0).sum(axis=axis)
        deviation = np.sqrt(squares / (count - 1))
    return Spread(
        mean=np.asarray(mean),
        standard_deviation=np.where(count > 1, deviation, np.nan),
        number=np.asarray(count),
    )
