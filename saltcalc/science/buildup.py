r"""Salt build-up between flushes: where the mean of the root zone goes, and how soon.

Each of the five levels of :mod:`saltcalc.science.root_zone`, the surface and the lower ends of the
quarters, stands for a fifth of the water held :math:`W`, so that the mean of the pot comes to the
mean that FAO 29 gives. With the flow :math:`q_i` below each and what the crop takes up :math:`u_i`

.. math:: \frac{W}{5} \frac{dC_i}{dt} = q_{i-1} C_{i-1} - q_i C_i - u_i

References
----------
.. [1] Ayers, R.S. & Westcot, D.W. (1985). Water quality for agriculture. FAO Irrigation and
   Drainage Paper 29 Rev. 1, section 2.4.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Floats, in_shape, not_negative, side_by_side
from saltcalc.science.cycles import followed
from saltcalc.science.root_zone import FRACTION_SPREAD, USE_PATTERN, USED
from saltcalc.science.uncertainty import (
    Z_HIGH,
    Interval,
    amount_at,
    normal_sample,
)

HORIZON = 364.0
"""Days of a year of weeks; what takes longer is not told apart."""

LIMIT_SPREAD = 0.15
"""Standard deviation of the logarithm of the EC that comes to be over its limit (judgement). [-]

The water's EC and its change over weeks, and how well the limit is known.
"""

_STRETCHES = ((1, 28), (7, 8), (28, 10))
"""Days in a step, and how many such steps."""

_SHORTEST = 0.5
_TAIL = 0.6
_SIZE = 32


class Days(NamedTuple):
    """Days until a limit is crossed. Arrays of shape (...)."""

    value: Floats
    """Geometric mean over all cases, of which none is more than :data:`HORIZON`.

    It moves smoothly with the water, where the day of a single case leaps to never.
    """
    low: Floats
    """The same over the quicker three fifths of the cases, for whoever wants to be safe."""
    high: Floats
    """The same over the slower three fifths."""
    share: Floats
    """Share of the cases that cross it within :data:`HORIZON`. [-]"""


class Courses(NamedTuple):
    """Mean of the root zone over days as ``slope`` × start + ``gain``; see :func:`courses`."""

    days: Floats
    """Shape (days,)."""
    slope: Floats
    """Shape (days, ..., cases); the first case is the middle one. [-]"""
    gain: Floats
    """The same shape. [dS/m]"""


def _daily_map(
    irrigation: Floats, use: Floats, held: Floats, applied: Floats, uptake: Floats
) -> Floats:
    """Work out what a day does to the five levels and a constant one, shape (cases, 6, 6)."""
    levels = USED.size
    flow = irrigation[:, np.newaxis] - use[:, np.newaxis] * USED
    room = held / levels
    rate = np.zeros((irrigation.size, levels + 1, levels + 1))
    place, exchanged = np.arange(levels), flow / room[:, np.newaxis]
    rate[:, place, place] = -np.maximum(exchanged, 0.0)
    rate[:, place[1:], place[:-1]] = exchanged[:, :-1]
    rate[:, 1:levels, -1] = -(uptake * use / room)[:, np.newaxis] * USE_PATTERN
    rate[:, 0, -1] = applied * exchanged[:, 0]
    largest = float(np.fmax.reduce(np.abs(rate[:, :, :-1]).sum(axis=-1), axis=None, initial=0.0))
    doublings = max(math.ceil(math.log2(largest)) + 1, 0) if largest > 0 else 0
    term = step = rate / 2.0**doublings
    whole = np.eye(levels + 1) + step
    for number in range(2, 10):
        term = term @ step / number
        whole = whole + term
    for _ in range(doublings):
        whole = whole @ whole
    return np.asarray(whole)


@cache
def _days() -> Floats:
    """Days on which the mean is followed."""
    steps = [np.full(number, stretch) for stretch, number in _STRETCHES]
    return np.cumsum(np.concatenate([[0.0], *steps]))


@cache
def _waits() -> Floats:
    """Return what each day adds to the logarithm of the days until a limit is crossed."""
    days = _days()
    middle = np.concatenate([[_SHORTEST], 0.5 * (days[1:] + days[:-1]), [HORIZON]])
    return np.diff(np.log(middle))


def _means(step: Floats) -> tuple[Floats, Floats]:
    """Follow the mean of the five levels: its slope and gain, shape (days, cases)."""
    row = np.zeros((step.shape[0], 1, step.shape[1]))
    row[..., :-1] = 1.0 / (step.shape[1] - 1)
    rows, length = [row], 1
    for stretch, number in _STRETCHES:
        step = np.linalg.matrix_power(step, stretch // length)
        length = stretch
        rows.append(followed(rows[-1][:, -1:], step, number + 1)[:, 1:])
    told = np.concatenate(rows, axis=1).swapaxes(0, 1)
    return told[..., :-1].sum(axis=-1), told[..., -1]


def courses(
    ec_applied: npt.ArrayLike,
    irrigation: npt.ArrayLike,
    evapotranspiration: npt.ArrayLike,
    water_held: Interval,
    uptake: npt.ArrayLike = 0.0,
) -> Courses:
    """Follow the mean of the root zone over a year, in a middle case and in drawn ones.

    Parameters
    ----------
    ec_applied : array_like, shape (...)
        EC of water and feed together. [dS/m]
    irrigation, evapotranspiration : array_like, shape (...)
        Water given and used, daily. [L/day] Use above what is given is cut to it.
    water_held : Interval of shape (...)
        Water the container holds. [L]
    uptake : array_like, shape (...)
        Taken up with each litre used: 0 for the figures that govern warnings. [dS/m]

    Returns
    -------
    Courses

    Raises
    ------
    ValueError
        If an argument is negative.

    References
    ----------
    The salt balance of [1]_ by levels, solved exactly at the ends of days, of weeks after four
    weeks, and of four weeks after twelve.

    Examples
    --------
    >>> course = courses(1.0, 0.5, 0.4, Interval.of(6.0, 5.4, 6.6))
    >>> after_four_weeks = course.slope[28, 0] * 2.0 + course.gain[28, 0]
    >>> print(after_four_weeks.round(2))
    2.66
    """
    parts = [
        not_negative(part, name)
        for part, name in (
            (ec_applied, "ec_applied"),
            (irrigation, "irrigation"),
            (evapotranspiration, "evapotranspiration"),
            (uptake, "uptake"),
        )
    ]
    table = side_by_side((*parts, *water_held))
    shape = table.shape[:-1]
    # What is watered alike is followed once.
    rows = table.reshape(-1, table.shape[-1])
    unlike, where = rows, np.zeros(1, dtype=np.int64)
    if len(rows) != 1:
        unlike, where = np.unique(rows, axis=0, return_inverse=True, equal_nan=True)
    applied, given, use, taken, *ends = unlike.T[..., np.newaxis]
    scores = _scores()
    held = amount_at(scores[:, 0], Interval(*ends))
    with np.errstate(divide="ignore", invalid="ignore"):
        fraction = np.where(given > 0, 1.0 - np.minimum(use, given) / given, 0.0)
    # Where all that is given is used, nothing drains whatever the fraction is uncertain by.
    spread = np.where(fraction > 0, FRACTION_SPREAD * scores[:, 1] / Z_HIGH, 0.0)
    used = given * (1.0 - np.clip(fraction + spread, 0.0, 0.999))
    full = (len(unlike), scores.shape[0])
    flat = [in_shape(part, full).reshape(-1) for part in (given, used, held, applied, taken)]
    days = _days()
    slope, gain = (
        each.reshape(days.size, *full)[:, where.reshape(-1)].reshape(days.size, *shape, full[1])
        for each in _means(_daily_map(*flat))
    )
    return Courses(days, slope, gain)


@cache
def _scores() -> Floats:
    """Scores of the middle case and of the drawn ones, shape (cases, 4)."""
    return np.concatenate([np.zeros((1, 4)), normal_sample(4, _SIZE)])


_FAR = 36.0
"""Score beyond which the normal share underflows."""

_TAIL_WIDTH, _TAIL_POWER = 4.0, 14
"""Scale of the scores, and power of the polynomial, of :func:`_log_share_below`."""


@cache
def _tail() -> Floats:
    """Return the polynomial of :func:`_log_share_below`, the highest power first.

    It goes through values of the error function itself, and strays from them by less than 1e-10.
    """

    def left(part: Any) -> Any:
        scores = [_TAIL_WIDTH * (1.0 / each - 1.0) for each in part.tolist()]
        shares = [0.5 * math.erfc(score * math.sqrt(0.5)) for score in scores]
        lost = zip(shares, scores, part.tolist(), strict=True)
        return np.array([math.log(share / each) + 0.5 * z * z for share, z, each in lost])

    fitted = np.polynomial.Chebyshev.interpolate(
        left, _TAIL_POWER, domain=[_TAIL_WIDTH / (_TAIL_WIDTH + _FAR), 1.0]
    )
    return np.asarray(fitted.convert(kind=np.polynomial.Polynomial).coef[::-1])


def _log_share_below(score: Floats) -> Floats:
    """Logarithm of the share of a standard normal below a score."""
    far = np.minimum(np.abs(score), _FAR)
    part = _TAIL_WIDTH / (_TAIL_WIDTH + far)
    first, *others = _tail().tolist()
    beyond = np.full(score.shape, first)
    for each in others:
        beyond *= part
        beyond += each
    beyond += np.log(part) - 0.5 * far * far
    return np.where(score > 0, np.log1p(-np.exp(beyond)), beyond)


def _drawn(interval: Interval, shape: tuple[int, ...], column: int) -> Floats:
    """Cases of an uncertain amount, shape (..., cases)."""
    parts = (in_shape(part, shape)[..., np.newaxis] for part in interval)
    return amount_at(_scores()[:, column], Interval(*parts))


def days_until(
    course: Courses,
    ec_limit: npt.ArrayLike,
    ec_start: Interval,
    conversion: Interval | None = None,
) -> Days:
    """Days until the mean of the root zone goes above a limit that it keeps at the start.

    Parameters
    ----------
    course : Courses
        How the mean goes.
    ec_limit : array_like, shape (...)
        EC of the solution not to go beyond. [dS/m]
    ec_start : Interval of shape (...)
        EC at the start, the same at all levels. [dS/m]
    conversion : Interval of shape (...), optional
        Factor on limit and start alike, of the conversion from a reading; one if left out. [-]

    Returns
    -------
    Days
        0 where the middle of the start is above the limit already.

    Raises
    ------
    ValueError
        If the limit is negative.

    Examples
    --------
    >>> course = courses(1.4, 0.5, 0.4, Interval.of(6.0, 5.4, 6.6))
    >>> got = days_until(course, 3.0, Interval.of(2.0, 1.8, 2.2))
    >>> bool(got.low <= got.value <= got.high)
    True
    """
    limit = not_negative(ec_limit, "ec_limit")
    shape = np.broadcast_shapes(limit.shape, np.shape(ec_start.value), course.slope.shape[1:-1])
    start, factor = _drawn(ec_start, shape, 2), _factor(conversion, shape)
    wanted = in_shape(limit[..., np.newaxis], start.shape)
    added = tuple(range(1, 2 + start.ndim - course.slope.ndim))
    slope, gain = (np.expand_dims(part, added) for part in (course.slope, course.gain))
    levels = slope * start + gain / factor
    levels[0] = start
    highest = np.maximum.accumulate(levels, axis=0)[..., 1:]
    with np.errstate(divide="ignore", invalid="ignore"):
        # Logarithm of the chance that the limit, which is not known exactly, lies above that.
        below = _log_share_below(-np.log(highest / wanted[..., 1:]) / LIMIT_SPREAD)
        crossed = -np.expm1(below - below[0]).mean(axis=-1)
    waits = _waits().reshape(-1, *(1,) * len(shape))

    def mean_days(share: Floats, whole: float) -> Floats:
        return np.asarray(HORIZON * np.exp(-(waits * share).sum(axis=0) / whole))

    above = np.asarray(ec_start.value) > limit
    value, low, high = (
        np.where(above, 0.0, mean_days(*part))
        for part in (
            (crossed, 1.0),
            (np.minimum(crossed, _TAIL), _TAIL),
            (np.maximum(crossed - (1.0 - _TAIL), 0.0), _TAIL),
        )
    )
    return Days(value, low, high, np.where(above, 1.0, crossed[-1]))


def _factor(conversion: Interval | None, shape: tuple[int, ...]) -> Floats:
    return np.ones(_SIZE + 1) if conversion is None else _drawn(conversion, shape, 3)


def start_that_lasts(
    course: Courses,
    ec_limit: npt.ArrayLike,
    days: npt.ArrayLike,
    conversion: Interval | None = None,
    confidence: float = 0.8,
) -> Floats:
    """EC to flush down to so that the limit is not crossed for given days.

    Parameters
    ----------
    course : Courses
        How the mean goes.
    ec_limit : array_like, shape (...)
        EC of the solution not to go beyond. [dS/m]
    days : array_like
        How long it is to last, up to :data:`HORIZON`.
    conversion : Interval of shape (...), optional
        As for :func:`days_until`.
    confidence : float
        Share of the cases in which it lasts. [-]

    Returns
    -------
    ndarray, shape of ``days``, then (...)
        EC. [dS/m] Below zero where no start is low enough; at most the limit.

    Raises
    ------
    ValueError
        If the limit is negative.

    Examples
    --------
    >>> course = courses(0.9, 0.5, 0.4, Interval.of(6.0, 5.4, 6.6))
    >>> bool(1.0 < start_that_lasts(course, 3.0, 28.0) < 3.0)
    True
    """
    limit = not_negative(ec_limit, "ec_limit")
    shape = np.broadcast_shapes(limit.shape, course.slope.shape[1:-1])
    factor = _factor(conversion, shape)
    wanted = in_shape(limit[..., np.newaxis], (*shape, _SIZE + 1))
    last = np.searchsorted(course.days, days, side="right")
    within = slice(int(np.max(last)))
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        allowed = (wanted - course.gain[within] / factor) / course.slope[within]
        allowed = np.minimum(np.minimum.accumulate(allowed, axis=0), wanted)[last - 1, ..., 1:]
    place = math.ceil((1.0 - confidence) * _SIZE - 1e-9) - 1
    return np.asarray(np.sort(allowed, axis=-1)[..., place])
