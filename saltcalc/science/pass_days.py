"""The passes of a flush over days: rests between them by day, and nights."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Floats, in_shape, picked
from saltcalc.science.cycles import (
    Pots,
    rest_map,
    settled_share,
    weighed,
)


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


def settled_after(
    pots: Pots, one: Floats, excess: Floats, timing: Timing, passes: npt.ArrayLike
) -> Floats:
    """Work out what a medium settles to after so many passes.

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
    ndarray, shape (cases,)
        [dS/m]

    Examples
    --------
    >>> from saltcalc.science.cycles import even_excess, pass_map
    >>> pots = Pots.of(1.0, 0.0, 0.0, 0.0, 1)
    >>> half = pass_map(pots, np.log(2.0), 0.0)
    >>> start = even_excess(pots, 8.0, 0.0)
    >>> print(settled_after(pots, half, start, Timing(0.0, 1.0, 2), 3).round(3))
    [1.]
    """
    number = in_shape(np.asarray(passes, dtype=np.int64), pots.layers.shape)
    by_pass = settled_by_pass(pots, one, excess, timing, number)
    return np.asarray(picked(by_pass, number))


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
        As for :func:`settled_after`.
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
    settled = settled_by_pass(pots, one, excess, timing, passes)
    lost = -np.diff(settled, axis=1) * pots.capacity[:, np.newaxis]
    drained = np.asarray(drained_over_held, dtype=np.float64)[..., np.newaxis]
    return Course(settled[:, 1:], lost / drained)


def settled_by_pass(
    pots: Pots, one: Floats, excess: Floats, timing: Timing, passes: npt.ArrayLike
) -> Floats:
    """Work out what a medium settles to after each pass.

    Parameters
    ----------
    pots, one, excess, timing, passes
        As for :func:`settled_after`.

    Returns
    -------
    ndarray, shape (cases, most passes + 1)
        Before the first pass and after each. [dS/m] NaN past the last.

    Examples
    --------
    >>> from saltcalc.science.cycles import even_excess, pass_map
    >>> pots = Pots.of(1.0, 0.0, 0.0, 0.0, 1)
    >>> half = pass_map(pots, np.log(2.0), 0.0)
    >>> start = even_excess(pots, 8.0, 0.0)
    >>> print(settled_by_pass(pots, half, start, Timing(0.0, 1.0, 2), 3).round(3))
    [[8. 4. 2. 1.]]
    """
    shape = pots.layers.shape
    number = in_shape(np.asarray(passes, dtype=np.int64), shape)
    per_day = np.fmax(in_shape(timing.passes_a_day, shape), 1).astype(np.int64)
    by_day, by_night = (
        one @ rest_map(pots, in_shape(pause, shape)) for pause in (timing.rest, timing.night)
    )
    most = int(number.max(initial=0))
    sleeps = np.arange(1, most + 1)[:, np.newaxis] % per_day == 0
    pauses = np.concatenate([by_day, by_night])
    chosen = np.where(sleeps, len(by_day), 0) + np.arange(len(by_day))
    states = np.empty((most + 1, *shape, 1, excess.shape[-1]))
    states[0, ..., 0, :] = excess
    for place in range(most):
        # A rest moves salt about and takes none away.
        np.matmul(states[place], pauses[chosen[place]], out=states[place + 1])
    settled = weighed(settled_share(pots), states[..., 0, :]).T
    settled[np.arange(most + 1) > number[:, np.newaxis]] = np.nan
    return settled
