"""Containers that fit what is known of one: a sample over all that is not known exactly.

References
----------
.. [1] Argo, W.R. & Biernbaum, J.A. (1995). HortScience 30:535-538, abstract.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science import cycles
from saltcalc.science._arrays import Codes, Floats, alike, in_shape
from saltcalc.science.pass_days import Timing
from saltcalc.science.passes_needed import passes_needed
from saltcalc.science.plan import UncertainWashout
from saltcalc.science.uncertainty import (
    Interval,
    amount_at,
    logit_normal_quantile,
    normal_sample,
    normal_score,
)

DIMENSIONS = 10
"""Figures that are drawn of each container."""

LAYERS_DRAWN = ((1, 0.1), (2, 0.25), (3, 0.35), (5, 0.3))
"""Number of layers in series, and how likely each is held to be (judgement).

It moves the water of a plan by a fifth down and half up.
"""

_LAYERS = 7
"""Which of the figures drawn is the number of layers."""

FEW_LAYERS = 3
"""Most layers of what is worked out together, apart from pots of more, where there are many."""

_MANY_POTS = 1024
"""Pots from which on this saves more than it costs."""

TOP_DEPTH = 2.5
"""Depth of the top of the medium in which salt gathers [1]_. [cm]"""

NO_PROFILE = Interval.of(1.0, 1.0, 1.0)
"""Salt spread evenly at the start, as in a medium that was just mixed."""

GATHERED_ON_TOP = Interval.of(3.0, 1.5, 5.0)
"""EC of the top over that of the rest in a pot watered from above or below for weeks.

Three to six in five media after 58 days, at 20 % leaching [1]_; lower bound a judgement. [-]
"""

ALL_SWEPT = Interval.of(0.0, 0.0, 0.0)
"""A medium that takes water up everywhere."""


class Start(NamedTuple):
    """How salt and dryness lie in the pot before the flush."""

    top_over_rest: Interval = NO_PROFILE
    """EC in the top :data:`TOP_DEPTH` over that of the rest; the mean stays as given. [-]"""
    height: npt.ArrayLike = 15.0
    """Height of the medium, shape (m,). [cm]"""
    unswept: Interval = ALL_SWEPT
    """Share of the held water that stays behind in dry places which the flow goes round. [L/L]"""
    reach: npt.ArrayLike = 1.0
    """Share of the missing water that wetting brings back, shape (m,). [L/L]"""


class Uncertain(NamedTuple):
    """What is known of containers, each figure with its 80 % interval. Arrays of shape (m,).

    To draw from, each may have a shape of its own, so that what is the same for many containers
    stands once.
    """

    washout: UncertainWashout
    """How the medium loses its salt; the number of layers is drawn."""
    water_held: Interval
    """Water the container holds. [L]"""
    ec_medium: Interval
    """EC of the medium's solution at container capacity, before. [dS/m]"""
    conversion: Interval
    """Factor on the EC of medium and target alike, around 1. [-]"""
    start: Start


class SampledPots(NamedTuple):
    """A sample of containers, drawn along the last axis; each part of a shape of its own."""

    pots: cycles.Pots
    held: Floats
    """Water held. [L]"""
    factor: Floats
    """Factor on the EC of medium and target alike. [-]"""
    start: Floats
    """Mean EC of the medium's solution at the start. [dS/m]"""
    profile: Floats
    """EC of each part over that mean, the parts along one more axis. [-]"""


class Goals(NamedTuple):
    """What each row of containers is washed to, with what. Arrays of one shape."""

    target: Floats
    """EC to come down to. [dS/m]"""
    water: Floats
    """EC of the water. [dS/m]"""
    each: Floats
    """Water of a pass, the same for a kind. [L]"""
    most: Codes
    """Most passes."""


def salt_profile(pots: cycles.Pots, top_over_rest: npt.ArrayLike, height: npt.ArrayLike) -> Floats:
    """Where the salt of a medium lies that has gathered on top.

    Parameters
    ----------
    pots : Pots
    top_over_rest : array_like, shape (cases,)
        EC of the top :data:`TOP_DEPTH` over that below. [-]
    height : array_like, shape (cases,)
        Of the medium. [cm]

    Returns
    -------
    ndarray, shape (cases, parts)
        EC of each part over the mean. [-] A layer that the top reaches into in part holds its
        part of it.

    Examples
    --------
    >>> pots = cycles.Pots.of(0.8, 0.3, 0.2, 0.05, 3)
    >>> print(6.0 * salt_profile(pots, 4.0, 15.0)[0, ::2])
    [10.  4.  4.]
    """
    more = np.asarray(top_over_rest, dtype=np.float64) - 1.0
    top_share = TOP_DEPTH / np.maximum(np.asarray(height, dtype=np.float64), TOP_DEPTH)
    inside = cycles.in_pot(pots)
    # How much of each layer the salty top fills.
    places = np.arange(inside.shape[-1])
    filled = np.clip((top_share * pots.layers)[..., np.newaxis] - places, 0.0, 1.0)
    below = 1.0 / (1.0 + more * top_share)
    layered = below[..., np.newaxis] * (1.0 + more[..., np.newaxis] * filled)
    return np.repeat(np.where(inside, layered, 0.0), 2, axis=-1)


def layers_at(z: npt.ArrayLike) -> Codes:
    """Choose the number of layers at a standard-normal score.

    Parameters
    ----------
    z : array_like, shape (...)
        Standard-normal score.

    Returns
    -------
    ndarray of int, shape (...)
        As likely as :data:`LAYERS_DRAWN` has it.

    Examples
    --------
    >>> layers_at([-2.0, 0.0, 2.0])
    array([1, 3, 5])
    """
    numbers, bins = _drawn_layers()
    return np.asarray(numbers[np.searchsorted(bins, np.asarray(z))])


@cache
def _drawn_layers() -> tuple[Codes, Floats]:
    """Return the numbers of layers drawn, and the scores between one and the next."""
    numbers, weights = zip(*LAYERS_DRAWN, strict=True)
    return np.asarray(numbers), normal_score(np.cumsum(weights)[:-1])


def sample_pots(
    known: Uncertain, ec_water: npt.ArrayLike, kept: npt.ArrayLike, scores: Floats
) -> SampledPots:
    """Draw containers that fit what is known.

    Parameters
    ----------
    known : Uncertain
        No figure missing. Shapes that broadcast; what one figure of the washout is given for, all
        are.
    ec_water : array_like
        EC of the water poured on. [dS/m]
    kept : array_like
        Water soaked up before any washes, its salt with it. [L]
    scores : ndarray, shape (size, DIMENSIONS)
        Standard-normal scores, one row a draw.

    Returns
    -------
    SampledPots
        Of the shapes given, with the draws along one more axis.

    Examples
    --------
    >>> peat = UncertainWashout(
    ...     Interval.of(0.8, 0.55, 0.97),
    ...     Interval.of(0.25, 0.08, 0.45),
    ...     Interval.of(0.3, 0.1, 0.9),
    ...     Interval.of(0.05, 0.02, 0.15),
    ... )
    >>> held, before = Interval.of(6.0, 5.4, 6.6), Interval.of(8.0, 7.0, 9.0)
    >>> conversion = Interval.of(1.0, 0.9, 1.1)
    >>> known = Uncertain(peat, held, before, conversion, Start())
    >>> drawn = sample_pots(known, 0.5, 0.0, np.zeros((1, DIMENSIONS)))
    >>> print(drawn.pots.efficiency, drawn.held, drawn.start, drawn.profile[0, :2])
    [0.8] [6.] [8.] [1. 1.]
    """

    def each(figure: npt.ArrayLike) -> Floats:
        return np.asarray(figure, dtype=np.float64)[..., np.newaxis]

    def across(interval: Interval) -> Interval:
        return Interval(*(each(part) for part in interval))

    washout = known.washout
    efficiency = logit_normal_quantile(scores[:, 0], across(washout.efficiency))
    immobile = logit_normal_quantile(scores[:, 1], across(washout.immobile_water_fraction))
    rate = amount_at(scores[:, 2], across(washout.mass_transfer_coefficient))
    store = amount_at(scores[:, 3], across(washout.sorbed_ratio))
    held = amount_at(scores[:, 4], across(known.water_held))
    ec = amount_at(scores[:, 5], across(known.ec_medium))
    factor = amount_at(scores[:, 6], across(known.conversion))
    layers = layers_at(scores[:, _LAYERS])
    ratio = np.maximum(amount_at(scores[:, 8], across(known.start.top_over_rest)), 1.0)
    behind = logit_normal_quantile(scores[:, 9], across(known.start.unswept))
    stands = behind + (1.0 - behind) * immobile
    pots = cycles.Pots.of(efficiency, stands, rate, store, layers)
    # Concentrations are those at capacity, so that water soaked up adds its salt to them.
    start = ec * factor + each(ec_water) * each(kept) / held / pots.capacity
    profile = salt_profile(pots, ratio, each(known.start.height))
    return SampledPots(pots, held, factor, start, profile)


def wash_rows(
    given: Uncertain,
    goals: Goals,
    kept: Floats,
    timing: Timing,
    size: int,
) -> tuple[Codes, Floats]:
    """Wash a sample of each container to its target; what a pass does is worked out once a kind.

    Parameters
    ----------
    given : Uncertain
        The containers, shape (kinds, rows): rows of a kind have the same pots, whose salt lies
        alike, hold the same water and are given the same passes. No figure is missing here.
    goals : Goals
        Shape (kinds, rows).
    kept : ndarray, shape (kinds, rows)
        Water soaked up before any washes. [L]
    timing : Timing
        Arrays of shape (kinds, rows).
    size : int
        Containers drawn for each row.

    Returns
    -------
    passes : ndarray of int, shape (kinds, rows, size)
        Fewest passes to the target; the most + 1 where that many do not do it.
    drainage : ndarray, shape (kinds, rows, size)
        EC of the drainage of the last of them, by the balance of the salt. [dS/m]

    Examples
    --------
    Each litre takes half of the salt out of a pot that mixes at once.

    >>> def exact(figures):
    ...     return Interval.of(figures, figures, figures)
    >>> none, one = np.zeros((1, 2)), np.ones((1, 2))
    >>> mixes = UncertainWashout(exact(one), exact(none), exact(none), exact(none))
    >>> evenly = Start(exact(one), 15.0 * one, exact(none), one)
    >>> given = Uncertain(mixes, exact(one / np.log(2)), exact(8 * one), exact(one), evenly)
    >>> goals = Goals(np.array([[4.1, 1.6]]), none, one, np.array([[9, 9]]))
    >>> passes, _ = wash_rows(given, goals, none, Timing(one, one, one, one), 128)
    >>> print(np.median(passes, axis=-1))
    [[1. 2.]]
    """

    def of_kind(figures: npt.ArrayLike) -> Floats:
        """Let the first row of each kind stand for it."""
        return np.asarray(figures)[:, :1]

    def each(interval: Interval) -> Interval:
        return Interval(*map(of_kind, interval))

    start = given.start
    known = Uncertain(
        UncertainWashout(*map(each, given.washout)),
        each(given.water_held),
        given.ec_medium,
        given.conversion,
        Start(each(start.top_over_rest), of_kind(start.height), each(start.unswept)),
    )
    by_kind, spaced = goals._replace(each=of_kind(goals.each)), Timing(*map(of_kind, timing))
    washed = [
        _wash(sample_pots(known, goals.water, kept, scores), by_kind, spaced)
        for scores in _by_layers(normal_sample(DIMENSIONS, size), kept.size)
    ]
    passes, drainage = (np.concatenate(part, axis=-1) for part in zip(*washed, strict=True))
    return passes, drainage


def _by_layers(scores: Floats, rows: int) -> list[Floats]:
    """Part the draws of few layers from those of many, which cost more, where it pays."""
    if rows * len(scores) < _MANY_POTS:
        return [scores]
    few = layers_at(scores[:, _LAYERS]) <= FEW_LAYERS
    return [scores[few], scores[~few]]


def _wash(drawn: SampledPots, goals: Goals, timing: Timing) -> tuple[Codes, Floats]:
    """Wash each draw of each row, the rows of a kind by what its pots do to salt."""
    held, pots = drawn.held[:, 0], drawn.pots.some(np.s_[:, 0])
    one = cycles.pass_map(pots, goals.each / held, timing.duration)
    water = goals.water[..., np.newaxis]
    wanted = goals.target[..., np.newaxis] * drawn.factor - water
    spread = np.stack([drawn.profile[:, 0], cycles.even_excess(pots, 1.0, 0.0)], axis=-2)
    amounts = np.stack(alike(drawn.start, -water), axis=-1)
    most = in_shape(goals.most[:, np.newaxis], (*held.shape, goals.most.shape[1]))
    needed = passes_needed(
        pots, one, spread, amounts.swapaxes(1, 2), wanted.swapaxes(1, 2), most, timing
    )
    lost = (needed.before - needed.after) * (pots.capacity * held / goals.each)[..., np.newaxis]
    return needed.passes.swapaxes(1, 2), lost.swapaxes(1, 2) + water
