r"""A pass and the rest after it as one linear map, for many containers and many passes at once.

The washout of :mod:`saltcalc.science.flush` is linear in what a medium holds above the water poured
on: the excess of each part of a pot is a row, and a pass and its rest are a matrix that this row is
multiplied by. One map after another is the product of their matrices, so that n equal cycles take
about :math:`\log_2 n` products instead of n passes. Every layer is like the next, so that what a
pass does is known from what becomes of the salt in the top layer. The number of layers may differ
from case to case: those that a pot lacks hold nothing and count for nothing.

The parts of a pot stand in the last axis, layer by layer from the top, mobile before immobile;
the cases in those before it.

References
----------
The step itself is that of :mod:`saltcalc.science.flush`.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import (
    Codes,
    Flags,
    Floats,
    in_shape,
    least_and_most,
    not_negative,
    one_shape,
    picked,
)

_TAIL = 1e-16
"""Share of the pass that the terms left out may make. [-]"""

_HALVINGS = 2
"""How often a jump is halved: a doubling costs less than the terms of the series that it saves."""

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
        (least, most), (smallest, largest) = least_and_most(share), least_and_most(immobile)
        if least < 0 or most > 1:
            raise ValueError("efficiency must lie between 0 and 1")
        if smallest < 0 or largest >= 1:
            raise ValueError("immobile_water_fraction must be at least 0 and below 1")
        if least_and_most(rate)[0] < 0 or least_and_most(store)[0] < 0:
            raise ValueError("mass_transfer_coefficient and sorbed_ratio must not be negative")
        number = np.asarray(layers, dtype=np.int64)
        if number.min(initial=1) < 1:
            raise ValueError("layers must be at least 1")
        parts: tuple[Any, ...] = (share, 1.0 - immobile, immobile + store, rate, number)
        shape = one_shape(*parts, least=(1,))
        return cls(*(in_shape(part, shape) for part in parts))

    @property
    def capacity(self) -> Floats:
        """Capacity for salt [L/L] of all parts, over water held."""
        return self.mobile + self.immobile

    def some(self, cases: Any) -> Pots:
        """Choose some of the cases.

        Parameters
        ----------
        cases : index
            Which.
        """
        return Pots(*(part[cases] for part in self))


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
    ndarray, shape (cases, parts, parts)
        Share of the excess in one part (second axis) that is found in another (last axis).

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
    >>> float(whole[0, 0, 0].round(6))  # a mixed pot keeps exp(-1) of its salt
    0.367879
    """
    drained = not_negative(drained_over_held, "drained_over_held")
    hours = not_negative(duration, "duration")
    flow = np.minimum(pots.layers * pots.efficiency * drained / pots.mobile, _ENDLESS)
    exchange = np.minimum(pots.mass_transfer_coefficient * hours, _ENDLESS)
    capacity = pots.immobile / pots.mobile
    jumps = np.maximum(flow + capacity * exchange, exchange)
    # Steps of a part of a jump, and as many doublings as bring them to the whole pass.
    busiest = float(np.fmax.reduce(jumps, axis=None, initial=0.0))
    doublings = max(math.ceil(math.log2(busiest)), 0) + _HALVINGS if busiest > 0 else 0
    step = jumps / 2.0**doublings
    share = 2.0**-doublings
    pushed, to_still = flow * share, exchange * share
    to_mobile = to_still * capacity
    most = int(pots.layers.max(initial=1))
    top = np.zeros((*jumps.shape, 2, 2 * most))
    top[..., 0, 0] = step - pushed - to_mobile
    top[..., 0, 1] = to_still
    top[..., 1, 0] = to_mobile
    top[..., 1, 1] = step - to_still
    if most > 1:
        top[..., 0, 2] = pushed
    once = _for_all_layers(top)
    # The exponential series by Horner's rule, of salt in the top layer.
    unit = np.eye(2, 2 * most)
    last = _terms(busiest * share)
    moved = top / last + unit
    for term in range(last - 1, 0, -1):
        moved = moved @ once
        moved /= term
        moved += unit
    moved *= np.exp(-step)[..., np.newaxis, np.newaxis]
    whole = _for_all_layers(moved)
    for _ in range(doublings):
        whole = whole @ whole
    return whole


def _terms(largest: float) -> int:
    """Count the terms of the exponential series that matter."""
    term, left = 1, largest
    while left > _TAIL:
        term += 1
        left *= largest / term
    return term


def _for_all_layers(top: Floats) -> Floats:
    """Write a map out for all layers, each like the top one, shape (cases, parts, parts)."""
    parts = top.shape[-1]
    whole = np.zeros((*top.shape[:-2], parts, parts))
    for first in range(0, parts, 2):
        whole[..., first : first + 2, first:] = top[..., : parts - first]
    return whole


def rest_map(pots: Pots, hours: npt.ArrayLike) -> Floats:
    """Work out what a rest does: mobile and immobile even out within each layer.

    Parameters
    ----------
    pots : Pots
    hours : array_like, shape (cases,)
        Time of rest. [h]

    Returns
    -------
    ndarray, shape (cases, parts, parts)
        As :func:`pass_map`; nothing moves down.

    Raises
    ------
    ValueError
        If a time is negative.

    Examples
    --------
    >>> rested = rest_map(Pots.of(0.8, 0.3, 0.2, 0.0, 3), 1000.0)
    >>> print(rested[0, 0, :2].round(6))  # of mobile salt, after a long rest
    [0.7 0.7]
    """
    time = not_negative(hours, "hours")
    share = pots.immobile / pots.capacity
    done = -np.expm1(-pots.mass_transfer_coefficient * pots.capacity / pots.mobile * time)
    still, flowing = share * done, (1.0 - share) * done
    parts = 2 * int(pots.layers.max(initial=1))
    whole = np.zeros((*still.shape, parts, parts))
    for mobile in range(0, parts, 2):
        whole[..., mobile, mobile], whole[..., mobile, mobile + 1] = 1.0 - still, flowing
        whole[..., mobile + 1, mobile], whole[..., mobile + 1, mobile + 1] = still, 1.0 - flowing
    return whole


def moved_by(cycle: Floats, excess: Floats) -> Floats:
    """Excess after a cycle from the excess before it.

    Parameters
    ----------
    cycle : ndarray, shape (cases, parts, parts)
    excess : ndarray, shape (cases, parts)
        EC of each part above that of the water. [dS/m]

    Returns
    -------
    ndarray, shape (cases, parts)

    Examples
    --------
    A mixed pot gives off half its salt, and half of that again.

    >>> pots = Pots.of(1.0, 0.0, 0.0, 0.0, 1)
    >>> half = pass_map(pots, np.log(2.0), 0.0)
    >>> once = moved_by(half, even_excess(pots, 8.0, 0.0))
    >>> print(moved_by(half, once)[0, :1].round(3))
    [2.]
    """
    return np.asarray((excess[..., np.newaxis, :] @ cycle)[..., 0, :])


def followed(excess: Floats, cycle: Floats, number: int) -> Floats:
    """Excess after 0, 1, 2, ... cycles, found by doubling.

    Parameters
    ----------
    excess : ndarray, shape (cases, starts, parts)
    cycle : ndarray, shape (cases, parts, parts)
    number : int
        How many of them, the start among them.

    Returns
    -------
    ndarray, shape (cases, number * starts, parts)
        Cycle by cycle.

    Examples
    --------
    >>> half = pass_map(Pots.of(1.0, 0.0, 0.0, 0.0, 1), np.log(2.0), 0.0)
    >>> print(followed(np.array([[[8.0, 0.0]]]), half, 4)[0, :, 0].round(3))
    [8. 4. 2. 1.]
    """
    left, power, rows = excess, cycle, number * excess.shape[-2]
    while (known := left.shape[-2]) < rows:
        left = np.concatenate([left, left[..., : rows - known, :] @ power], axis=-2)
        if left.shape[-2] < rows:
            power = power @ power
    return left


def even_excess(pots: Pots, ec: npt.ArrayLike, ec_water: npt.ArrayLike) -> Floats:
    """Excess over the water of a medium with one concentration everywhere.

    Parameters
    ----------
    pots : Pots
    ec, ec_water : array_like, shape (cases,)
        EC of the medium's solution and of the water. [dS/m]

    Returns
    -------
    ndarray, shape (cases, parts)
        [dS/m]

    Examples
    --------
    >>> print(even_excess(Pots.of(0.8, 0.3, 0.2, 0.05, 2), 6.0, 0.5)[0])
    [5.5 5.5 5.5 5.5]
    """
    gap = np.asarray(ec, dtype=np.float64) - np.asarray(ec_water, dtype=np.float64)
    return np.asarray(gap[..., np.newaxis] * np.repeat(in_pot(pots), 2, axis=-1))


def settled_excess(pots: Pots, excess: Floats) -> Floats:
    """Excess that the medium settles to once all its parts have evened out.

    Parameters
    ----------
    pots : Pots
    excess : ndarray, shape (cases, parts)
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
    return weighed(settled_share(pots), excess)


def weighed(weights: Floats, excess: Floats) -> Floats:
    """Sum of the excess of all parts of each case, by weights.

    Parameters
    ----------
    weights, excess : ndarray, shape (cases, parts)

    Returns
    -------
    ndarray, shape (cases,)

    Examples
    --------
    >>> print(weighed(np.array([[0.75, 0.25]]), np.array([[4.0, 8.0]])))
    [5.]
    """
    return np.asarray(np.einsum("...i,...i->...", weights, excess))


def bottom_excess(pots: Pots, excess: Floats) -> Floats:
    """Excess in the flowing water of the lowest layer, which a drop pressed out of it shows.

    Parameters
    ----------
    pots : Pots
    excess : ndarray, shape (cases, parts)
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
    last = in_shape(2 * (pots.layers - 1), excess.shape[:-1])
    return np.asarray(picked(excess, last))


def in_pot(pots: Pots) -> Flags:
    """Tell which layers a case has.

    Parameters
    ----------
    pots : Pots

    Returns
    -------
    ndarray of bool, shape (cases, most layers)

    Examples
    --------
    >>> in_pot(Pots.of(0.8, 0.3, 0.2, 0.05, [1, 2]))
    array([[ True, False],
           [ True,  True]])
    """
    places = np.arange(int(pots.layers.max(initial=1)))
    return np.asarray(places < pots.layers[..., np.newaxis])


def settled_share(pots: Pots) -> Floats:
    """Work out the share of each part in what a case settles to.

    Parameters
    ----------
    pots : Pots

    Returns
    -------
    ndarray, shape (cases, parts)
        [-] They add up to 1.

    Examples
    --------
    >>> print(settled_share(Pots.of(0.8, 0.25, 0.2, 0.0, 2))[0])
    [0.375 0.125 0.375 0.125]
    """
    held = np.stack([pots.mobile, pots.immobile], axis=-1)
    held /= (pots.layers * pots.capacity)[..., np.newaxis]
    inside = in_pot(pots)[..., np.newaxis]
    each = inside * held[..., np.newaxis, :]
    return np.asarray(each.reshape(*pots.layers.shape, 2 * inside.shape[-2]))
