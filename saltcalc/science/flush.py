r"""Washout of a salty container: layers in series, each with mobile and immobile water.

Water poured on top pushes the solution of each layer into the one below. Part of the water in the
medium does not flow; it, and salt held on the medium itself, trades with the flowing water at a
first-order rate. Part of the water poured on runs through cracks and down the wall and moves
nothing. Per layer, with flow :math:`q`,

.. math::

    \frac{W(1-\varphi)}{N} \frac{dC_i}{dt} &= \eta q\,(C_{i-1} - C_i)
        - \frac{W(\varphi + s)}{N}\,k\,(C_i - C'_i) \\
    \frac{dC'_i}{dt} &= k\,(C_i - C'_i), \qquad
    C_\text{drainage} = \eta\,C_N + (1-\eta)\,C_w

One layer without immobile water is the well-mixed container; many layers approach
convection and dispersion; the immobile water is the two-region model [1]_.

The step is exact: the matrix exponential is summed as a Poisson mixture of powers of a
non-negative matrix (uniformisation [2]_), so that concentrations stay between the least and the
greatest of what was there and what came in, and salt is conserved to rounding. A pass of very many
jumps is cut into equal parts, and the operator of one part is squared until it spans the pass.

References
----------
.. [1] van Genuchten, M.Th. & Wierenga, P.J. (1976). Mass transfer studies in sorbing porous media
   I. Analytical solutions. Soil Sci. Soc. Am. J. 40:473-480.
.. [2] Jensen, A. (1953). Markoff chains as an aid in the study of Markoff processes. Skandinavisk
   Aktuarietidskrift 36:87-91.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Floats, in_shape, not_negative

MOST_JUMPS = 64.0
"""Mean number of jumps that is summed at once."""

LAYERS = 3
"""Layers in series of a growing container: between fully mixed and piston flow (judgement)."""


class WashoutParameters(NamedTuple):
    """How a medium gives off its salt. The arrays broadcast over leading axes (...)."""

    efficiency: npt.ArrayLike
    """Share of the drained water that pushes out solution; the rest runs past. [L/L]"""
    immobile_water_fraction: npt.ArrayLike
    """Share of the held water that does not flow. [L/L]"""
    mass_transfer_coefficient: npt.ArrayLike
    """First-order rate at which the immobile water follows the mobile. [1/h]"""
    sorbed_ratio: npt.ArrayLike
    """Salt held on the medium, over that in the same medium's water at rest. [-]"""
    layers: int = LAYERS
    """Number of layers in series."""


class SaltState(NamedTuple):
    """Concentrations in the layers, top first, in any one unit (here EC)."""

    mobile: Floats
    """In the flowing water, shape (..., layers). [dS/m]"""
    immobile: Floats
    """In the standing water and on the medium, shape (..., layers). [dS/m]"""


class PassResult(NamedTuple):
    """What one application of water did."""

    state: SaltState
    ec_drainage: Floats
    """EC of all that drained, mixed. [dS/m] NaN where nothing drained."""


class _Parts(NamedTuple):
    efficiency: Floats
    mobile: Floats
    """Mobile water over held water."""
    immobile: Floats
    """Capacity of the immobile part over held water."""
    rate: Floats


def _parts(parameters: WashoutParameters) -> _Parts:
    efficiency, immobile, rate, store = (
        np.asarray(part, dtype=np.float64) for part in parameters[:4]
    )
    if np.any((efficiency < 0) | (efficiency > 1)):
        raise ValueError("efficiency must lie between 0 and 1")
    if np.any((immobile < 0) | (immobile >= 1)):
        raise ValueError("immobile_water_fraction must be at least 0 and below 1")
    if np.any(rate < 0) or np.any(store < 0):
        raise ValueError("mass_transfer_coefficient and sorbed_ratio must not be negative")
    if parameters.layers < 1:
        raise ValueError("layers must be at least 1")
    return _Parts(efficiency, 1.0 - immobile, immobile + store, rate)


def uniform_state(ec: npt.ArrayLike, parameters: WashoutParameters) -> SaltState:
    """Start with one concentration everywhere, mobile and immobile in balance.

    Parameters
    ----------
    ec : array_like, shape (...)
        EC of the medium's solution at container capacity. [dS/m]
    parameters : WashoutParameters
        Their arrays broadcast with ``ec``.

    Returns
    -------
    SaltState

    Examples
    --------
    >>> state = uniform_state(4.0, WashoutParameters(0.65, 0.25, 0.2, 0.1))
    >>> print(state.mobile)
    [4. 4. 4.]
    """
    shape = np.broadcast_shapes(np.shape(ec), *(np.shape(part) for part in parameters[:4]))
    layered = np.broadcast_to(
        np.asarray(ec, dtype=np.float64)[..., np.newaxis], (*shape, parameters.layers)
    )
    return SaltState(layered.copy(), layered.copy())


def soak_up(
    state: SaltState,
    parameters: WashoutParameters,
    soaked_over_held: npt.ArrayLike,
    ec_water: npt.ArrayLike,
) -> SaltState:
    r"""Wet a medium up towards capacity: it keeps the water, and the salt that the water brings.

    Concentrations are those at container capacity throughout, so that the water soaked up adds to
    them as if it were spread over all that the medium holds,

    .. math:: \Delta C = C_w \frac{V / W}{1 + s}

    with the water soaked up :math:`V` and held :math:`W`, and the store :math:`s`.

    Parameters
    ----------
    state : SaltState
        Concentrations before, shape (..., layers).
    parameters : WashoutParameters
        Their arrays broadcast with shape (...).
    soaked_over_held : array_like, shape (...)
        Water soaked up over water held at container capacity. [L/L]
    ec_water : array_like, shape (...)
        EC of that water. [dS/m]

    Returns
    -------
    SaltState

    Raises
    ------
    ValueError
        If the amount or the EC of the water is negative.

    References
    ----------
    Balance of the salt.

    Examples
    --------
    A tenth of its water comes back with water of 1 dS/m.

    >>> parameters = WashoutParameters(0.65, 0.25, 0.2, 0.0)
    >>> state = soak_up(uniform_state(4.0, parameters), parameters, 0.1, 1.0)
    >>> print(state.mobile)
    [4.1 4.1 4.1]
    """
    parts = _parts(parameters)
    soaked = not_negative(soaked_over_held, "soaked_over_held")
    brought = not_negative(ec_water, "ec_water") * soaked / (parts.mobile + parts.immobile)
    rise = brought[..., np.newaxis]
    return SaltState(state.mobile + rise, state.immobile + rise)


def settled_ec(state: SaltState, parameters: WashoutParameters) -> Floats:
    """EC that the medium settles to once all its parts have evened out.

    Parameters
    ----------
    state : SaltState
    parameters : WashoutParameters

    Returns
    -------
    ndarray, shape (...)
        EC after mixing through and resting; what a sample taken days later reads. [dS/m]

    Examples
    --------
    >>> parameters = WashoutParameters(0.65, 0.25, 0.2, 0.0)
    >>> state = SaltState(np.array([1.0, 2.0, 3.0]), np.array([4.0, 4.0, 4.0]))
    >>> print(settled_ec(state, parameters))
    2.5
    """
    parts = _parts(parameters)
    held = parts.mobile * state.mobile.mean(axis=-1) + parts.immobile * state.immobile.mean(axis=-1)
    return np.asarray(held / (parts.mobile + parts.immobile))


def apply_water(
    state: SaltState,
    parameters: WashoutParameters,
    drained_over_held: npt.ArrayLike,
    ec_water: npt.ArrayLike,
    duration: npt.ArrayLike = 0.0,
) -> PassResult:
    """Pour on water until a given amount has drained.

    Parameters
    ----------
    state : SaltState
        Concentrations before, shape (..., layers).
    parameters : WashoutParameters
        Their arrays broadcast with shape (...).
    drained_over_held : array_like, shape (...)
        Water drained over water held at container capacity. [L/L]
    ec_water : array_like, shape (...)
        EC of the water poured on. [dS/m]
    duration : array_like, shape (...)
        Time the water takes to pass, during which the immobile part follows; 0 for a pulse. [h]

    Returns
    -------
    PassResult

    Raises
    ------
    ValueError
        If an amount or a duration is negative or a parameter is outside its meaning.

    Examples
    --------
    One capacity through a mixed container leaves 1/e of the salt.

    >>> mixed = WashoutParameters(1.0, 0.0, 0.0, 0.0, layers=1)
    >>> result = apply_water(uniform_state(1.0, mixed), mixed, 1.0, 0.0)
    >>> print(result.state.mobile.round(4), result.ec_drainage.round(4))
    [0.3679] 0.6321
    """
    parts = _parts(parameters)
    drained = np.asarray(drained_over_held, dtype=np.float64)
    hours = np.asarray(duration, dtype=np.float64)
    if np.any(drained < 0) or np.any(hours < 0):
        raise ValueError("drained_over_held and duration must not be negative")
    water = np.asarray(ec_water, dtype=np.float64)

    flow = parameters.layers * parts.efficiency * drained / parts.mobile
    exchange = parts.rate * hours
    capacity = parts.immobile / parts.mobile
    mobile, immobile, through = _advance(
        state.mobile, state.immobile, flow, exchange, capacity, water
    )
    with np.errstate(invalid="ignore", divide="ignore"):
        mixed = np.where(flow > 0, through / flow, mobile[..., -1])
    drainage = parts.efficiency * mixed + (1.0 - parts.efficiency) * water
    return PassResult(
        state=SaltState(mobile, immobile),
        ec_drainage=np.where(drained > 0, drainage, np.nan),
    )


def _advance(
    mobile: Floats,
    immobile: Floats,
    flow: Floats,
    exchange: Floats,
    capacity: Floats,
    water: Floats,
) -> tuple[Floats, Floats, Floats]:
    """Advance the layers exactly over one pass.

    ``flow`` counts mobile volumes of one layer, ``exchange`` is rate times duration, ``capacity``
    immobile over mobile. Returns mobile, immobile and the sum of concentration times ``flow``
    that left the last layer. NaN where an amount is not finite.
    """
    shape = np.broadcast_shapes(
        mobile.shape[:-1], flow.shape, exchange.shape, capacity.shape, water.shape
    )
    jumps = in_shape(_jumps(flow, exchange, capacity), shape)
    many = jumps > MOST_JUMPS
    if not many.any():
        return _sum_up(mobile, immobile, flow, exchange, capacity, water)
    columns = (*shape, mobile.shape[-1])
    states = [in_shape(part, columns) for part in (mobile, immobile)]
    rates = [in_shape(part, shape) for part in (flow, exchange, capacity, water)]
    result = (np.empty(columns), np.empty(columns), np.empty(shape))
    for rows, advance in ((~many, _sum_up), (many, _power_up)):
        found = advance(*(part[rows] for part in (*states, *rates)))
        for whole, part in zip(result, found, strict=True):
            whole[rows] = part
    return result


def _jumps(flow: Floats, exchange: Floats, capacity: Floats) -> Floats:
    """Mean number of jumps of the busiest part of the medium in a pass."""
    return np.asarray(np.maximum(flow + capacity * exchange, exchange))


def _power_up(
    mobile: Floats,
    immobile: Floats,
    flow: Floats,
    exchange: Floats,
    capacity: Floats,
    water: Floats,
) -> tuple[Floats, Floats, Floats]:
    """Advance as :func:`_advance`, with few operations however many the jumps; shapes (rows, ...).

    The operator acts on mobile, immobile, the water and what has left, in this order.
    """
    layers = mobile.shape[-1]
    jumps = _jumps(flow, exchange, capacity)
    flow = np.where(np.isfinite(jumps), flow, np.nan)
    halvings = np.zeros(jumps.shape)
    np.ceil(np.log2(jumps / MOST_JUMPS), out=halvings, where=np.isfinite(jumps))
    flow, exchange = np.ldexp((flow, exchange), -halvings.astype(np.intc))
    size = 2 * layers + 2
    unit = np.eye(size)[:, np.newaxis, :]
    here, still, left = _sum_up(
        unit[..., :layers], unit[..., layers:-2], flow, exchange, capacity, unit[..., -2]
    )
    ends = np.broadcast_to(unit[..., -2:], (size, jumps.size, 2)).copy()
    ends[..., 1] += left
    operator = np.concatenate([here, still, ends], axis=-1).swapaxes(0, 1)
    for done in range(int(halvings.max())):
        going = halvings > done
        flow = np.where(going, 2.0 * flow, flow)
        operator[going] = _balanced(operator[going] @ operator[going], flow[going])
    start = np.concatenate(
        [mobile, immobile, water[:, np.newaxis], np.zeros((jumps.size, 1))], axis=-1
    )
    after = (start[:, np.newaxis, :] @ operator)[:, 0, :]
    return after[:, :layers], after[:, layers:-2], after[:, -1]


def _balanced(operator: Floats, flow: Floats) -> Floats:
    """Take the rounding out of a squared operator: a state even with the water stays as it is."""
    sums = operator[:, :-1].sum(axis=1)
    sums[:, -1] /= np.where(flow > 0, flow, 1.0)
    operator[:, :-1] /= np.where(sums == 0, 1.0, sums)[:, np.newaxis, :]
    return operator


def _sum_up(
    mobile: Floats,
    immobile: Floats,
    flow: Floats,
    exchange: Floats,
    capacity: Floats,
    water: Floats,
) -> tuple[Floats, Floats, Floats]:
    """Advance as :func:`_advance`, jump by jump."""
    shape = np.broadcast_shapes(
        mobile.shape[:-1], flow.shape, exchange.shape, capacity.shape, water.shape
    )
    layers = mobile.shape[-1]
    jumps = in_shape(_jumps(flow, exchange, capacity), shape)
    busiest = float(np.max(jumps, where=~np.isnan(jumps), initial=0.0))
    terms = int(np.ceil(busiest + 8.0 * np.sqrt(busiest) + 20.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        share_flow = np.where(jumps == 0, 0.0, flow / jumps)
        share_exchange = np.where(jumps == 0, 0.0, exchange / jumps)
        log_jumps = np.log(jumps)
    pushed = share_flow[..., np.newaxis]
    to_immobile = share_exchange[..., np.newaxis]
    to_mobile = to_immobile * capacity[..., np.newaxis]

    here = in_shape(mobile, (*shape, layers)).copy()
    still = in_shape(immobile, (*shape, layers)).copy()
    left = np.zeros(shape)
    weight = np.exp(-jumps)
    total = weight.copy()
    sum_here = weight[..., np.newaxis] * here
    sum_still = weight[..., np.newaxis] * still
    sum_left = np.zeros(shape)
    above = np.empty_like(here)
    above[..., 0] = water
    for term in range(1, terms):
        above[..., 1:] = here[..., :-1]
        left += share_flow * here[..., -1]
        gap = here - still
        here += pushed * (above - here) - to_mobile * gap
        still += to_immobile * gap
        weight = np.exp(term * log_jumps - jumps - math.lgamma(term + 1.0))
        total += weight
        sum_here += weight[..., np.newaxis] * here
        sum_still += weight[..., np.newaxis] * still
        sum_left += weight * left
    return (
        sum_here / total[..., np.newaxis],
        sum_still / total[..., np.newaxis],
        sum_left / total,
    )


def rest(state: SaltState, parameters: WashoutParameters, hours: npt.ArrayLike) -> SaltState:
    """Let the container stand: mobile and immobile even out within each layer.

    Parameters
    ----------
    state : SaltState
        Concentrations before, shape (..., layers).
    parameters : WashoutParameters
        Their arrays broadcast with shape (...).
    hours : array_like, shape (...)
        Time of rest. [h]

    Returns
    -------
    SaltState

    Raises
    ------
    ValueError
        If a time is negative.

    Examples
    --------
    After a long rest the flowing and the standing water are even.

    >>> parameters = WashoutParameters(0.65, 0.25, 0.2, 0.0)
    >>> state = SaltState(np.array([1.0, 2.0, 3.0]), np.array([4.0, 4.0, 4.0]))
    >>> print(rest(state, parameters, 100.0).mobile)
    [1.75 2.5  3.25]
    """
    parts = _parts(parameters)
    time = np.asarray(hours, dtype=np.float64)
    if np.any(time < 0):
        raise ValueError("hours must not be negative")
    capacity = (parts.immobile / parts.mobile)[..., np.newaxis]
    fading = np.exp(-parts.rate[..., np.newaxis] * (1.0 + capacity) * time[..., np.newaxis])
    even = (state.mobile + capacity * state.immobile) / (1.0 + capacity)
    return SaltState(even + (state.mobile - even) * fading, even + (state.immobile - even) * fading)


def well_mixed_drainage(
    ec_initial: npt.ArrayLike,
    ec_water: npt.ArrayLike,
    ec_target: npt.ArrayLike,
    efficiency: npt.ArrayLike = 1.0,
) -> Floats:
    r"""Water to drain, over water held, until a well-mixed container is at a target.

    .. math:: \frac{D}{W} = \frac{1}{\eta}\ln\frac{C_0 - C_w}{C_t - C_w}

    Parameters
    ----------
    ec_initial : array_like, shape (...)
        EC before. [dS/m]
    ec_water : array_like, shape (...)
        EC of the water poured on. [dS/m]
    ec_target : array_like, shape (...)
        EC wanted. [dS/m]
    efficiency : array_like, shape (...)
        Share of the drained water that moves solution. [L/L]

    Returns
    -------
    ndarray, shape (...)
        Water drained over water held [L/L]; 0 where the medium is there already, infinite where
        this water cannot reach it.

    Examples
    --------
    To 1/e of the salt takes one capacity.

    >>> print(well_mixed_drainage(1.0, 0.0, np.exp(-1.0)).round(3))
    1.0
    """
    start, water, target, moving = (
        np.asarray(part, dtype=np.float64) for part in (ec_initial, ec_water, ec_target, efficiency)
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        needed = np.log((start - water) / (target - water)) / moving
    needed = np.where(target <= water, np.inf, needed)
    return np.where(start <= target, 0.0, needed)
