"""Many passes of one flush: a pass worked out once and repeated, and a whole series of passes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Floats
from saltcalc.science.flush import (
    PassResult,
    SaltState,
    WashoutParameters,
    apply_water,
    rest,
    settled_ec,
    uniform_state,
)


class PassOperator(NamedTuple):
    """What one pass of pure water does to any state, for many equal passes of one container."""

    step: Floats
    """State after from state before, shape (..., 2 layers, 2 layers); mobile first."""
    drainage: Floats
    """Mixed drainage from state before, shape (..., 2 layers)."""


def pass_operator(
    parameters: WashoutParameters,
    drained_over_held: npt.ArrayLike,
    duration: npt.ArrayLike = 0.0,
) -> PassOperator:
    """Work out one pass once, as the model is linear.

    Parameters
    ----------
    parameters : WashoutParameters
        Their arrays broadcast with shape (...).
    drained_over_held : array_like, shape (...)
        Water drained in each pass over water held, above 0. [L/L]
    duration : array_like, shape (...)
        Time each pass takes. [h]

    Returns
    -------
    PassOperator

    Examples
    --------
    >>> mixed = WashoutParameters(1.0, 0.0, 0.0, 0.0, layers=1)
    >>> print(pass_operator(mixed, 1.0).step.round(4)[0, 0])
    0.3679
    """
    layers = parameters.layers
    unit = np.eye(2 * layers)
    efficiency, immobile, rate, store = (
        np.asarray(part, dtype=np.float64)[..., np.newaxis] for part in parameters[:4]
    )
    widened = WashoutParameters(efficiency, immobile, rate, store, layers)
    result = apply_water(
        SaltState(unit[:, :layers], unit[:, layers:]),
        widened,
        np.asarray(drained_over_held, dtype=np.float64)[..., np.newaxis],
        0.0,
        np.asarray(duration, dtype=np.float64)[..., np.newaxis],
    )
    return PassOperator(
        np.concatenate([result.state.mobile, result.state.immobile], axis=-1), result.ec_drainage
    )


def repeat_pass(
    operator: PassOperator,
    state: SaltState,
    ec_water: npt.ArrayLike,
) -> PassResult:
    """Do a pass that was worked out by :func:`pass_operator`; the same result as `apply_water`.

    Parameters
    ----------
    operator : PassOperator
    state : SaltState
        Concentrations before, shape (..., layers).
    ec_water : array_like, shape (...)
        EC of the water poured on. [dS/m]

    Returns
    -------
    PassResult

    Examples
    --------
    >>> mixed = WashoutParameters(1.0, 0.0, 0.0, 0.0, layers=1)
    >>> operator = pass_operator(mixed, 1.0)
    >>> print(repeat_pass(operator, uniform_state(1.0, mixed), 0.0).state.mobile.round(4))
    [0.3679]
    """
    water = np.asarray(ec_water, dtype=np.float64)
    excess = np.concatenate([state.mobile, state.immobile], axis=-1) - water[..., np.newaxis]
    after = np.matmul(excess[..., np.newaxis, :], operator.step)[..., 0, :] + water[..., np.newaxis]
    mobile, immobile = np.split(after, 2, axis=-1)
    return PassResult(
        SaltState(mobile, immobile),
        (excess * operator.drainage).sum(axis=-1) + water,
    )


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
    state = uniform_state(
        np.broadcast_to(np.asarray(ec_medium, dtype=np.float64), shape), parameters
    )
    medium, drainage = [], []
    operator: PassOperator | None = None
    for step in range(drained.shape[-1]):
        volume = drained[..., step]
        if operator is None or not np.array_equal(volume, drained[..., step - 1]):
            operator = pass_operator(parameters, volume, duration)
        result = repeat_pass(operator, state, ec_water)
        medium.append(settled_ec(result.state, parameters))
        drainage.append(result.ec_drainage)
        state = rest(result.state, parameters, rest_between)
    return WashRecord(*(np.stack(series, axis=-1) for series in (medium, drainage)))
