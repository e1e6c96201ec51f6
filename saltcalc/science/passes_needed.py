"""How many passes a medium takes to a wanted EC, for many containers at once."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Codes, Floats, picked
from saltcalc.science.cycles import Pots, followed, rest_map, settled_share
from saltcalc.science.pass_days import Timing


class Needed(NamedTuple):
    """What it takes to come to a wanted excess."""

    passes: Codes
    """Fewest passes; the most + 1 where that many do not do it."""
    before: Floats
    """What the medium settles to before the last of them, or the first if none is needed. [dS/m]"""
    after: Floats
    """And after it. [dS/m]"""


def passes_needed(
    pots: Pots,
    one: Floats,
    spread: Floats,
    amounts: npt.ArrayLike,
    excess_wanted: npt.ArrayLike,
    most: npt.ArrayLike,
    timing: Timing,
) -> Needed:
    """Fewest passes to a wanted excess, with rests by day and nights between the days.

    What settles is linear in the start. So for many rows it is worked out once, for every number of
    passes, how a pot washes out that starts with one of a few spreads of its salt, and any start is
    made of them. A single row is followed itself.

    Parameters
    ----------
    pots : Pots
    one : ndarray, shape (cases, parts, parts)
        Of the pass itself, without the rest.
    spread : ndarray, shape (cases, spreads, parts)
        How the excess may lie at the start. [-]
    amounts : array_like, shape (cases, rows, spreads)
        How much of each there is in every row, so that their sum is the excess. [dS/m]
    excess_wanted : array_like, shape (cases, rows)
        Above the water. [dS/m]
    most : array_like of int, shape (cases, rows)
        Most passes.
    timing : Timing
        Arrays of shape (cases,); as many passes a day for all.

    Returns
    -------
    Needed
        Arrays of shape (cases, rows).

    Notes
    -----
    Both the days and the passes of a day are found by doubling: what eight passes do is what four
    do, twice.

    Examples
    --------
    Half of the salt goes with each pass, of which there are two a day.

    >>> from saltcalc.science.cycles import even_excess, pass_map
    >>> pots = Pots.of(1.0, 0.0, 0.0, 0.0, 1)
    >>> half = pass_map(pots, np.log(2.0), 0.0)
    >>> even = even_excess(pots, 1.0, 0.0)[:, np.newaxis]
    >>> amounts, wanted = np.array([[[8.0], [2.0]]]), [[0.4, 0.4]]
    >>> needed = passes_needed(pots, half, even, amounts, wanted, 20, Timing(0.0, 1.0, 2))
    >>> print(needed.passes, needed.before)
    [[5 3]] [[0.5 0.5]]
    """
    wanted, limit = np.asarray(excess_wanted), np.asarray(most)
    amounts = np.asarray(amounts, dtype=np.float64)
    if amounts.shape[-2] == 1:
        return _by_strides(pots, one, amounts @ spread, wanted, limit, timing)
    last = int(limit.max(initial=0)) + 1
    per_day = min(int(np.max(timing.passes_a_day, initial=1.0)), last + 1)
    cycle = one @ rest_map(pots, timing.rest)
    looks = _looks(cycle, settled_share(pots), min(per_day, last) + 1)
    settled = amounts @ (spread @ looks)
    # Most flushes are over in a day; nights are worked out only where one is not.
    if per_day <= last and (settled[..., per_day] > wanted).any():
        days = -(-(last + 1) // per_day)
        day = np.linalg.matrix_power(cycle, per_day - 1) @ one @ rest_map(pots, timing.night)
        by_day = followed(spread, day, days) @ looks[..., :-1]
        by_day = by_day.reshape(*pots.layers.shape, days, spread.shape[-2], per_day)
        settled = amounts @ by_day.swapaxes(-3, -2).reshape(*spread.shape[:-1], -1)
    above = settled > wanted[..., np.newaxis]
    # The first that is not above, or 0 where all are.
    passes = np.minimum(above.argmin(axis=-1), limit + 1)
    passes = np.where((passes == 0) & above[..., 0], limit + 1, passes)
    done = np.maximum(passes - 1, 0)
    return Needed(passes, picked(settled, done), picked(settled, done + 1))


def _by_strides(
    pots: Pots, one: Floats, excess: Floats, wanted: Floats, limit: Codes, timing: Timing
) -> Needed:
    """Go on by powers of a day and of a cycle, the greatest first, as far as is above the wanted.

    The excess at the start has the shape (cases, rows, parts).
    """
    share, farthest = settled_share(pots)[..., np.newaxis], int(limit.max(initial=0))
    per_day = int(np.max(timing.passes_a_day, initial=1.0))
    before = (excess @ share)[..., 0]
    is_needed, done = before > wanted, np.zeros(before.shape, dtype=np.int64)
    cycle = one @ rest_map(pots, timing.rest)
    steps = [(cycle, 1)] if per_day > 1 else []
    # Most flushes are over in a day; nights are worked out only where one may not be.
    if per_day <= farthest:
        day = np.linalg.matrix_power(cycle, per_day - 1) @ one @ rest_map(pots, timing.night)
        steps.insert(0, (day, per_day))
    for step, passes in steps:
        strides = [step]
        while passes << len(strides) <= farthest:
            strides.append(strides[-1] @ strides[-1])
        for power in reversed(range(len(strides))):
            ahead, number = excess @ strides[power], done + (passes << power)
            left = (ahead @ share)[..., 0]
            goes = (left > wanted) & (number <= limit)
            excess = np.where(goes[..., np.newaxis], ahead, excess)
            before, done = np.where(goes, left, before), np.where(goes, number, done)
    after = (excess @ one @ share)[..., 0]
    return Needed(np.where(is_needed, done + 1, 0), before, after)


def _looks(cycle: Floats, share: Floats, number: int) -> Floats:
    """Work out the share of each part in what settles after 0, 1, 2, ... cycles.

    Shape (cases, parts, number).
    """
    looks, power = share[..., np.newaxis], cycle
    while (known := looks.shape[-1]) < number:
        looks = np.concatenate([looks, power @ looks[..., : number - known]], axis=-1)
        if looks.shape[-1] < number:
            power = power @ power
    return looks
