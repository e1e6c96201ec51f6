"""Many passes of one flush: a pass worked out once and repeated, and a whole series of passes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Floats
from saltcalc.science.flush import (
    SaltState,
    WashoutParameters,
    apply_water,
    rest,
    settled_ec,
    uniform_state,
)


def pass_operator(
    parameters: WashoutParameters,
    drained_over_held: npt.ArrayLike,
    duration: npt.ArrayLike = 0.0,
    rest_after: npt.ArrayLike = 0.0,
) -> Floats:
    """Work out one pass of pure water and the rest after it once, as the model is linear.

    Parameters
    ----------
    parameters : WashoutParameters
        Their arrays broadcast with shape (...).
    drained_over_held : array_like, shape (...)
        Water drained in each pass over water held. [L/L]
    duration : array_like, shape (...)
        Time each pass takes. [h]
    rest_after : array_like, shape (...)
        Rest after each pass. [h]

    Returns
    -------
    ndarray, shape (..., 2 layers, 2 layers + 2)
        What each part of the state before makes of the state after the rest (mobile first), of the
        EC that the medium settles to, and of the mixed drainage (NaN where none drains).

    Raises
    ------
    ValueError
        As for :func:`saltcalc.science.flush.apply_water` and :func:`saltcalc.science.flush.rest`.

    Examples
    --------
    >>> mixed = WashoutParameters(1.0, 0.0, 0.0, 0.0, layers=1)
    >>> print(pass_operator(mixed, 1.0)[0].round(4))
    [0.3679 0.     0.3679 0.6321]
    """
    layers = parameters.layers
    unit = np.eye(2 * layers)
    efficiency, immobile, rate, store = (
        np.asarray(part, dtype=np.float64)[..., np.newaxis] for part in parameters[:4]
    )
    widened = WashoutParameters(efficiency, immobile, rate, store, layers)
    drained, hours, pause = (
        np.asarray(part, dtype=np.float64)[..., np.newaxis]
        for part in (drained_over_held, duration, rest_after)
    )
    before = SaltState(unit[:, :layers], unit[:, layers:])
    result = apply_water(before, widened, drained, 0.0, hours)
    after = rest(result.state, widened, pause)
    settled, drainage = settled_ec(result.state, widened), result.ec_drainage
    shape = np.broadcast_shapes(after.mobile.shape[:-1], settled.shape, drainage.shape)
    columns = (after.mobile, after.immobile, settled[..., np.newaxis], drainage[..., np.newaxis])
    return np.concatenate(
        [np.broadcast_to(part, (*shape, part.shape[-1])) for part in columns], axis=-1
    )


def excess_over_water(state: SaltState, ec_water: npt.ArrayLike) -> Floats:
    """Return a state as what it holds above the water poured on, mobile first.

    Parameters
    ----------
    state : SaltState
        Concentrations, shape (..., layers).
    ec_water : array_like, shape (...)
        EC of the water. [dS/m]

    Returns
    -------
    ndarray, shape (..., 2 layers)
        Excess. [dS/m]

    Examples
    --------
    >>> mixed = WashoutParameters(1.0, 0.0, 0.0, 0.0, layers=1)
    >>> print(excess_over_water(uniform_state(4.0, mixed), 0.5))
    [3.5 3.5]
    """
    water = np.asarray(ec_water, dtype=np.float64)
    return np.asarray(np.concatenate(state, axis=-1) - water[..., np.newaxis])


def repeat_pass(operator: Floats, excess: npt.ArrayLike) -> tuple[Floats, Floats, Floats]:
    """Do a pass, and the rest after it, that was worked out by :func:`pass_operator`.

    Parameters
    ----------
    operator : ndarray, shape (..., 2 layers, 2 layers + 2)
        The pass.
    excess : array_like, shape (..., 2 layers)
        State before, above the water poured on. [dS/m]

    Returns
    -------
    excess : ndarray, shape (..., 2 layers)
        State after. [dS/m]
    settled, drainage : ndarray, shape (...)
        EC that the medium settles to and of the mixed drainage, above that of the water. [dS/m]

    Examples
    --------
    One capacity through a mixed container leaves 1/e of the salt.

    >>> mixed = WashoutParameters(1.0, 0.0, 0.0, 0.0, layers=1)
    >>> excess = excess_over_water(uniform_state(4.5, mixed), 0.5)
    >>> print(repeat_pass(pass_operator(mixed, 1.0), excess / 4)[1].round(4))
    0.3679
    """
    before = np.asarray(excess, dtype=np.float64)[..., np.newaxis, :]
    found = np.matmul(before, operator)[..., 0, :]
    return found[..., :-2], found[..., -2], found[..., -1]


class WashRecord(NamedTuple):
    """Medium and drainage after each of several passes."""

    ec_medium: Floats
    """EC the medium settles to, shape (..., passes). [dS/m]"""
    ec_drainage: Floats
    """EC of each pass's drainage, mixed, shape (..., passes). [dS/m] NaN where none drained."""


def wash(
    ec_medium: npt.ArrayLike,
    ec_water: npt.ArrayLike,
    parameters: WashoutParameters,
    drained_over_held: npt.ArrayLike,
    duration: npt.ArrayLike = 0.0,
    rest_between: npt.ArrayLike = 0.0,
) -> WashRecord:
    """Wash in passes and record the medium and the drainage after each.

    The same model serves any solute; put its concentration in the place of EC and its own
    ``store_ratio`` in the parameters.

    Parameters
    ----------
    ec_medium : array_like, shape (...)
        EC of the medium's solution at container capacity, before. [dS/m]
    ec_water : array_like, shape (...)
        EC of the water poured on. [dS/m]
    parameters : WashoutParameters
        Their arrays broadcast with shape (...).
    drained_over_held : array_like, shape (..., passes)
        Water drained in each pass over water held; 0 for a pass that drains nothing. [L/L]
    duration : array_like, shape (...)
        Time each pass takes. [h]
    rest_between : array_like, shape (...)
        Rest after each pass. [h]

    Returns
    -------
    WashRecord
        Each of shape (..., passes).

    Examples
    --------
    Four passes of a quarter of the held water each.

    >>> record = wash(4.0, 0.5, WashoutParameters(0.65, 0.25, 0.2, 0.1), [0.25] * 4, 0.25, 0.5)
    >>> print(record.ec_medium.round(2), record.ec_drainage.round(2))
    [3.49 3.01 2.6  2.26] [2.76 2.61 2.32 1.99]
    """
    drained = np.asarray(drained_over_held, dtype=np.float64)
    shape = np.broadcast_shapes(
        np.shape(ec_medium),
        np.shape(ec_water),
        drained.shape[:-1],
        np.shape(duration),
        np.shape(rest_between),
    )
    water = np.asarray(ec_water, dtype=np.float64)
    start = np.broadcast_to(np.asarray(ec_medium, dtype=np.float64), shape)
    excess = excess_over_water(uniform_state(start, parameters), water)
    medium, drainage = [], []
    operator: Floats | None = None
    for step in range(drained.shape[-1]):
        volume = drained[..., step]
        if operator is None or not np.array_equal(volume, drained[..., step - 1]):
            operator = pass_operator(parameters, volume, duration, rest_between)
        excess, settled, drained_off = repeat_pass(operator, excess)
        medium.append(settled + water)
        drainage.append(drained_off + water)
    return WashRecord(*(np.stack(series, axis=-1) for series in (medium, drainage)))
