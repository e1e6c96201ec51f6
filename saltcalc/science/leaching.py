"""Leaching requirement and leaching fraction: how much of the water must drain, season-long.

This is for keeping salt down with every irrigation. Taking a salty container down once is
:mod:`saltcalc.science.flush`.

References
----------
.. [1] Rhoades, J.D. (1974). Drainage for salinity control. Agronomy Monograph 17:433-461.
.. [2] Ayers, R.S. & Westcot, D.W. (1985). Water quality for agriculture. FAO Irrigation and
   Drainage Paper 29 Rev. 1, section 2.4.
.. [3] U.S. Salinity Laboratory Staff (1954). Agriculture Handbook 60, chapter 3.
.. [4] Yeager, T. et al. (2007). Best management practices: guide for producing nursery crops, 2nd
   ed. From memory.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Codes, Floats, alike, not_negative

_MOST_ROUNDS = 100
_ALL_RAIN = 1e9
"""Rain over the water that is used, where nothing is used; it thins any water to none."""


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
        EC of the saturation extract that the crop tolerates, usually its threshold. [dS/m at 25 °C]

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


def gross_irrigation_ratio(leaching_requirement: npt.ArrayLike) -> Floats:
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

    >>> print(100 * gross_irrigation_ratio(0.2))
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


class LeachingWater(NamedTuple):
    """Water to give so that a share of it drains. Arrays of shape (...), in one unit."""

    applied: npt.NDArray[np.float64]
    """Water to give, rain apart; 0 where rain does it all. [mm] or [L]"""
    drained: npt.NDArray[np.float64]
    """What drains of it and of the rain. [mm] or [L]"""
    ec_applied: npt.NDArray[np.float64]
    """EC of water and rain together. [dS/m]"""


def leaching_water(
    evapotranspiration: npt.ArrayLike,
    leaching_requirement: npt.ArrayLike,
    rain: npt.ArrayLike = 0.0,
    ec_water: npt.ArrayLike = np.nan,
) -> LeachingWater:
    r"""Amount of water that meets a leaching requirement, in millimetres or in litres.

    .. math:: AW + P = \frac{ET}{1 - LR}

    Parameters
    ----------
    evapotranspiration : array_like, shape (...)
        Water used. [mm] or [L], over any time.
    leaching_requirement : array_like, shape (...)
        Share of all the water that must drain. [L/L]
    rain : array_like, shape (...)
        Rain that enters the medium in that time. [mm] or [L]
    ec_water : array_like, shape (...)
        EC of the water given; rain counts as pure. [dS/m]

    Returns
    -------
    LeachingWater
        NaN for a requirement of 1 or more.

    Raises
    ------
    ValueError
        If an argument is negative.

    References
    ----------
    FAO 29 [2]_, equation 7, with rain taken off what is given.

    Examples
    --------
    FAO 29 has 890 mm for a use of 800 mm and a requirement of a tenth.

    >>> float(leaching_water(800.0, 0.1).applied.round(0))
    889.0
    """
    use = not_negative(evapotranspiration, "evapotranspiration")
    fallen = not_negative(rain, "rain")
    whole = use * gross_irrigation_ratio(leaching_requirement)
    applied = np.maximum(whole - fallen, 0.0)
    total = applied + fallen
    with np.errstate(divide="ignore", invalid="ignore"):
        mixed = np.where(total > 0, not_negative(ec_water, "ec_water") * applied / total, np.nan)
    return LeachingWater(applied, total - use, mixed)


def requirement_with_rain(
    rule: Callable[[Floats], Floats], ec_water: npt.ArrayLike, rain_share: npt.ArrayLike
) -> Floats:
    r"""Leaching requirement where rain thins what enters the medium.

    .. math:: EC = EC_w\,[1 - r\,(1 - LR)]

    Parameters
    ----------
    rule : callable
        The requirement for a given EC [dS/m], or concentration, of all that enters.
    ec_water : array_like, shape (...)
        EC [dS/m], or concentration, of the water given.
    rain_share : array_like, shape (...)
        Rain r that enters the medium over the water that is used. [L/L] It counts as pure.

    Returns
    -------
    ndarray, shape (...)
        The least share of water and rain together that the rule is content with. [L/L] NaN where
        none is below 1.

    Raises
    ------
    ValueError
        If an argument is negative.

    References
    ----------
    FAO 29 [2]_, equation 7, gives the amounts that the mean EC is weighted by.

    Examples
    --------
    Rain for a third of what maize uses, with the water of the example of Rhoades' rule.

    >>> got = requirement_with_rain(lambda ec: leaching_requirement_rhoades(ec, 2.5), 1.2, 1 / 3)
    >>> print(got.round(3))
    0.071
    """
    water, share = alike(not_negative(ec_water, "ec_water"), not_negative(rain_share, "rain_share"))
    if not (share > 0).any():
        return rule(water)
    share = np.minimum(share, _ALL_RAIN)
    # From no drainage upwards: the more drains, the more is given and the less rain thins it.
    requirement = np.zeros(water.shape)
    for _ in range(_MOST_ROUNDS):
        mixed = water * np.maximum(1.0 - share * (1.0 - requirement), 0.0)
        before, found = requirement, rule(mixed)
        requirement = np.where(np.isnan(found) & ~np.isnan(mixed), 1.0, found)
        if np.allclose(before, requirement, rtol=0.0, atol=1e-7, equal_nan=True):
            break
    return np.where(requirement < 1.0, requirement, np.nan)


UNEVEN = 0.5
"""Mean of the lowest quarter of pots over the mean of all, below which they are uneven (judgement).

Spray stakes without pressure compensation were 0.82 to 0.85, in water applied; what drains is the
difference of that and what is used, and strays far more. [-]
"""

USUAL_FRACTIONS = (0.1, 0.2)
"""Leaching fraction of nursery best practice, where no requirement is known [4]_. [L/L]"""

LEACHING_VERDICTS = ("uneven", "too_little", "fits", "more_than_needed")


class LeachingJudgement(NamedTuple):
    """What measured leaching fractions of several pots say."""

    verdict: str
    """One of :data:`LEACHING_VERDICTS`."""
    mean: float
    """[L/L]"""
    lowest_quarter: float
    """Mean of the lowest quarter of the pots. [L/L]"""
    below_needed: int
    """Number of pots that leach less than half of what is needed."""


def judge_leaching(
    fractions: npt.ArrayLike, needed: float = np.nan, tolerance: float = 0.05
) -> LeachingJudgement:
    """Judge measured leaching fractions against what crop and water need.

    Parameters
    ----------
    fractions : array_like, shape (pots,)
        Measured. [L/L] NaN where missing.
    needed : float
        The requirement of the crop with this water [L/L]; NaN where it is not known, then
        :data:`USUAL_FRACTIONS` stand for it.
    tolerance : float
        How well a measured fraction is known. [L/L]

    Returns
    -------
    LeachingJudgement
        Where pots differ, that is the finding, whatever their mean.

    Raises
    ------
    ValueError
        If no fraction is there, or one is negative or above 1.

    References
    ----------
    Lowest quarter: the usual measure of the uniformity of irrigation. Limits are judgements.

    Examples
    --------
    A mean of 0.23, of which two pots in six get next to nothing.

    >>> judge_leaching([0.0, 0.02, 0.1, 0.3, 0.45, 0.5]).verdict
    'uneven'
    >>> judge_leaching([0.28, 0.3, 0.32], needed=0.33).verdict
    'fits'
    """
    values = not_negative(fractions, "fractions").ravel()
    values = np.sort(values[~np.isnan(values)])
    if not values.size or values[-1] > 1:
        raise ValueError("fractions must not be above 1, and there must be at least one")
    mean = float(values.mean())
    lowest = float(values[: max(values.size // 4, 1)].mean())
    least, most = USUAL_FRACTIONS if np.isnan(needed) else (needed, needed)
    below = int((values < 0.5 * least).sum())
    if values.size > 1 and mean - lowest > tolerance and lowest < UNEVEN * mean:
        verdict = "uneven"
    elif mean < least - tolerance:
        verdict = "too_little"
    elif mean > max(most, USUAL_FRACTIONS[1]) + tolerance:
        verdict = "more_than_needed"
    else:
        verdict = "fits"
    return LeachingJudgement(verdict, mean, lowest, below)


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
