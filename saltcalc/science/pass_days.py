"""The passes of a flush over days: rests between them by day, and nights."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Codes, Floats
from saltcalc.science.cycles import (
    Pots,
    moved_by,
    repeated,
    rest_map,
    settled_excess,
)
from saltcalc.science.cycles_needed import cycles_to_reach


class Timing(NamedTuple):
    """When passes are poured. Arrays of shape (m,)."""

    duration: npt.ArrayLike
    """Time a pass takes to sink in and drain. [h]"""
    rest: npt.ArrayLike
    """Rest between passes of one day. [h]"""
    passes_a_day: npt.ArrayLike
    """Most passes in a day; after the last of them comes a night."""
    night: npt.ArrayLike = 14.0
    """From the last pass of a day to the first of the next. [h]"""


def part_of_pass(pots: Pots, one: Floats, before: Floats, excess_wanted: npt.ArrayLike) -> Floats:
    """Part of a pass that brings a medium to a wanted excess.

    Within the pass the excess is taken to fall exponentially.

    Parameters
    ----------
    pots : Pots
    one : ndarray, shape (cases, parts, parts)
        Of the pass.
    before : ndarray, shape (cases, parts)
        Excess before it. [dS/m]
    excess_wanted : array_like, shape (cases,)
        [dS/m]

    Returns
    -------
    ndarray, shape (cases,)
        Between 0 and 1. [-]

    Examples
    --------
    >>> from saltcalc.science.cycles import even_excess, pass_map
    >>> pots = Pots.of(1.0, 0.0, 0.0, 0.0, 1)
    >>> half = pass_map(pots, np.log(2.0), 0.0)
    >>> part_of_pass(pots, half, even_excess(pots, 2.0, 0.0), np.sqrt(2.0)).round(3)
    array([0.5])
    """
    start = settled_excess(pots, before)
    end = settled_excess(pots, moved_by(one, before))
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.log(start / np.asarray(excess_wanted)) / np.log(start / end)
    part = np.nan_to_num(part, nan=1.0, posinf=1.0, neginf=0.0)
    return np.asarray(np.clip(part, 0.0, 1.0))


def passes_over_days(
    pots: Pots,
    one: Floats,
    excess: Floats,
    excess_wanted: Floats,
    most: Codes,
    timing: Timing,
) -> tuple[Codes, Floats]:
    """Fewest passes to a wanted excess, with rests by day and nights between the days.

    Parameters
    ----------
    pots : Pots
    one : ndarray, shape (cases, parts, parts)
        Of the pass itself, without the rest.
    excess : ndarray, shape (cases, parts)
        At the start. [dS/m]
    excess_wanted : ndarray, shape (cases,)
        Above the water. [dS/m]
    most : ndarray of int, shape (cases,)
        Most passes.
    timing : Timing
        Arrays of shape (cases,).

    Returns
    -------
    number : ndarray of int, shape (cases,)
        Passes; ``most`` + 1 where that many do not do it.
    before : ndarray, shape (cases, parts)
        Excess just before the last of them. [dS/m]

    Examples
    --------
    Half of the salt goes with each pass, of which there are two a day.

    >>> from saltcalc.science.cycles import even_excess, pass_map
    >>> pots = Pots.of(1.0, 0.0, 0.0, 0.0, 1)
    >>> half = pass_map(pots, np.log(2.0), 0.0)
    >>> start, wanted = even_excess(pots, 8.0, 0.0), np.array([0.4])
    >>> print(passes_over_days(pots, half, start, wanted, np.array([20]), Timing(0.0, 1.0, 2))[0])
    [5]
    """
    shape = pots.layers.shape
    rest, night = (
        np.broadcast_to(np.asarray(part, dtype=np.float64), shape)
        for part in (timing.rest, timing.night)
    )
    per_day = np.broadcast_to(
        np.maximum(np.asarray(timing.passes_a_day), 1).astype(np.int64), shape
    )
    cycle = one @ rest_map(pots, rest)
    first_day = np.minimum(per_day, most)
    number, before = cycles_to_reach(pots, cycle, excess, excess_wanted, first_day)
    # Most flushes are over in a day; nights are worked out only where one is not.
    later = (number > first_day) & (first_day < most)
    if not later.any():
        return np.where(number > first_day, most + 1, number), before
    wanted = np.where(later, excess_wanted, np.inf)
    day = repeated(cycle, per_day - 1) @ one @ rest_map(pots, night)
    whole_days = np.where(later, -(-most // per_day), 0)
    days, morning = cycles_to_reach(pots, day, excess, wanted, whole_days)
    within, last = cycles_to_reach(pots, cycle, morning, wanted, np.where(later, per_day, 0))
    on_later_days = np.minimum(np.maximum(days - 1, 0) * per_day + within, most + 1)
    number = np.where(later, on_later_days, number)
    return np.where(number > most, most + 1, number), np.where(later[..., np.newaxis], last, before)


def after_passes(
    pots: Pots, one: Floats, excess: Floats, timing: Timing, passes: npt.ArrayLike
) -> Floats:
    """Excess after so many passes, right after the last of them.

    Parameters
    ----------
    pots : Pots
    one : ndarray, shape (cases, parts, parts)
        Of the pass itself, without the rest.
    excess : ndarray, shape (cases, parts)
        At the start. [dS/m]
    timing : Timing
        Arrays of shape (cases,).
    passes : array_like of int, shape (cases,)
        How many.

    Returns
    -------
    ndarray, shape (cases, parts)
        [dS/m]

    Examples
    --------
    >>> from saltcalc.science.cycles import even_excess, pass_map
    >>> pots = Pots.of(1.0, 0.0, 0.0, 0.0, 1)
    >>> half = pass_map(pots, np.log(2.0), 0.0)
    >>> after = after_passes(pots, half, even_excess(pots, 8.0, 0.0), Timing(0.0, 1.0, 2), 3)
    >>> print(after[0, :1].round(3))
    [1.]
    """
    shape = pots.layers.shape
    number = np.broadcast_to(np.asarray(passes, dtype=np.int64), shape)
    per_day = np.fmax(np.asarray(timing.passes_a_day), 1).astype(np.int64)
    nights, today = np.divmod(np.maximum(number - 1, 0), per_day)
    rested = one @ rest_map(pots, np.broadcast_to(timing.rest, shape))
    state = excess
    if np.any(nights):
        overnight = one @ rest_map(pots, np.broadcast_to(timing.night, shape))
        day = repeated(rested, per_day - 1) @ overnight
        state = moved_by(repeated(day, nights), state)
    state = moved_by(repeated(rested, today), state)
    return np.where((number > 0)[..., np.newaxis], moved_by(one, state), excess)


class Course(NamedTuple):
    """A flush pass by pass, above the water; shape (cases, passes), NaN past the last."""

    settled: Floats
    """What the medium settles to after each pass. [dS/m]"""
    drainage: Floats
    """What drains in each, mixed. [dS/m]"""


def course(
    pots: Pots,
    one: Floats,
    excess: Floats,
    timing: Timing,
    passes: npt.ArrayLike,
    drained_over_held: npt.ArrayLike,
) -> Course:
    """Follow a flush pass by pass.

    Parameters
    ----------
    pots, one, excess, timing, passes
        As for :func:`after_passes`.
    drained_over_held : array_like, shape (cases,)
        Water that drains in each pass, over water held. [L/L]

    Returns
    -------
    Course

    References
    ----------
    What drains is what the medium has lost.

    Examples
    --------
    >>> from saltcalc.science.cycles import even_excess, pass_map
    >>> pots = Pots.of(1.0, 0.0, 0.0, 0.0, 1)
    >>> half = pass_map(pots, np.log(2.0), 0.0)
    >>> start = even_excess(pots, 8.0, 0.0)
    >>> got = course(pots, half, start, Timing(0.0, 1.0, 2), 3, np.log(2.0))
    >>> print(got.settled.round(3), got.drainage.round(2))
    [[4. 2. 1.]] [[5.77 2.89 1.44]]
    """
    shape = pots.layers.shape
    number = np.broadcast_to(np.asarray(passes, dtype=np.int64), shape)
    per_day = np.fmax(np.asarray(timing.passes_a_day), 1).astype(np.int64)
    by_day, by_night = (
        one @ rest_map(pots, np.broadcast_to(pause, shape)) for pause in (timing.rest, timing.night)
    )
    most = int(number.max(initial=0))
    settled, drainage = np.full((2, *shape, most), np.nan)
    state, before = excess, settled_excess(pots, excess)
    for place in range(most):
        after = settled_excess(pots, moved_by(one, state))
        going = place < number
        settled[:, place] = np.where(going, after, np.nan)
        lost = (before - after) * pots.capacity / np.asarray(drained_over_held)
        drainage[:, place] = np.where(going, lost, np.nan)
        sleeps = np.broadcast_to((place + 1) % per_day == 0, shape)
        cycle = by_night if sleeps.all() else by_day
        if sleeps.any() and not sleeps.all():
            cycle = np.where(sleeps[..., np.newaxis, np.newaxis], by_night, by_day)
        state, before = moved_by(cycle, state), after
    return Course(settled, drainage)
