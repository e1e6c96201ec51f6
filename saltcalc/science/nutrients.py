"""Nutrients in the extract of a medium: status, share of the salts, nitrogen supply, remedies."""

from __future__ import annotations

from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.science._arrays import Codes, Floats, alike, in_shape, not_negative

_STEPS = 8
"""Newton's steps for how long nitrogen lasts several kinds of plant; four are enough for 1 %."""

SALT_PER_CONDUCTIVITY = 700.0
"""Total soluble salts over EC in tables of nutrient balance [mg/L per dS/m]."""


class NutrientStatus(IntEnum):
    """How a figure compares with a published range."""

    LOW = 0
    IN_RANGE = 1
    HIGH = 2
    CANNOT_TELL = 3


_LOW, _IN_RANGE, _HIGH, _CANNOT_TELL = (int(status) for status in NutrientStatus)


AT_AN_END = 0.01
"""Part of an end of a range by which a figure may miss it (judgement)."""


def nutrient_status(value: ArrayLike, low: ArrayLike, high: ArrayLike) -> Codes:
    """Say whether a figure is below, in or above a range; its ends belong to the range.

    A figure that misses an end by no more than a laboratory rounds counts as equal: ranges are
    printed in whole numbers, one ending at 199 where the next begins at 200.

    Parameters
    ----------
    value : array_like, shape (...)
        Concentration [mg/L] or pH [-].
    low, high : array_like, shape (...)
        Ends of the range, in the unit of `value`; NaN where the source sets no such end.

    Returns
    -------
    ndarray of int, shape (...)
        Values of `NutrientStatus`; CANNOT_TELL where `value`, or both ends, are NaN.

    Examples
    --------
    >>> [NutrientStatus(code).name for code in nutrient_status([20, 60, 120], 40, 100)]
    ['LOW', 'IN_RANGE', 'HIGH']
    """
    figure, bottom, top = (np.asarray(each, dtype=np.float64) for each in (value, low, high))
    status = np.where(figure < bottom - AT_AN_END * np.abs(bottom), _LOW, _IN_RANGE)
    status = np.where(figure > top + AT_AN_END * np.abs(top), _HIGH, status)
    unknown = np.isnan(figure) | (np.isnan(bottom) & np.isnan(top))
    return np.where(unknown, _CANNOT_TELL, status)


def salt_share(concentration: ArrayLike, ec: ArrayLike) -> Floats:
    r"""Share of the total soluble salts that one element makes up in an extract.

    .. math:: \frac{c}{700\, EC}

    Parameters
    ----------
    concentration : array_like, shape (...)
        Concentration of the element in the extract [mg/L].
    ec : array_like, shape (...)
        EC of the same extract at 25 °C [dS/m].

    Returns
    -------
    ndarray, shape (...)
        Share by mass [-]; NaN where an argument is NaN or the EC is zero.

    Raises
    ------
    ValueError
        If an argument is negative.

    References
    ----------
    .. [1] Warncke, D.D. & Krauskopf, D.M. (1983), Michigan State Univ. Ext. Bull. E-1736.

    Examples
    --------
    Calcium of 210 mg/L at 2 dS/m: 15 % of the salts.

    >>> print(salt_share(210.0, 2.0))
    0.15
    """
    mass = not_negative(concentration, "a concentration")
    salts = SALT_PER_CONDUCTIVITY * not_negative(ec, "an electrical conductivity")
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(salts > 0, mass / salts, np.nan)


def nitrogen_in_held_water(
    nitrate_n: ArrayLike, ammonium_n: ArrayLike, water_held: ArrayLike
) -> Floats:
    r"""Mineral nitrogen dissolved in the water a container holds.

    .. math:: N = (c_{NO_3\text{-}N} + c_{NH_4\text{-}N})\,W

    Ammonium held on the medium and nitrogen still bound in compost are not counted, so it is the
    least a plant finds. Where one of the two forms is missing, the other alone is counted.

    Parameters
    ----------
    nitrate_n, ammonium_n : array_like, shape (...)
        Nitrate and ammonium nitrogen in the pore water at container capacity [mg/L of N].
    water_held : array_like, shape (...)
        Water held by the container after drainage [L].

    Returns
    -------
    ndarray, shape (...)
        Nitrogen in one container [mg]; NaN where the water, or both forms, are NaN.

    Raises
    ------
    ValueError
        If an argument is negative.

    Examples
    --------
    >>> print(nitrogen_in_held_water(80.0, 5.0, 3.0))
    255.0
    """
    nitrate = not_negative(nitrate_n, "a concentration")
    ammonium = not_negative(ammonium_n, "a concentration")
    water = not_negative(water_held, "a volume")
    known = np.where(np.isnan(nitrate), 0.0, nitrate) + np.where(np.isnan(ammonium), 0.0, ammonium)
    return np.asarray(np.where(np.isnan(nitrate) & np.isnan(ammonium), np.nan, known) * water)


_MOST_GROWTH = 50.0
"""Exponent beyond which growth without a bound is cut off: no plant gets there."""


def grown(
    dry_mass: ArrayLike,
    relative_growth: ArrayLike,
    weeks: ArrayLike,
    full_growth: ArrayLike = np.inf,
) -> Floats:
    r"""Dry mass of a plant after some weeks: in proportion to its mass first, then steadily.

    .. math:: m = \frac{c}{r}\ln\left(1 + \left(e^{r m_0/c} - 1\right)e^{rt}\right)

    the exponential and then linear growth of Goudriaan and Monteith [1]_, from a mass instead of
    a lost time. It is :math:`m_0 e^{rt}` where c is infinite.

    Parameters
    ----------
    dry_mass : array_like, shape (...)
        Dry mass of the plant now, m_0 [g].
    relative_growth : array_like, shape (...)
        Relative growth rate while it is small, r [1/week].
    weeks : array_like, shape (...)
        How long, t [week].
    full_growth : array_like, shape (...)
        Growth once its leaves cover the ground, c [g/week].

    Returns
    -------
    ndarray, shape (...)
        Dry mass [g]; NaN where an argument is NaN.

    Raises
    ------
    ValueError
        If an argument is negative.

    References
    ----------
    .. [1] Goudriaan, J. & Monteith, J.L. (1990). Annals of Botany 66:695-701 (from memory).

    Examples
    --------
    >>> print(grown(0.1, 0.7, 6.0).round(2), grown(0.1, 0.7, 6.0, 1.0).round(2))
    6.67 2.52
    """
    mass, growth, time, most = alike(
        not_negative(dry_mass, "a mass"),
        not_negative(relative_growth, "growth"),
        not_negative(weeks, "a time"),
        not_negative(full_growth, "growth"),
    )
    bounded = np.isfinite(most) & (growth > 0)
    free = mass * np.exp(np.minimum(np.where(bounded, 0.0, growth * time), _MOST_GROWTH))
    scaled = np.divide(growth * mass, most, out=np.zeros(mass.shape), where=bounded & (most > 0))
    # ln(1 + (e^x - 1) e^rt), which holds for a large x too.
    lasting = np.logaddexp(0.0, growth * time + _log_expm1(scaled))
    slowed = np.divide(most, growth, out=np.zeros(mass.shape), where=bounded) * lasting
    return np.asarray(np.where(bounded, slowed, free))


def _log_expm1(values: Floats) -> Floats:
    """Return ln(e^x - 1); minus infinity at zero."""
    with np.errstate(divide="ignore"):
        return np.asarray(values + np.log(-np.expm1(-values)))


def nitrogen_taken_up(
    dry_mass: ArrayLike,
    relative_growth: ArrayLike,
    tissue_nitrogen: ArrayLike,
    weeks: ArrayLike,
    full_growth: ArrayLike = np.inf,
) -> Floats:
    r"""Nitrogen that one plant takes up while it grows as :func:`grown` has it.

    .. math:: N = n\,(m - m_0)

    Parameters
    ----------
    dry_mass : array_like, shape (...)
        Dry mass of the plant now, m_0 [g].
    relative_growth : array_like, shape (...)
        Relative growth rate r [1/week].
    tissue_nitrogen : array_like, shape (...)
        Nitrogen content of healthy young tissue, n [mg/g of dry matter].
    weeks : array_like, shape (...)
        How long, t [week].
    full_growth : array_like, shape (...)
        Growth once its leaves cover the ground, c [g/week].

    Returns
    -------
    ndarray, shape (...)
        Nitrogen [mg]; NaN where an argument is NaN.

    Raises
    ------
    ValueError
        If an argument is negative.

    Examples
    --------
    >>> print(nitrogen_taken_up(0.1, 0.7, 35.0, 6.1).round())
    247.0
    """
    gained = grown(dry_mass, relative_growth, weeks, full_growth) - not_negative(dry_mass, "a mass")
    return np.asarray(not_negative(tissue_nitrogen, "a content") * gained)


def weeks_of_nitrogen(
    nitrogen: ArrayLike,
    dry_mass: ArrayLike,
    relative_growth: ArrayLike,
    tissue_nitrogen: ArrayLike,
    full_growth: ArrayLike = np.inf,
) -> Floats:
    r"""How long nitrogen lasts one plant, with none added, leached or released.

    :func:`nitrogen_taken_up` turned round; where nothing bounds growth

    .. math:: t = \frac{1}{r}\ln\left(1 + \frac{N}{n\,m_0}\right)

    Rough: growth slows as nitrogen runs short.

    Parameters
    ----------
    nitrogen : array_like, shape (...)
        Nitrogen in one container, N [mg].
    dry_mass : array_like, shape (...)
        Dry mass of the plant now, m_0 [g].
    relative_growth : array_like, shape (...)
        Relative growth rate r [1/week].
    tissue_nitrogen : array_like, shape (...)
        Nitrogen content of healthy young tissue, n [mg/g of dry matter].
    full_growth : array_like, shape (...)
        Growth once its leaves cover the ground, c [g/week].

    Returns
    -------
    ndarray, shape (...)
        Weeks [week]; NaN where an argument is NaN.

    Raises
    ------
    ValueError
        If `nitrogen` is negative, or another argument is not above zero.

    References
    ----------
    .. [1] van Iersel, M.W. et al. (1998), HortScience 33:1014-1018 (tissue nitrogen of plugs).

    Examples
    --------
    >>> print(weeks_of_nitrogen(255.0, 0.1, 0.7, 35.0).round(1))
    6.1
    """
    mass, growth, tissue, most = (
        np.asarray(each, dtype=np.float64)
        for each in (dry_mass, relative_growth, tissue_nitrogen, full_growth)
    )
    if any((each <= 0.0).any() for each in (mass, growth, tissue, most)):
        raise ValueError("a plant that takes up nothing has no week count")
    gained = not_negative(nitrogen, "nitrogen") / tissue
    scale = growth / most
    bounded = np.isfinite(most)
    with np.errstate(invalid="ignore"):
        slowed = _log_expm1(scale * (mass + gained)) - _log_expm1(scale * mass)
    return np.asarray(np.where(bounded, slowed, np.log1p(gained / mass)) / growth)


def weeks_of_nitrogen_together(
    nitrogen: ArrayLike, owner: Codes, plants: ArrayLike, *growing: ArrayLike
) -> Floats:
    """How long the nitrogen of containers lasts all the plants in each.

    Parameters
    ----------
    nitrogen : array_like, shape (m,)
        Nitrogen in each container [mg].
    owner : ndarray of int, shape (k,)
        The container of each kind of plant; each container has at least one.
    plants : array_like, shape (k,)
        How many of the kind stand in it [-].
    *growing : array_like, shape (k,)
        Mass, relative growth, tissue nitrogen and full growth of each kind, as
        :func:`weeks_of_nitrogen` takes them.

    Returns
    -------
    ndarray, shape (m,)
        Weeks [week]; NaN where nitrogen is not known.

    Examples
    --------
    Two plants alike share what one would have.

    >>> two = weeks_of_nitrogen_together([255.0], np.array([0]), [2], 0.1, 0.7, 35.0, 5.0)
    >>> one = weeks_of_nitrogen([127.5], 0.1, 0.7, 35.0, 5.0)
    >>> print(two.round(2), one.round(2))
    [5.56] [5.56]
    """
    stock, count = np.asarray(nitrogen, dtype=np.float64), np.asarray(plants, dtype=np.float64)
    mass, growth, tissue, most = (
        in_shape(np.asarray(each, dtype=np.float64), owner.shape) for each in growing
    )
    alone = weeks_of_nitrogen(stock[owner] / count, mass, growth, tissue, most)
    weeks = np.full(stock.shape, np.inf)
    np.minimum.at(weeks, owner, np.where(np.isnan(alone), np.inf, alone))
    weeks = np.where(np.isnan(stock), np.nan, weeks)
    if np.unique(owner).size == owner.size:
        return weeks
    lasting = np.isfinite(weeks)
    # Uptake rises ever faster, so that Newton's steps come down from above and never overshoot.
    for _ in range(_STEPS):
        at = np.where(lasting, np.maximum(weeks, 0.0), 0.0)[owner]
        mass_then = grown(mass, growth, at, most)
        taken = count * tissue * (mass_then - mass)
        with np.errstate(divide="ignore", invalid="ignore"):
            rate = count * tissue * -most * np.expm1(-growth * mass_then / most)
        rate = np.where(np.isfinite(most), rate, count * tissue * growth * mass_then)
        excess = np.bincount(owner, taken, minlength=stock.size) - stock
        later = weeks - excess / np.bincount(owner, rate, minlength=stock.size)
        weeks = np.where(lasting, later, weeks)
    return np.asarray(np.maximum(weeks, 0.0))


def lime_rate(ph: ArrayLike, target_ph: ArrayLike, rate_per_unit: ArrayLike) -> Floats:
    r"""Ground limestone to mix in so that the pH of a medium rises to a target.

    .. math:: \max(0,\ \mathrm{pH_{target}} - \mathrm{pH})\ r

    Straight-line, so only for small steps: twice the lime does not give twice the rise.

    Parameters
    ----------
    ph, target_ph : array_like, shape (...)
        pH now and wanted [-].
    rate_per_unit : array_like, shape (...)
        Limestone for one unit of pH [g/L of medium].

    Returns
    -------
    ndarray, shape (...)
        Limestone [g/L of medium, the same as kg/m³]; NaN where an argument is NaN.

    Raises
    ------
    ValueError
        If the rate is negative.

    References
    ----------
    .. [1] Marrush, M., Atallah, S. & Bell, M. (2007), University of California, Davis.
    .. [2] Texas A&M AgriLife Extension, Aggie Horticulture.

    Examples
    --------
    From 5.4 to 6.0 at 1.5 g/L for one unit of pH.

    >>> print(lime_rate(5.4, 6.0, 1.5).round(2))
    0.9
    """
    rise = np.asarray(target_ph, dtype=np.float64) - np.asarray(ph, dtype=np.float64)
    return np.asarray(np.maximum(rise, 0.0) * not_negative(rate_per_unit, "a rate"))


def organic_nitrogen_rate(
    nitrogen_wanted: ArrayLike, nitrogen_content: ArrayLike, released: ArrayLike
) -> Floats:
    """Organic nitrogen source to mix in so that a wanted amount is released.

    Parameters
    ----------
    nitrogen_wanted : array_like, shape (...)
        Mineral nitrogen to be released [mg/L of medium].
    nitrogen_content : array_like, shape (...)
        Nitrogen in the source [g/g]: 0.12 for a 12-0-0.
    released : array_like, shape (...)
        Share of it released in the time meant [-].

    Returns
    -------
    ndarray, shape (...)
        Source to mix in [g/L of medium].

    Raises
    ------
    ValueError
        If an argument is negative, or content or share are not above zero.

    References
    ----------
    .. [1] Hartz, T.K. & Johnstone, P.R. (2006), HortTechnology 16:39-42.

    Examples
    --------
    100 mg/L from a 12-0-0 of which half is released.

    >>> print(organic_nitrogen_rate(100.0, 0.12, 0.5).round(2))
    1.67
    """
    yielded = not_negative(nitrogen_content, "a content") * not_negative(released, "a share")
    if (yielded == 0.0).any():
        raise ValueError("a source that releases nothing has no rate")
    return np.asarray(not_negative(nitrogen_wanted, "nitrogen") / 1000.0 / yielded)
