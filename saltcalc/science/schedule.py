"""When to pour: how long a pass takes, and which rests and passes a day suit a medium.

Rests let standing water give its salt to the flowing. Where that is quick or there is little of
it, rests buy nothing and cost visits; where it is slow, one pass a day may halve the water.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science import cycles
from saltcalc.science._arrays import (
    Codes,
    Floats,
    alike,
    filled,
    in_shape,
    not_negative,
    one_shape,
    picked,
)
from saltcalc.science.flush import LAYERS
from saltcalc.science.pass_days import Timing, settled_by_pass
from saltcalc.science.plan import Flush, UncertainWashout

WORKING_DAY = 10.0
"""Hours of a day in which passes are poured (common practice)."""

SHORTEST_PASS = 0.1
"""Least time of a pass, in which it is poured on and drains (judgement). [h]"""

_ALIKE = 1e-9
"""Share by which the costs of two choices differ by rounding alone."""

RESTS = (0.0, 0.5, 1.0, 2.0, 4.0)
"""Rests between passes of one day that are weighed against each other. [h]

One pass a day is among them.
"""


class Labour(NamedTuple):
    """What work is held to be worth, in water over the volume of the pot (judgement)."""

    pouring: npt.ArrayLike = 0.02
    """Of pouring one pass."""
    visit: npt.ArrayLike = 0.05
    """Of coming back for it; passes that follow one another without a rest are one visit."""
    day: npt.ArrayLike = 0.015
    """Of each day more that the flush takes."""


class Schedule(NamedTuple):
    """Chosen timing, and what the choice rests on. Arrays of shape (m,) and (m, choices)."""

    timing: Timing
    """Of the choice that costs least."""
    litres: Floats
    """Water that the middle container takes at each choice; infinite where it does not do. [L]

    The last pass counts by the part of it that is needed.
    """
    cost: Floats
    """Water and labour of each choice, over the volume of the pot. [-]"""
    chosen: Codes
    """Which choice: an index of :data:`RESTS`, or after the last of them one pass a day."""


def pass_time(pass_volume: npt.ArrayLike, area: npt.ArrayLike, rate: npt.ArrayLike) -> Floats:
    r"""Time that a pass takes to sink in.

    .. math:: t = \frac{V / A}{i}

    Parameters
    ----------
    pass_volume : array_like, shape (...)
        Water of the pass. [L]
    area : array_like, shape (...)
        Surface of the medium. [cm²]
    rate : array_like, shape (...)
        Intake rate of the wet medium. [mm/h]

    Returns
    -------
    ndarray, shape (...)
        Time, at least :data:`SHORTEST_PASS`. [h]

    Raises
    ------
    ValueError
        If an argument is negative.

    References
    ----------
    Definition of the intake rate; rates by texture in ``intake_rates.csv``.

    Examples
    --------
    37.5 mm, a quarter of a 15 cm pot, in sand, loam and clay loam.

    >>> pass_time(1.5, 400.0, [108.1, 15.5, 4.3]).round(2)
    array([0.35, 2.42, 8.72])
    """
    depth = 1e4 * not_negative(pass_volume, "pass_volume") / not_negative(area, "area")
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.maximum(depth / not_negative(rate, "rate"), SHORTEST_PASS))


def rate_from_time(minutes_per_cm: npt.ArrayLike) -> Floats:
    """Intake rate from the time in which one centimetre of water sinks into the wet medium.

    Parameters
    ----------
    minutes_per_cm : array_like, shape (...)
        As timed. [min]

    Returns
    -------
    ndarray, shape (...)
        Intake rate. [mm/h] NaN for a time of zero.

    Raises
    ------
    ValueError
        If a time is negative.

    Examples
    --------
    >>> float(rate_from_time(40.0))
    15.0
    """
    minutes = not_negative(minutes_per_cm, "minutes_per_cm")
    with np.errstate(divide="ignore"):
        return np.where(minutes > 0, 600.0 / minutes, np.nan)


def timings(duration: npt.ArrayLike) -> Timing:
    """Every way of spacing passes that is weighed.

    Parameters
    ----------
    duration : array_like, shape (m,)
        Time a pass takes. [h]

    Returns
    -------
    Timing of (m, choices) arrays
        A choice for each of :data:`RESTS`, and one pass a day. As many passes a day as begin and
        end within :data:`WORKING_DAY`, at least one.

    Examples
    --------
    >>> print(timings([0.25]).passes_a_day)
    [[40. 14.  8.  5.  3.  1.]]
    """
    return timing_with_rest(np.asarray(duration)[:, np.newaxis], (*RESTS, np.inf))


def timing_with_rest(duration: npt.ArrayLike, rest: npt.ArrayLike) -> Timing:
    """Fit passes with a given rest between them into working days.

    Parameters
    ----------
    duration, rest : array_like, shape (m,)
        Time a pass takes, and rest after it; an endless rest is one pass a day. [h]

    Returns
    -------
    Timing of (m,) arrays

    Examples
    --------
    >>> timing = timing_with_rest([0.25], 2.0)
    >>> print(timing.passes_a_day, timing.night)
    [5.] [14.75]
    """
    hours, pause = alike(
        np.atleast_1d(np.asarray(duration, dtype=np.float64)), np.asarray(rest, dtype=np.float64)
    )
    with np.errstate(invalid="ignore"):
        fitting = np.floor((WORKING_DAY + np.minimum(pause, 24.0)) / (hours + pause) * (1 + 1e-12))
    number = np.fmax(fitting, 1.0)
    between = np.where(number > 1, np.minimum(pause, 24.0), 0.0)
    at_work = number * hours + (number - 1) * between
    night = 24.0 * np.ceil(at_work / 24.0 * (1 - 1e-12)) - at_work
    return Timing(hours, between, number, np.maximum(night, 0.0))


def choose_timing(
    flush: Flush,
    washout: UncertainWashout,
    volume: npt.ArrayLike,
    labour: Labour | None = None,
) -> Schedule:
    """Choose rests and passes a day by weighing water against labour, medium by medium.

    Parameters
    ----------
    flush : Flush
        What is there and wanted, shape (m,); no figure is missing, here and below.
    washout : UncertainWashout
        The medium; its middle values are used.
    volume : array_like, shape (m,)
        Of the medium. [L]
    labour : Labour, optional
        What work is worth, shape (m,) each.

    Returns
    -------
    Schedule
        Where no choice gets there, the first is kept.

    Examples
    --------
    Peat is poured in one visit; old compost once a day.

    >>> from saltcalc.science.uncertainty import Interval
    >>> def of(*figures):
    ...     return UncertainWashout(*(Interval.of(x, x, x) for x in figures))
    >>> peat = Flush(8.0, 3.0, 0.5, 6.2, 0.0, 1.14, 100.0, 0.25)
    >>> choose_timing(peat, of(0.8, 0.25, 0.3, 0.05), 10.0).timing.rest
    array([0.])
    >>> compost = Flush(17.0, 2.9, 0.6, 45.0, 0.0, 5.0, 800.0, 0.25)
    >>> choose_timing(compost, of(0.75, 0.25, 0.05, 0.2), 80.0).timing.passes_a_day
    array([1.])
    """
    worth = labour or Labour()
    parts = [np.asarray(part, dtype=np.float64) for part in (*flush, volume)]
    values = [np.asarray(interval.value, dtype=np.float64) for interval in washout]
    shape = one_shape(*parts, *values, least=(1,))
    ec, target, water, held, deficit, each, ceiling, hours, pot = (
        in_shape(part, shape).reshape(-1) for part in parts
    )
    parameters = [in_shape(value, shape).reshape(-1) for value in values]
    efficiency, immobile, rate, store = parameters
    pots = cycles.Pots.of(efficiency, immobile, rate, store, LAYERS)
    soaked = water * deficit / held / pots.capacity
    start = cycles.even_excess(pots, ec + soaked, water)
    wanted = target - water
    most = np.maximum((ceiling - deficit) // each, 0).astype(np.int64)
    one = cycles.pass_map(pots, each / held, hours)
    # Every choice of every container side by side, the choices of one container together.
    choices = timings(hours)
    number = len(RESTS) + 1
    every = np.repeat(np.arange(len(ec)), number)
    timing = Timing(*(np.asarray(part).reshape(-1) for part in choices))
    per_day = np.asarray(timing.passes_a_day).astype(np.int64)
    settled = settled_by_pass(pots.some(every), one[every], start[every], timing, most[every] + 1)
    passes, part = _passes_to(settled, wanted[every], most[every])
    days = -(-passes // per_day)
    visits = np.where(np.asarray(timing.rest) > 0, passes, days)
    used = np.maximum(passes - 1 + part, 0.0) * each[every]
    pouring, visit, day = (in_shape(part, shape).reshape(-1)[every] for part in worth)
    labour_cost = pouring * passes + visit * visits + day * days
    does = passes <= most[every]
    litres = np.where(does, deficit[every] + used, np.inf).reshape(-1, number)
    cost = np.where(does, used / pot[every] + labour_cost, np.inf).reshape(-1, number)
    # Choices that cost the same are told apart by their order, not by the last digit.
    least = cost.min(axis=-1, keepdims=True) * (1 + _ALIKE)
    chosen = np.argmax(cost <= least, axis=-1)
    rows = np.arange(len(chosen))
    picked = Timing(*(np.asarray(part).reshape(-1, number)[rows, chosen] for part in timing))
    return Schedule(picked, litres, cost, chosen)


def _passes_to(settled: Floats, wanted: Floats, most: Codes) -> tuple[Codes, Floats]:
    """Count the passes to a wanted excess, and tell what part of the last is needed.

    Within the pass the excess is taken to fall exponentially.
    """
    passes = np.minimum((settled > wanted[:, np.newaxis]).sum(axis=1), most + 1)
    last = np.maximum(passes, 1)
    start, end = picked(settled, last - 1), picked(settled, last)
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.log(start / wanted) / np.log(start / end)
    return passes, np.minimum(np.maximum(filled(part, 1.0), 0.0), 1.0)
