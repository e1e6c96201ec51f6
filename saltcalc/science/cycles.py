r"""A pass and the rest after it as one linear map, for many containers and many passes at once.

The washout of :mod:`saltcalc.science.flush` is linear in what a medium holds above the water poured
on, and every layer is like the next. So what one pass does is known from what it does to salt in
the top layer alone: of that salt, :math:`A_0` stays in its layer and :math:`A_j` is found
:math:`j` layers below, each a 2 × 2 matrix over the mobile and the immobile part. Two such maps
follow one another by

.. math:: (B A)_j = \sum_{i \le j} B_{j-i} A_i

so that n equal cycles take about :math:`\log_2 n` products instead of n passes, and the number of
layers may differ from case to case. Cases stand in the last axis, or in several; maps may stand
for many cases, by an axis of length one.

References
----------
Block Toeplitz matrices: Bini, D. & Meini, B. (1995). On cyclic reduction applied to a class of
Toeplitz-like matrices. Computations with Markov Chains, 21-38. The step itself is that of
:mod:`saltcalc.science.flush`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Codes, Flags, Floats, not_negative
from saltcalc.science._cycle_matrices import matrix, top_rows

_TAIL = 1e-12
_ENDLESS = 1e6
"""Layer volumes, or exchange times, beyond which nothing changes any more. [-]"""


class Pots(NamedTuple):
    """How each of many containers loses its salt, checked once. Arrays of shape (cases,)."""

    efficiency: Floats
    """Share of the drained water that pushes out solution; the rest runs past. [L/L]"""
    mobile: Floats
    """Water that flows over water held. [L/L]"""
    immobile: Floats
    """Capacity of the standing water and of the medium for salt, over water held. [L/L]"""
    mass_transfer_coefficient: Floats
    """First-order rate at which the standing water follows the flowing. [1/h]"""
    layers: Codes
    """Number of layers in series."""

    @classmethod
    def of(
        cls,
        efficiency: npt.ArrayLike,
        immobile_water_fraction: npt.ArrayLike,
        mass_transfer_coefficient: npt.ArrayLike,
        sorbed_ratio: npt.ArrayLike,
        layers: npt.ArrayLike,
    ) -> Pots:
        """Check the parameters and bring them to one shape.

        Parameters
        ----------
        efficiency, immobile_water_fraction : array_like, shape (cases,)
        mass_transfer_coefficient, sorbed_ratio : array_like, shape (cases,)
            As in :class:`saltcalc.science.flush.WashoutParameters`.
        layers : array_like of int, shape (cases,)
            Number of layers, which may differ from case to case.

        Raises
        ------
        ValueError
            If a parameter is outside its meaning. Missing figures (NaN) pass.

        Examples
        --------
        >>> Pots.of(0.8, 0.3, 0.2, 0.05, [1, 3]).layers
        array([1, 3])
        """
        share, immobile, rate, store = (
            np.asarray(part, dtype=np.float64)
            for part in (
                efficiency,
                immobile_water_fraction,
                mass_transfer_coefficient,
                sorbed_ratio,
            )
        )
        if np.any((share < 0) | (share > 1)):
            raise ValueError("efficiency must lie between 0 and 1")
        if np.any((immobile < 0) | (immobile >= 1)):
            raise ValueError("immobile_water_fraction must be at least 0 and below 1")
        if np.any(rate < 0) or np.any(store < 0):
            raise ValueError("mass_transfer_coefficient and sorbed_ratio must not be negative")
        number = np.asarray(layers, dtype=np.int64)
        if np.any(number < 1):
            raise ValueError("layers must be at least 1")
        shape = np.broadcast_shapes(
            share.shape, immobile.shape, rate.shape, store.shape, number.shape
        )

        def flat(part: Floats) -> Floats:
            return np.broadcast_to(part, shape).reshape(-1)

        return cls(
            efficiency=flat(share),
            mobile=flat(1.0 - immobile),
            immobile=flat(immobile + store),
            mass_transfer_coefficient=flat(rate),
            layers=np.broadcast_to(number, shape).reshape(-1),
        )

    @property
    def capacity(self) -> Floats:
        """Capacity for salt [L/L] of all parts, over water held."""
        return self.mobile + self.immobile

    def some(self, cases: npt.NDArray[np.intp]) -> Pots:
        """Choose some of the cases.

        Parameters
        ----------
        cases : ndarray of int
            Which.
        """
        efficiency, mobile, immobile, rate, layers = self
        return Pots(efficiency[cases], mobile[cases], immobile[cases], rate[cases], layers[cases])

    def laid_out(self, shape: tuple[int, ...]) -> Pots:
        """Lay the cases out along several axes.

        Parameters
        ----------
        shape : tuple of int
            Of as many cases.
        """
        efficiency, mobile, immobile, rate, layers = self
        return Pots(
            efficiency.reshape(shape),
            mobile.reshape(shape),
            immobile.reshape(shape),
            rate.reshape(shape),
            layers.reshape(shape),
        )


def pass_map(pots: Pots, drained_over_held: npt.ArrayLike, duration: npt.ArrayLike) -> Floats:
    """Work out what one pass does, exactly.

    Parameters
    ----------
    pots : Pots
    drained_over_held : array_like, shape (cases,)
        Water drained in the pass over water held at capacity. [L/L]
    duration : array_like, shape (cases,)
        Time the water takes to pass. [h]

    Returns
    -------
    ndarray, shape (most layers, 2, 2, cases)
        Share of the excess in the top layer (last of the two, mobile first) that is found so many
        layers below (first axis), in which part (second axis).

    Raises
    ------
    ValueError
        If an amount or a time is negative.

    References
    ----------
    Uniformisation, as in :mod:`saltcalc.science.flush`.

    Examples
    --------
    >>> whole = pass_map(Pots.of(1.0, 0.0, 0.0, 0.0, 1), 1.0, 0.0)
    >>> float(whole[0, 0, 0, 0].round(6))  # a mixed pot keeps exp(-1) of its salt
    0.367879
    """
    drained = not_negative(drained_over_held, "drained_over_held")
    hours = not_negative(duration, "duration")
    flow = np.minimum(pots.layers * pots.efficiency * drained / pots.mobile, _ENDLESS)
    exchange = np.minimum(pots.mass_transfer_coefficient * hours, _ENDLESS)
    capacity = pots.immobile / pots.mobile
    jumps = np.maximum(flow + capacity * exchange, exchange)
    with np.errstate(divide="ignore", invalid="ignore"):
        pushed = np.where(jumps == 0, 0.0, flow / jumps)
        to_still = np.where(jumps == 0, 0.0, exchange / jumps)
    to_mobile = to_still * capacity
    # Steps of at most one jump, and as many doublings as bring them to the whole pass.
    busiest = float(np.max(jumps, where=~np.isnan(jumps), initial=0.0))
    doublings = max(int(np.ceil(np.log2(busiest))), 0) if busiest > 0 else 0
    step = (jumps / 2.0**doublings).reshape(-1)
    most = int(pots.layers.max(initial=1))
    jump = np.zeros((2, 2, 2, *jumps.shape))
    jump[0] = [[1.0 - pushed - to_mobile, to_mobile], [to_still, 1.0 - to_still]]
    jump[1, 0, 0] = pushed
    once = matrix(top_rows(jump.reshape(2, 2, 2, -1), most))
    moved = np.broadcast_to(np.eye(2, 2 * most), (*once.shape[:2], 2, 2 * most))
    weight = np.exp(-step)
    total = weight.copy()
    whole = weight[:, np.newaxis, np.newaxis] * moved
    term = 0
    while term < 2 or np.nanmax(weight, initial=0.0) > _TAIL:
        term += 1
        moved = moved @ once
        weight = weight * step / term
        total += weight
        whole += weight[:, np.newaxis, np.newaxis] * moved
    whole /= total[:, np.newaxis, np.newaxis]
    for _ in range(doublings):
        whole = whole @ matrix(whole)
    found = whole.reshape(-1, 2, most, 2).transpose(2, 3, 1, 0)
    return found.reshape(most, 2, 2, *jumps.shape)


def rest_map(pots: Pots, hours: npt.ArrayLike) -> Floats:
    """Work out what a rest does: mobile and immobile even out within each layer.

    Parameters
    ----------
    pots : Pots
    hours : array_like, shape (cases,)
        Time of rest. [h]

    Returns
    -------
    ndarray, shape (1, 2, 2, cases)
        As :func:`pass_map`; nothing moves down.

    Raises
    ------
    ValueError
        If a time is negative.

    Examples
    --------
    >>> rested = rest_map(Pots.of(0.8, 0.3, 0.2, 0.0, 3), 1000.0)
    >>> [float(x) for x in rested[0, :, 0, 0].round(6)]  # of mobile salt, after a long rest
    [0.7, 0.7]
    """
    time = not_negative(hours, "hours")
    share = pots.immobile / pots.capacity
    done = -np.expm1(-pots.mass_transfer_coefficient * pots.capacity / pots.mobile * time)
    still, flowing = share * done, (1.0 - share) * done
    return np.array([[[1.0 - still, still], [flowing, 1.0 - flowing]]])


def then(first: Floats, second: Floats) -> Floats:
    """One map after another.

    Parameters
    ----------
    first, second : ndarray, shape (layers, 2, 2, cases)
        In the order of time.

    Returns
    -------
    ndarray, shape (most layers, 2, 2, cases)

    Examples
    --------
    >>> pots = Pots.of(1.0, 0.0, 0.0, 0.0, 1)
    >>> half = pass_map(pots, 0.5, 0.0)
    >>> bool(np.allclose(then(half, half), pass_map(pots, 1.0, 0.0)))
    True
    """
    most = max(len(first), len(second))
    both = np.zeros((most, *np.broadcast_shapes(first.shape[1:], second.shape[1:])))
    for upper, one in enumerate(first):
        lower = second[: most - upper]
        both[upper : upper + len(lower)] += lower[:, :, :1] * one[:1] + lower[:, :, 1:] * one[1:]
    return both


def repeated(cycle: Floats, times: npt.ArrayLike) -> Floats:
    """Do a map several times over.

    Parameters
    ----------
    cycle : ndarray, shape (layers, 2, 2, cases)
    times : array_like of int, shape (cases,)
        How often, 0 or more.

    Returns
    -------
    ndarray, shape (layers, 2, 2, cases)

    Examples
    --------
    >>> pots = Pots.of(1.0, 0.0, 0.0, 0.0, 1)
    >>> float(repeated(pass_map(pots, 0.1, 0.0), 10)[0, 0, 0, 0].round(6))
    0.367879
    """
    left = np.broadcast_to(np.asarray(times, dtype=np.int64), cycle.shape[3:]).copy()
    whole = np.zeros_like(cycle)
    whole[0, 0, 0] = whole[0, 1, 1] = 1.0
    power = cycle
    while np.any(left):
        odd = left % 2 == 1
        if np.any(odd):
            further = then(whole, power)
            whole = further if np.all(odd) else np.where(odd, further, whole)
        left //= 2
        if np.any(left):
            power = then(power, power)
    return whole


def moved_by(cycle: Floats, excess: Floats) -> Floats:
    """Excess after a cycle from the excess before it.

    Parameters
    ----------
    cycle : ndarray, shape (layers, 2, 2, cases)
    excess : ndarray, shape (most layers, 2, cases)
        EC above that of the water, top layer first, mobile before immobile. [dS/m]

    Returns
    -------
    ndarray, shape (most layers, 2, cases)

    Examples
    --------
    A mixed pot gives off half its salt, and half of that again.

    >>> pots = Pots.of(1.0, 0.0, 0.0, 0.0, 1)
    >>> half = pass_map(pots, np.log(2.0), 0.0)
    >>> once = moved_by(half, even_excess(pots, 8.0, 0.0))
    >>> print(moved_by(half, once)[0, 0].round(3))
    [2.]
    """
    after = np.zeros(np.broadcast_shapes(excess.shape, (*excess.shape[:2], *cycle.shape[3:])))
    for fallen, block in enumerate(cycle[: len(excess)]):
        source = excess[: len(excess) - fallen]
        after[fallen:] += block[:, 0] * source[:, :1] + block[:, 1] * source[:, 1:]
    return after


def even_excess(pots: Pots, ec: npt.ArrayLike, ec_water: npt.ArrayLike) -> Floats:
    """Excess over the water of a medium with one concentration everywhere.

    Parameters
    ----------
    pots : Pots
    ec, ec_water : array_like, shape (cases,)
        EC of the medium's solution and of the water. [dS/m]

    Returns
    -------
    ndarray, shape (most layers, 2, cases)
        [dS/m]

    Examples
    --------
    >>> print(even_excess(Pots.of(0.8, 0.3, 0.2, 0.05, 2), 6.0, 0.5)[:, 0, 0])
    [5.5 5.5]
    """
    gap = np.asarray(ec, dtype=np.float64) - np.asarray(ec_water, dtype=np.float64)
    shape = (int(pots.layers.max(initial=1)), 2, pots.layers.size)
    return np.broadcast_to(gap, shape) * in_pot(pots)[:, np.newaxis]


def settled_excess(pots: Pots, excess: Floats) -> Floats:
    """Excess that the medium settles to once all its parts have evened out.

    Parameters
    ----------
    pots : Pots
    excess : ndarray, shape (most layers, 2, cases)
        [dS/m]

    Returns
    -------
    ndarray, shape (cases,)
        [dS/m]

    Examples
    --------
    >>> pots = Pots.of(0.8, 0.3, 0.2, 0.05, 3)
    >>> print(settled_excess(pots, even_excess(pots, 6.0, 0.5)).round(3))
    [5.5]
    """
    held = (_capacities(pots) * excess).sum(axis=(0, 1))
    return np.asarray(held / (pots.layers * pots.capacity))


def bottom_excess(pots: Pots, excess: Floats) -> Floats:
    """Excess in the flowing water of the lowest layer, which a drop pressed out of it shows.

    Parameters
    ----------
    pots : Pots
    excess : ndarray, shape (most layers, 2, cases)
        [dS/m]

    Returns
    -------
    ndarray, shape (cases,)
        [dS/m]

    Examples
    --------
    After a pass the lowest of three layers is stronger than the whole.

    >>> pots = Pots.of(0.8, 0.3, 0.2, 0.05, 3)
    >>> washed = moved_by(pass_map(pots, 0.5, 0.25), even_excess(pots, 6.0, 0.5))
    >>> bool(bottom_excess(pots, washed)[0] > settled_excess(pots, washed)[0])
    True
    """
    last = np.broadcast_to(pots.layers - 1, excess.shape[2:])
    return np.asarray(np.take_along_axis(excess[:, 0], last[np.newaxis], axis=0)[0])


def in_pot(pots: Pots) -> Flags:
    """Tell which layers a case has.

    Parameters
    ----------
    pots : Pots

    Returns
    -------
    ndarray of bool, shape (most layers, cases)

    Examples
    --------
    >>> in_pot(Pots.of(0.8, 0.3, 0.2, 0.05, [1, 2]))
    array([[ True,  True],
           [False,  True]])
    """
    places = np.arange(int(pots.layers.max(initial=1)))
    return np.asarray(places.reshape(-1, *(1,) * pots.layers.ndim) < pots.layers)


def settled_share(pots: Pots) -> Floats:
    """Work out the share of each part in what a case settles to.

    Parameters
    ----------
    pots : Pots

    Returns
    -------
    ndarray, shape (most layers, 2, cases)
        [-] They add up to 1.

    Examples
    --------
    >>> print(settled_share(Pots.of(0.8, 0.25, 0.2, 0.0, 2))[:, :, 0])
    [[0.375 0.125]
     [0.375 0.125]]
    """
    return np.asarray(_capacities(pots) / (pots.layers * pots.capacity))


def _capacities(pots: Pots) -> Floats:
    """Return the capacity of each part for salt, over water held, none in layers it lacks."""
    return np.stack([pots.mobile, pots.immobile]) * in_pot(pots)[:, np.newaxis]


def settled_loss(pots: Pots, cycle: Floats) -> Floats:
    """Work out what a cycle takes off the settled excess, for the excess of each part.

    Parameters
    ----------
    pots : Pots
    cycle : ndarray, shape (layers, 2, 2, cases)

    Returns
    -------
    ndarray, shape (most layers, 2, cases)
        Fall of the settled excess per unit of excess in a part. [-]

    Examples
    --------
    >>> pots = Pots.of(1.0, 0.0, 0.0, 0.0, 1)
    >>> half = pass_map(pots, np.log(2.0), 0.0)
    >>> float(settled_loss(pots, half)[0, 0, 0].round(3))
    0.5
    """
    share = settled_share(pots)
    left = np.zeros(np.broadcast_shapes(share.shape, (*share.shape[:2], *cycle.shape[3:])))
    for fallen, block in enumerate(cycle[: len(share)]):
        below = share[fallen:]
        left[: len(below)] += below[:, :1] * block[0] + below[:, 1:] * block[1]
    return share - left
