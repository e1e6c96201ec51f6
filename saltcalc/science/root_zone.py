r"""Salt in the root zone between flushes: its profile, what the crop takes up, and how soon.

Water goes down through four quarters of the medium and is used on the way, 40, 30, 20 and 10 % of
it from the top [1]_. With the leaching fraction :math:`LF` and the used share :math:`u_i` down to
depth i, the flow is :math:`q_i = 1 - (1 - LF)\,u_i` of what is given, and at steady state

.. math:: C_i = \frac{C_w - (1 - LF)\,u_i\,U}{q_i}

where :math:`U` is the uptake concentration: what the crop takes up with each litre it uses. Without
uptake the salt is never reckoned too low, and that figure governs warnings.

References
----------
.. [1] Ayers, R.S. & Westcot, D.W. (1985). Water quality for agriculture. FAO Irrigation and
   Drainage Paper 29 Rev. 1, section 2.4: water use pattern and concentration factors.
.. [2] Ku, C.S.M. & Hershey, D.R. (1991). J. Amer. Soc. Hort. Sci. 116:802-806, abstract.
.. [3] Savvas, D. et al. (2005). Eur. J. Hort. Sci.: sodium and chloride level off where uptake
   equals what the water brings.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.optimize.elementwise import find_root
from scipy.stats import norm

from saltcalc.science._arrays import Floats, not_negative
from saltcalc.science.uncertainty import (
    Z_HIGH,
    Interval,
    amount_at,
    normal_sample,
)

USE_PATTERN = (0.4, 0.3, 0.2, 0.1)
"""Water used from each quarter of the root zone, from the top [1]_. [L/L]"""

FRACTION_SPREAD = 0.05
"""Half-width of the 80 % interval of a leaching fraction (judgement). [L/L]

At a leaching fraction of 0.4 [2]_ measured a drainage of 6 where the balance says 5.25: 0.35 would.
"""

APPLIED_SPREAD = 0.05
"""The same of the EC applied, relative: a meter's error (common practice). [-]"""

MOST_UPTAKE = 0.7
"""Most of the EC of a feed that a crop takes up with the water it uses (judgement). [-]

Found were 0.67 and 0.38 dS/m, a third and a fifth of the feed, at leaching fractions 0.1 and 0.2
[2]_; solutions for closed systems are taken up whole.
"""

HORIZON = 364.0
"""Days of a year of weeks; what takes longer is not told apart."""

LIMIT_SPREAD = 0.10
"""Standard deviation of the logarithm of the EC that comes to be over its limit (judgement). [-]

The water's EC and its change over weeks, and how well the limit is known.
"""

_STRETCHES = ((1, 28), (7, 8), (28, 10))
"""Days in a step, and how many such steps."""

_SHORTEST = 0.5
_TAIL = 0.2
_SIZE = 32


class Profile(NamedTuple):
    """Salt down a root zone at steady state. Arrays of shape (...)."""

    levels: Floats
    """At the surface and below each quarter, shape (..., 5), in the unit of what is applied."""
    mean: Floats
    """Mean over the root zone, of those five levels as in [1]_."""
    drainage: Floats
    """What drains; infinite where nothing does."""


class SteadyRange(NamedTuple):
    """A steady state with its 80 % interval. Arrays of shape (...)."""

    without_uptake: Floats
    """The middle without uptake, which governs warnings. [dS/m]"""
    low: Floats
    """With most uptake and more drainage. [dS/m]"""
    high: Floats
    """Without uptake and with less drainage. [dS/m] Infinite where perhaps nothing drains."""


class Days(NamedTuple):
    """Days until a limit is crossed. Arrays of shape (...)."""

    value: Floats
    """The inverse of the mean of 1/days over all cases, at most :data:`HORIZON`.

    It moves smoothly with the water, where the day of a single case leaps to never.
    """
    low: Floats
    """The same over the quickest fifth of the cases, for whoever wants to be safe."""
    high: Floats
    """The same over the slowest fifth."""
    share: Floats
    """Share of the cases that cross it within :data:`HORIZON`. [-]"""


def steady_profile(
    applied: npt.ArrayLike, leaching_fraction: npt.ArrayLike, uptake: npt.ArrayLike = 0.0
) -> Profile:
    r"""Steady state down the root zone, of EC or of one ion.

    Parameters
    ----------
    applied : array_like, shape (...)
        EC [dS/m] or concentration [mmol/L] of water and feed together.
    leaching_fraction : array_like, shape (...)
        Drained over applied water, 0 to 1. [L/L]
    uptake : array_like, shape (...)
        Taken up with each litre used, in the unit of ``applied``.

    Returns
    -------
    Profile
        Never below zero: a crop takes up no more than there is.

    Raises
    ------
    ValueError
        If an argument is negative, or a fraction above 1.

    References
    ----------
    FAO 29 [1]_, with uptake added to the balance.

    Examples
    --------
    FAO 29 has a mean of 3.2 times the water at a leaching fraction of 0.15, in the soil's water.

    >>> float(steady_profile(1.0, 0.15).mean.round(2))
    3.18
    """
    water = not_negative(applied, "applied")
    fraction = not_negative(leaching_fraction, "leaching_fraction")
    taken = not_negative(uptake, "uptake")
    if np.any(fraction > 1):
        raise ValueError("leaching_fraction must not be above 1")
    used = np.concatenate([[0.0], np.cumsum(USE_PATTERN)])
    use = (1.0 - fraction)[..., np.newaxis] * used
    flow = 1.0 - use
    flow[..., -1] = fraction
    with np.errstate(divide="ignore", invalid="ignore"):
        salt = np.maximum(water[..., np.newaxis] - use * taken[..., np.newaxis], 0.0)
        levels = np.where(salt == 0, 0.0, salt / flow)
    return Profile(levels, levels.mean(axis=-1), levels[..., -1])


def steady_range(ec_applied: npt.ArrayLike, leaching_fraction: npt.ArrayLike) -> SteadyRange:
    """EC that the drainage comes to, with what is not known of uptake and of the fraction.

    Parameters
    ----------
    ec_applied : array_like, shape (...)
        EC of water and feed together. [dS/m]
    leaching_fraction : array_like, shape (...)
        Drained over applied water. [L/L]

    Returns
    -------
    SteadyRange

    Raises
    ------
    ValueError
        If an argument is negative, or a fraction above 1.

    References
    ----------
    Salt balance of FAO 29 [1]_, equation 2, with uptake; bounds after [2]_.

    Examples
    --------
    A feed of 2.1 at a leaching fraction of 0.2; 9 was measured.

    >>> got = steady_range(2.1, 0.2)
    >>> float(got.without_uptake.round(1)), bool(got.low < 9 < got.high)
    (10.5, True)
    """
    applied = not_negative(ec_applied, "ec_applied")
    fraction = not_negative(leaching_fraction, "leaching_fraction")
    more = np.minimum(fraction + FRACTION_SPREAD, 1.0)
    less = np.maximum(fraction - FRACTION_SPREAD, 0.0)
    least = (1.0 - APPLIED_SPREAD) * applied
    return SteadyRange(
        without_uptake=steady_profile(applied, fraction).drainage,
        low=steady_profile(least, more, MOST_UPTAKE * least).drainage,
        high=steady_profile((1.0 + APPLIED_SPREAD) * applied, less).drainage,
    )


def _daily_map(
    irrigation: Floats, use: Floats, held: Floats, applied: Floats, uptake: Floats
) -> Floats:
    """Work out what a day does to the four quarters and a constant one, shape (cases, 5, 5)."""
    cases, quarters = irrigation.size, len(USE_PATTERN)
    used = np.concatenate([[0.0], np.cumsum(USE_PATTERN)])
    flow = irrigation[:, np.newaxis] - use[:, np.newaxis] * used
    room = held / quarters
    rate = np.zeros((cases, quarters + 1, quarters + 1))
    for quarter in range(quarters):
        rate[:, quarter, quarter] = -np.maximum(flow[:, quarter + 1], 0.0) / room
        if quarter:
            rate[:, quarter, quarter - 1] = flow[:, quarter] / room
        rate[:, quarter, -1] = -uptake * use * USE_PATTERN[quarter] / room
    rate[:, 0, -1] += applied * flow[:, 0] / room
    largest = np.abs(rate).sum(axis=-1).max(initial=0.0)
    doublings = max(int(np.ceil(np.log2(largest))) + 1, 0) if largest > 0 else 0
    step = rate / 2.0**doublings
    whole = term = np.broadcast_to(np.eye(quarters + 1), rate.shape)
    for number in range(1, 15):
        term = term @ step / number
        whole = whole + term
    for _ in range(doublings):
        whole = whole @ whole
    return np.asarray(whole)


def fraction_for_mean(applied: npt.ArrayLike, limit: npt.ArrayLike) -> Floats:
    """Leaching fraction that keeps the mean of the root zone at a limit; the profile turned round.

    It serves EC, chloride, sodium and boron alike, each with its own limit. Boron and held ions
    come to their steady state far later, since the medium holds them, but to the same one.

    Parameters
    ----------
    applied : array_like, shape (...)
        EC [dS/m] or concentration in water and feed together.
    limit : array_like, shape (...)
        Limit in the solution of the medium, in the same unit.

    Returns
    -------
    ndarray, shape (...)
        Leaching fraction. [L/L] NaN where none does: the water itself is at the limit or above.

    Raises
    ------
    ValueError
        If an argument is negative.

    References
    ----------
    :func:`steady_profile` without uptake.

    Examples
    --------
    >>> float(fraction_for_mean(1.0, 3.18).round(3))
    0.15
    """
    water, wanted = np.broadcast_arrays(
        not_negative(applied, "applied"), not_negative(limit, "limit")
    )
    possible = (wanted > water) & (water > 0)
    factor = np.where(possible, wanted / np.where(water > 0, water, 1.0), 2.0)

    def excess(fraction: Floats, *factors: Floats) -> Floats:
        return steady_profile(1.0, fraction).mean - factors[0]

    found: Any = find_root(
        excess, (np.full(factor.shape, 1e-9), np.ones(factor.shape)), args=(factor,)
    )
    fraction = np.where(possible & found.success, found.x, np.nan)
    return np.where((water == 0) & ~np.isnan(wanted), 0.0, fraction)


class _Courses(NamedTuple):
    """Mean of the root zone on days, as ``slope`` × start + ``gain``, shape (days, cases)."""

    days: Floats
    slope: Floats
    gain: Floats


def _courses(
    applied: Floats, irrigation: Floats, use: Floats, held: Floats, uptake: Floats
) -> _Courses:
    step = _daily_map(irrigation, use, held, applied, uptake)
    state = np.zeros((step.shape[0], step.shape[1], 2))
    state[:, :-1, 0] = 1.0
    state[:, -1, 1] = 1.0
    days, states, length = [0], [state], 1
    for stretch, number in _STRETCHES:
        step = np.linalg.matrix_power(step, stretch // length)
        length = stretch
        for _ in range(number):
            states.append(step @ states[-1])
            days.append(days[-1] + stretch)
    means = np.stack(states)[:, :, :-1].mean(axis=2)
    return _Courses(np.array(days, dtype=np.float64), means[..., 0], means[..., 1])


def _drawn(
    ec_applied: npt.ArrayLike,
    irrigation: npt.ArrayLike,
    evapotranspiration: npt.ArrayLike,
    water_held: Interval,
    ec_start: Interval,
    uptake_share: npt.ArrayLike,
) -> tuple[tuple[int, ...], Floats, _Courses]:
    """Draw cases; return their shape, the starting EC (m × size,), and their courses."""
    scores = normal_sample(3, _SIZE)
    parts = [
        not_negative(part, name)
        for part, name in (
            (ec_applied, "ec_applied"),
            (irrigation, "irrigation"),
            (evapotranspiration, "evapotranspiration"),
            (uptake_share, "uptake_share"),
        )
    ]
    shape = np.broadcast_shapes(
        *(part.shape for part in parts),
        *(np.shape(part) for part in (*water_held, *ec_start)),
    )
    applied, given, use, share = (np.broadcast_to(part, shape)[..., np.newaxis] for part in parts)
    held, start = (
        amount_at(
            scores[:, column],
            Interval(*(np.broadcast_to(part, shape)[..., np.newaxis] for part in interval)),
        )
        for column, interval in ((0, water_held), (1, ec_start))
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        fraction = np.where(given > 0, 1.0 - np.minimum(use, given) / given, 0.0)
    drains = fraction > 0
    # Where all that is given is used, nothing drains whatever the fraction is uncertain by.
    fraction = fraction + np.where(drains, FRACTION_SPREAD * scores[:, 2] / Z_HIGH, 0.0)
    used = given * (1.0 - np.clip(fraction, 0.0, 0.95))
    flat = [
        np.broadcast_to(part, (*shape, _SIZE)).reshape(-1)
        for part in (applied, given, used, held, share * applied)
    ]
    return shape, np.broadcast_to(start, (*shape, _SIZE)).reshape(-1), _courses(*flat)


def days_until(
    ec_limit: npt.ArrayLike,
    ec_start: Interval,
    ec_applied: npt.ArrayLike,
    irrigation: npt.ArrayLike,
    evapotranspiration: npt.ArrayLike,
    water_held: Interval,
    uptake_share: npt.ArrayLike = 0.0,
) -> Days:
    """Days until the mean of the root zone goes above a limit, with what is not known exactly.

    Parameters
    ----------
    ec_limit : array_like, shape (...)
        EC of the solution not to go beyond. [dS/m]
    ec_start : Interval of shape (...)
        EC at the start, the same in all quarters. [dS/m]
    ec_applied : array_like, shape (...)
        EC of water and feed together. [dS/m]
    irrigation, evapotranspiration : array_like, shape (...)
        Water given and used, daily. [L/day] Use above what is given is cut to it.
    water_held : Interval of shape (...)
        Water the container holds. [L]
    uptake_share : array_like, shape (...)
        Taken up with each litre used, over the EC applied: 0 for the figure that governs
        warnings, up to :data:`MOST_UPTAKE` for a well-fed crop. [-]

    Returns
    -------
    Days

    Raises
    ------
    ValueError
        If an argument is negative.

    References
    ----------
    The balance of this module by quarters, solved exactly at the ends of days, of weeks after
    four weeks, and of four weeks after twelve.

    Examples
    --------
    >>> got = days_until(
    ...     3.0, Interval.of(2.0, 1.8, 2.2), 1.0, 0.5, 0.4, Interval.of(6.0, 5.4, 6.6)
    ... )
    >>> bool(got.low <= got.value <= got.high)
    True
    """
    limit = not_negative(ec_limit, "ec_limit")
    shape, start, course = _drawn(
        ec_applied, irrigation, evapotranspiration, water_held, ec_start, uptake_share
    )
    shape = np.broadcast_shapes(shape, limit.shape)
    wanted = np.broadcast_to(limit[..., np.newaxis], (*shape, _SIZE)).reshape(-1)
    highest = np.maximum.accumulate(course.slope * start + course.gain, axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        chance = norm.cdf(np.log(highest / wanted) / LIMIT_SPREAD)
    crossed = chance.reshape(len(course.days), *shape, _SIZE).mean(axis=-1)
    gone = np.diff(crossed, axis=0, prepend=0.0)
    middle = np.concatenate([[_SHORTEST], 0.5 * (course.days[1:] + course.days[:-1])])
    pace = (1.0 / np.maximum(middle, _SHORTEST)).reshape(-1, *(1,) * len(shape))
    # What crosses in each step and belongs to the quickest fifth, and to the slowest.
    quick = np.diff(np.minimum(crossed, _TAIL), axis=0, prepend=0.0)
    slow = np.diff(np.maximum(crossed - (1.0 - _TAIL), 0.0), axis=0, prepend=0.0)
    with np.errstate(divide="ignore"):
        value, low, high = (
            np.minimum(1.0 / (pace * part).sum(axis=0) * share, HORIZON)
            for part, share in ((gone, 1.0), (quick, _TAIL), (slow, _TAIL))
        )
    return Days(value, low, high, crossed[-1])


def start_that_lasts(
    ec_limit: npt.ArrayLike,
    days: float,
    ec_applied: npt.ArrayLike,
    irrigation: npt.ArrayLike,
    evapotranspiration: npt.ArrayLike,
    water_held: Interval,
    confidence: float = 0.8,
) -> Floats:
    """EC to flush down to so that the limit is not crossed for given days.

    Parameters
    ----------
    ec_limit : array_like, shape (...)
        EC of the solution not to go beyond. [dS/m]
    days : float
        How long it is to last, up to :data:`HORIZON`.
    ec_applied, irrigation, evapotranspiration, water_held
        As for :func:`days_until`; without uptake.
    confidence : float
        Share of the cases in which it lasts. [-]

    Returns
    -------
    ndarray, shape (...)
        EC. [dS/m] Below zero where no start is low enough; at most the limit.

    Raises
    ------
    ValueError
        If an argument is negative.

    Examples
    --------
    >>> held = Interval.of(6.0, 5.4, 6.6)
    >>> bool(1.0 < start_that_lasts(3.0, 28.0, 1.0, 0.5, 0.4, held) < 3.0)
    True
    """
    limit = not_negative(ec_limit, "ec_limit")
    one = Interval.of(1.0, 1.0, 1.0)
    shape, _, course = _drawn(ec_applied, irrigation, evapotranspiration, water_held, one, 0.0)
    shape = np.broadcast_shapes(shape, limit.shape)
    wanted = np.broadcast_to(limit[..., np.newaxis], (*shape, _SIZE)).reshape(-1)
    within = course.days <= days
    with np.errstate(divide="ignore", invalid="ignore"):
        allowed = ((wanted - course.gain) / course.slope)[within].min(axis=0)
    allowed = np.minimum(allowed, wanted).reshape(*shape, _SIZE)
    return np.asarray(np.quantile(allowed, 1.0 - confidence, axis=-1, method="inverted_cdf"))
