r"""Salt build-up between flushes: where the medium's EC goes, and how soon.

The container is taken as well mixed over days, with daily irrigation :math:`I`, evapotranspiration
:math:`E` and drainage :math:`D = I - E`; plants take up water and leave the salt.

.. math:: W \frac{dC}{dt} = I C_w - D\,[\eta C + (1 - \eta) C_w]

Nutrient uptake is left out, which errs on the side of more salt; slow release is left out too.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Floats, not_negative


def steady_state_ec(
    ec_applied: npt.ArrayLike, leaching_fraction: npt.ArrayLike, efficiency: npt.ArrayLike = 1.0
) -> Floats:
    r"""EC the medium's solution comes to at a leaching fraction kept up.

    .. math:: C_\infty = C_w\,\frac{1 - LF\,(1 - \eta)}{LF\,\eta}

    Parameters
    ----------
    ec_applied : array_like, shape (...)
        EC of water and feed together, as applied. [dS/m]
    leaching_fraction : array_like, shape (...)
        Drained over applied water. [L/L]
    efficiency : array_like, shape (...)
        Share of the drainage that is the medium's solution; the rest runs past. [L/L]

    Returns
    -------
    ndarray, shape (...)
        EC at steady state. [dS/m] Infinite where nothing drains and the water holds salt.

    Raises
    ------
    ValueError
        If an argument is negative, or a fraction or an efficiency is above 1.

    References
    ----------
    Salt balance of FAO 29 (Ayers & Westcot 1985), equation 2, with the by-pass of part of the
    drainage added.

    Examples
    --------
    A leaching fraction of 0.2 comes to five times the EC of the water.

    >>> print(steady_state_ec(0.8, 0.2).round(2))
    4.0
    """
    water = not_negative(ec_applied, "ec_applied")
    fraction = _share(leaching_fraction, "leaching_fraction")
    moving = _share(efficiency, "efficiency")
    with np.errstate(divide="ignore", invalid="ignore"):
        steady = water * (1.0 - fraction * (1.0 - moving)) / (fraction * moving)
    return np.where((water == 0) & ~np.isnan(fraction * moving), 0.0, steady)


def leaching_fraction_for(
    ec_applied: npt.ArrayLike, ec_limit: npt.ArrayLike, efficiency: npt.ArrayLike = 1.0
) -> Floats:
    """Leaching fraction that keeps the medium's solution at a limit; the steady state turned round.

    Parameters
    ----------
    ec_applied : array_like, shape (...)
        EC of water and feed together, as applied. [dS/m]
    ec_limit : array_like, shape (...)
        EC of the solution not to go beyond. [dS/m]
    efficiency : array_like, shape (...)
        Share of the drainage that is the medium's solution. [L/L]

    Returns
    -------
    ndarray, shape (...)
        Leaching fraction. [L/L] NaN where it would be 1 or more: this water cannot hold the limit.

    Raises
    ------
    ValueError
        If an argument is negative, or an efficiency is above 1.

    Examples
    --------
    To hold 4 dS/m with water of 0.8, a fifth must drain.

    >>> print(leaching_fraction_for(0.8, 4.0).round(2))
    0.2
    """
    water = not_negative(ec_applied, "ec_applied")
    limit = not_negative(ec_limit, "ec_limit")
    moving = _share(efficiency, "efficiency")
    with np.errstate(divide="ignore", invalid="ignore"):
        fraction = water / (moving * limit + (1.0 - moving) * water)
    return np.where(fraction < 1, fraction, np.nan)


def ec_over_days(
    ec_start: npt.ArrayLike,
    ec_applied: npt.ArrayLike,
    irrigation: npt.ArrayLike,
    evapotranspiration: npt.ArrayLike,
    water_held: npt.ArrayLike,
    days: npt.ArrayLike,
    efficiency: npt.ArrayLike = 1.0,
) -> Floats:
    """EC of the medium's solution on given days.

    Parameters
    ----------
    ec_start : array_like, shape (...)
        EC at the start. [dS/m]
    ec_applied : array_like, shape (...)
        EC of water and feed together, as applied. [dS/m]
    irrigation, evapotranspiration : array_like, shape (...)
        Water given and used, daily. [L/day] Use above what is given is cut to what is given.
    water_held : array_like, shape (...)
        Water the container holds. [L]
    days : array_like, shape (d,) or broadcastable
        Days from the start.
    efficiency : array_like, shape (...)
        Share of the drainage that is the medium's solution. [L/L]

    Returns
    -------
    ndarray, shape (..., d)
        EC. [dS/m]

    Raises
    ------
    ValueError
        If an argument is negative, or an efficiency is above 1.

    Examples
    --------
    A pot of 5 L of water that drinks 0.5 L a day of 1 dS/m and drains nothing gains 0.1 dS/m a day.

    >>> print(ec_over_days(2.0, 1.0, 0.5, 0.5, 5.0, [0, 10, 30]).round(2))
    [2. 3. 5.]
    """
    start, steady_gain, rate = _course(
        ec_start, ec_applied, irrigation, evapotranspiration, water_held, efficiency
    )
    time = np.asarray(days, dtype=np.float64)
    start, steady_gain, rate = (part[..., np.newaxis] for part in (start, steady_gain, rate))
    faded = np.exp(-rate * time)
    with np.errstate(divide="ignore", invalid="ignore"):
        gained = np.where(rate > 0, -np.expm1(-rate * time) / rate, time)
    return np.asarray(start * faded + steady_gain * gained)


def ec_that_lasts(
    ec_limit: npt.ArrayLike,
    days: npt.ArrayLike,
    ec_applied: npt.ArrayLike,
    irrigation: npt.ArrayLike,
    evapotranspiration: npt.ArrayLike,
    water_held: npt.ArrayLike,
    efficiency: npt.ArrayLike = 1.0,
) -> Floats:
    """EC to start from so that the medium's solution is at a limit after given days.

    :func:`ec_over_days` turned round.

    Parameters
    ----------
    ec_limit : array_like, shape (...)
        EC not to go beyond. [dS/m]
    days : array_like, shape (...)
        How long it is to last.
    ec_applied, irrigation, evapotranspiration, water_held, efficiency : array_like, shape (...)
        As for :func:`ec_over_days`.

    Returns
    -------
    ndarray, shape (...)
        EC. [dS/m] Below zero where no start is low enough; above the limit where the medium
        falls by itself.

    Raises
    ------
    ValueError
        If an argument is negative, or an efficiency is above 1.

    Examples
    --------
    To be at 4 dS/m in 20 days at a gain of 0.1 a day, start at 2.

    >>> print(ec_that_lasts(4.0, 20, 1.0, 0.5, 0.5, 5.0).round(2))
    2.0
    """
    time = not_negative(days, "days")
    limit, steady_gain, rate = _course(
        ec_limit, ec_applied, irrigation, evapotranspiration, water_held, efficiency
    )
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        gained = np.where(rate > 0, -np.expm1(-rate * time) / rate, time)
        return np.asarray((limit - steady_gain * gained) * np.exp(rate * time))


def days_to_limit(
    ec_limit: npt.ArrayLike,
    ec_start: npt.ArrayLike,
    ec_applied: npt.ArrayLike,
    irrigation: npt.ArrayLike,
    evapotranspiration: npt.ArrayLike,
    water_held: npt.ArrayLike,
    efficiency: npt.ArrayLike = 1.0,
) -> Floats:
    """Day on which the medium's solution goes above a limit; from just after a flush, its interval.

    Parameters
    ----------
    ec_limit : array_like, shape (...)
        EC not to go beyond. [dS/m]
    ec_start, ec_applied, irrigation, evapotranspiration, water_held, efficiency : array_like
        As for :func:`ec_over_days`.

    Returns
    -------
    ndarray, shape (...)
        Days; 0 where it is above already, infinite where it never gets there.

    Raises
    ------
    ValueError
        If an argument is negative, or an efficiency is above 1.

    Examples
    --------
    >>> print(days_to_limit(4.0, 2.0, 1.0, 0.5, 0.5, 5.0).round(1))
    20.0
    """
    start, gain, rate = _course(
        ec_start, ec_applied, irrigation, evapotranspiration, water_held, efficiency
    )
    limit = not_negative(ec_limit, "ec_limit")
    with np.errstate(divide="ignore", invalid="ignore"):
        steady = gain / rate
        leached = -np.log1p((limit - start) / (start - steady)) / rate
        straight = (limit - start) / gain
        days = np.where(rate > 0, leached, straight)
        never = np.where(rate > 0, steady <= limit, gain == 0)
    missing = np.isnan(limit) | np.isnan(start) | np.isnan(gain) | np.isnan(rate)
    days = np.where(never, np.inf, days)
    return np.where(missing, np.nan, np.where(start > limit, 0.0, days))


def _course(
    ec_start: npt.ArrayLike,
    ec_applied: npt.ArrayLike,
    irrigation: npt.ArrayLike,
    evapotranspiration: npt.ArrayLike,
    water_held: npt.ArrayLike,
    efficiency: npt.ArrayLike,
) -> tuple[Floats, Floats, Floats]:
    """Return start, daily gain of EC and rate of loss, of one shape."""
    start = not_negative(ec_start, "ec_start")
    water = not_negative(ec_applied, "ec_applied")
    given = not_negative(irrigation, "irrigation")
    used = np.minimum(not_negative(evapotranspiration, "evapotranspiration"), given)
    held = not_negative(water_held, "water_held")
    moving = _share(efficiency, "efficiency")
    drained = given - used
    with np.errstate(divide="ignore", invalid="ignore"):
        gain = water * (given - drained * (1.0 - moving)) / held
        rate = drained * moving / held
    start, gain, rate = np.broadcast_arrays(start, gain, rate)
    return start, gain, rate


def _share(values: npt.ArrayLike, name: str) -> Floats:
    share = not_negative(values, name)
    if np.any(share > 1):
        raise ValueError(f"{name} must not be above 1")
    return share
