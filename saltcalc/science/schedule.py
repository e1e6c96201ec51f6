"""When to pour: how long a pass takes, and which rests and passes a day suit a medium.

Rests let standing water give its salt to the flowing. Where that is quick or there is little of
it, rests buy nothing and take time; where it is slow, one pass a day may halve the water.
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
    figures_of,
    filled,
    in_shape,
    not_negative,
    of_columns,
    one_shape,
    picked,
)
from saltcalc.science.pass_days import Timing, settled_by_pass
from saltcalc.science.plan import Flush
from saltcalc.science.sampled_pots import Uncertain, sample_pots
from saltcalc.science.wetting import WETTED, water_kept

WORKING_DAY = 10.0
"""Hours of a day in which passes are poured (common practice)."""

SHORTEST_PASS = 0.1
"""Least time of a pass, in which it is poured on and drains (judgement). [h]"""

SLACK = 0.1
"""Share of the passes that shorter rests may take more than the longest (judgement). [-]"""

HARD_SCORES = np.array([[-0.8, 0.6, -0.4, 0.5, 0.5, 0.8, 0.2, 0.3, 0.8, 0.0]])
"""Standard-normal scores of a container that takes about as much as one in five takes more than.

One container in the place of the whole sample: fitted to what the sample asks for at a share of
0.8, in seven media from a little salt to much, at three heights and every rest; it is off by 0.4 of
a pass there on average (computed).
"""

RESTS = (0.0, 0.5, 1.0, 2.0, 4.0)
"""Rests between passes of one day that are weighed against each other. [h]

One pass a day is among them.
"""


class Schedule(NamedTuple):
    """Chosen timing, and what the choice rests on. Arrays of shape (m,) and (m, choices)."""

    timing: Timing
    """Of the choice."""
    litres: Floats
    """Water that a hard container takes at each choice; infinite where it does not do. [L]

    The last pass counts by the part of it that is needed.
    """
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


def choose_timing(flush: Flush, known: Uncertain) -> Schedule:
    """Choose the shortest rests whose water is hardly more than the least, medium by medium.

    Hardly more is a pass, or :data:`SLACK` of the passes. So no rest is asked for where it buys
    little, and a medium with a little more salt never gets clearly less water by other rests. The
    water is that of the container at :data:`HARD_SCORES`, not of the middle one, since that is what
    is told.

    Parameters
    ----------
    flush : Flush
        What is there and wanted, shape (m,); no figure is missing, here and below.
    known : Uncertain
        The containers, of shape (m,).

    Returns
    -------
    Schedule
        Where no choice gets there, the first is kept.

    Examples
    --------
    A little salt in peat is poured out in one visit, much of it with rests of an hour.

    >>> from saltcalc.science.plan import UncertainWashout
    >>> from saltcalc.science.sampled_pots import Start
    >>> from saltcalc.science.uncertainty import Interval
    >>> def of(*figures):
    ...     return UncertainWashout(*(Interval.of(x, 0.7 * x, 1.3 * x) for x in figures))
    >>> def about(x):
    ...     return Interval.of(x, 0.9 * x, 1.1 * x)
    >>> peat = Uncertain(of(0.7, 0.25, 0.3, 0.05), about(6.2), about(4.0), about(1.0), Start())
    >>> little = Flush(4.0, 3.0, 0.5, 6.2, 0.0, 1.14, 100.0, 0.25)
    >>> choose_timing(little, peat).timing.rest
    array([0.])
    >>> much = peat._replace(ec_medium=about(14.0))
    >>> choose_timing(little._replace(ec_medium=14.0), much).timing.rest
    array([1.])
    """
    figures = [np.asarray(each, dtype=np.float64) for each in figures_of((flush, known))]
    shape = one_shape(*figures, least=(1,))
    columns = iter([in_shape(each, shape).reshape(-1) for each in figures])
    flush, known = of_columns(flush, columns), of_columns(known, columns)
    _, target, water, _, deficit, each, ceiling, hours = map(np.asarray, flush)
    kept = water_kept(WETTED * deficit, deficit, known.start.reach)
    drawn = sample_pots(known, water, kept, HARD_SCORES)
    pots, held, factor = drawn.pots.some(np.s_[:, 0]), drawn.held[:, 0], drawn.factor[:, 0]
    start = drawn.start * drawn.profile[:, 0] - cycles.even_excess(pots, water, 0.0)
    wanted = target * factor - water
    most = np.maximum((ceiling - deficit) // each, 0).astype(np.int64)
    one = cycles.pass_map(pots, each / held, hours)
    # Every choice of every container side by side, the choices of one container together.
    choices = timings(hours)
    number = len(RESTS) + 1
    every = np.repeat(np.arange(len(target)), number)
    timing = Timing(*(np.asarray(part).reshape(-1) for part in choices))
    settled = settled_by_pass(pots.some(every), one[every], start[every], timing, most[every] + 1)
    passes, part = _passes_to(settled, wanted[every], most[every])
    used = np.maximum(passes - 1 + part, 0.0)
    used = np.where(passes <= most[every], used, np.inf).reshape(-1, number)
    least = used.min(axis=-1, keepdims=True)
    chosen = np.argmax(used <= least + np.maximum(1.0, SLACK * least), axis=-1)
    rows = np.arange(len(chosen))
    picked = Timing(*(np.asarray(part).reshape(-1, number)[rows, chosen] for part in timing))
    return Schedule(picked, deficit[:, np.newaxis] + used * each[:, np.newaxis], chosen)


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
