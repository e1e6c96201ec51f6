"""Containers that fit what is known of one: a sample over all that is not known exactly.

References
----------
.. [1] Argo, W.R. & Biernbaum, J.A. (1995). HortScience 30:535-538, abstract.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science import cycles
from saltcalc.science._arrays import Codes, Floats
from saltcalc.science.pass_days import Timing, passes_over_days
from saltcalc.science.plan import UncertainWashout
from saltcalc.science.uncertainty import Interval, amount_at, logit_normal_quantile, normal_score

DIMENSIONS = 10
"""Figures that are drawn of each container."""

LAYERS_DRAWN = ((1, 0.1), (2, 0.25), (3, 0.35), (5, 0.3))
"""Number of layers in series, and how likely each is held to be (judgement).

It moves the water of a plan by a fifth down and half up.
"""

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
    """What is known of containers, each figure with its 80 % interval. Arrays of shape (m,)."""

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
    """A sample of containers, flat over (m × size,)."""

    pots: cycles.Pots
    held: Floats
    """Water held. [L]"""
    factor: Floats
    """Factor on the EC of medium and target alike. [-]"""
    excess: Floats
    """EC above the water at the start, shape (most layers, 2, m × size). [dS/m]"""


def start_excess(
    pots: cycles.Pots,
    ec: npt.ArrayLike,
    ec_water: npt.ArrayLike,
    top_over_rest: npt.ArrayLike,
    height: npt.ArrayLike,
) -> Floats:
    """Excess over the water of a medium whose salt has gathered on top.

    Parameters
    ----------
    pots : Pots
        Of shape (cases,).
    ec, ec_water : array_like, shape (cases,)
        Mean EC of the medium's solution, and EC of the water. [dS/m]
    top_over_rest : array_like, shape (cases,)
        EC of the top :data:`TOP_DEPTH` over that below. [-]
    height : array_like, shape (cases,)
        Of the medium. [cm]

    Returns
    -------
    ndarray, shape (most layers, 2, cases)
        [dS/m] A layer that the top reaches into in part holds its part of it.

    Examples
    --------
    >>> pots = cycles.Pots.of(0.8, 0.3, 0.2, 0.05, 3)
    >>> start_excess(pots, 6.0, 0.0, 4.0, 15.0)[:, 0, 0]
    array([10.,  4.,  4.])
    """
    mean, ratio = np.asarray(ec, dtype=np.float64), np.asarray(top_over_rest, dtype=np.float64)
    deep = np.maximum(np.asarray(height, dtype=np.float64), TOP_DEPTH)
    inside = np.arange(int(pots.layers.max(initial=1)))[:, np.newaxis] < pots.layers
    top_share = TOP_DEPTH / deep
    below = mean / (1.0 + (ratio - 1.0) * top_share)
    # How much of each layer the salty top fills.
    first = np.arange(len(inside))[:, np.newaxis] / pots.layers
    filled = np.clip((top_share - first) * pots.layers, 0.0, 1.0)
    layered = below * (1.0 + (ratio - 1.0) * filled)
    excess = np.where(inside, layered - np.asarray(ec_water), 0.0)
    return np.repeat(excess[:, np.newaxis], 2, axis=1)


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
    numbers, weights = zip(*LAYERS_DRAWN, strict=True)
    bins = normal_score(np.cumsum(weights)[:-1])
    return np.asarray(np.asarray(numbers)[np.searchsorted(bins, np.asarray(z))])


def sample_pots(
    known: Uncertain, ec_water: npt.ArrayLike, kept: npt.ArrayLike, scores: Floats
) -> SampledPots:
    """Draw containers that fit what is known.

    Parameters
    ----------
    known : Uncertain
        Of shape (m,); no figure missing.
    ec_water : array_like, shape (m,)
        EC of the water poured on. [dS/m]
    kept : array_like, shape (m,)
        Water soaked up before any washes, its salt with it. [L]
    scores : ndarray, shape (size, DIMENSIONS)
        Standard-normal scores, one row a draw.

    Returns
    -------
    SampledPots

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
    >>> print(drawn.pots.efficiency, drawn.held, drawn.excess[0, 0])
    [0.8] [6.] [7.5]
    """
    size = len(scores)

    def across(interval: Interval) -> Interval:
        return Interval(*(np.atleast_1d(part)[:, np.newaxis] for part in interval))

    washout = known.washout
    efficiency = logit_normal_quantile(scores[:, 0], across(washout.efficiency))
    immobile = logit_normal_quantile(scores[:, 1], across(washout.immobile_share))
    rate = amount_at(scores[:, 2], across(washout.exchange_rate))
    store = amount_at(scores[:, 3], across(washout.sorbed_ratio))
    held = amount_at(scores[:, 4], across(known.water_held))
    ec = amount_at(scores[:, 5], across(known.ec_medium))
    factor = amount_at(scores[:, 6], across(known.conversion))
    layers = layers_at(scores[:, 7])
    ratio = np.maximum(amount_at(scores[:, 8], across(known.start.top_over_rest)), 1.0)
    behind = logit_normal_quantile(scores[:, 9], across(known.start.unswept))
    efficiency, immobile, rate, store, held, ec, factor, ratio, behind = np.broadcast_arrays(
        efficiency, immobile, rate, store, held, ec, factor, ratio, behind
    )
    number = len(efficiency)

    def each(figure: npt.ArrayLike) -> Floats:
        return np.repeat(np.broadcast_to(np.asarray(figure, dtype=np.float64), number), size)

    pots = cycles.Pots.of(
        efficiency,
        behind + (1.0 - behind) * immobile,
        rate,
        store,
        np.broadcast_to(layers, efficiency.shape),
    )
    held_each, water = held.reshape(-1), each(ec_water)
    # Concentrations are those at capacity, so that water soaked up adds its salt to them.
    start = (ec * factor).reshape(-1) + water * each(kept) / held_each / pots.capacity
    excess = start_excess(pots, start, water, ratio.reshape(-1), each(known.start.height))
    return SampledPots(pots, held_each, factor.reshape(-1), excess)


def wash(
    drawn: SampledPots,
    target: Floats,
    water: Floats,
    each: Floats,
    most: Codes,
    timing: Timing,
    shape: tuple[int, int, int],
) -> tuple[Codes, Floats]:
    """Wash sampled containers to their targets, and work out once what a pass does to like ones.

    Parameters
    ----------
    drawn : SampledPots
        The sample, of which each row of a kind has the same pots and water held.
    target, water : ndarray, shape (m,)
        EC to come down to and of the water, kind by kind. [dS/m]
    each : ndarray, shape (m,)
        Water of a pass, the same for a kind. [L]
    most : ndarray of int, shape (m,)
        Most passes.
    timing : Timing
        Arrays of shape (m,), the same for a kind.
    shape : tuple of int
        Kinds, rows of each kind, and containers drawn for each row.

    Returns
    -------
    passes : ndarray of int, shape (m, size)
        Fewest passes to the target; ``most`` + 1 where that many do not do it.
    drainage : ndarray, shape (m, size)
        EC of the drainage of the last of them, by the balance of the salt. [dS/m]

    Examples
    --------
    Each litre takes half of the salt out of a pot that mixes at once.

    >>> pots = cycles.Pots.of(1.0, 0.0, 0.0, 0.0, [1, 1])
    >>> drawn = SampledPots(pots, np.full(2, 1 / np.log(2)), np.ones(2), np.full((1, 2, 2), 8.0))
    >>> target, water, each, most = np.array([2.1, 1.1]), np.zeros(2), np.ones(2), np.array([9, 9])
    >>> timing = Timing(*np.ones((4, 2)))
    >>> print(wash(drawn, target, water, each, most, timing, (1, 2, 1))[0].ravel())
    [2 3]
    """

    def by_kind(part: npt.ArrayLike) -> Any:
        figures = np.asarray(part)
        return figures.reshape(shape if figures.shape == drawn.held.shape else (*shape[:2], 1))

    held, ec_water = by_kind(drawn.held), by_kind(water)
    excess = drawn.excess.reshape(*drawn.excess.shape[:2], *held.shape)
    wanted = by_kind(target) * by_kind(drawn.factor) - ec_water
    # The first of each kind stands for its pots.
    pots = cycles.Pots(*(by_kind(part)[:, :1] for part in drawn.pots))
    of_kind = Timing(*(by_kind(part)[:, :1] for part in timing))
    one = cycles.pass_map(pots, by_kind(each)[:, :1] / held[:, :1], of_kind.duration)
    passes, before = passes_over_days(pots, one, excess, wanted, by_kind(most), of_kind)
    after = cycles.settled_excess(pots, cycles.moved_by(one, before))
    lost = (cycles.settled_excess(pots, before) - after) * pots.capacity
    drainage = lost * held / by_kind(each) + ec_water
    return tuple(each.reshape(-1, shape[2]) for each in (passes, drainage))  # type: ignore[return-value]
