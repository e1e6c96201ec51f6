"""What a flush takes with it besides the harmful salt: nitrogen, potassium, calcium, magnesium."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Floats
from saltcalc.science.flush import WashoutParameters
from saltcalc.science.passes import wash


class NutrientLoss(NamedTuple):
    """A nutrient in a flush. Arrays of shape (...)."""

    held_before: Floats
    """In the container before, dissolved and held on the medium. [mg]"""
    lost: Floats
    """Carried off in the drainage, less what the water brought. [mg]"""
    in_drainage: Floats
    """Concentration in all the drainage mixed. [mg/L] NaN where nothing drained."""
    after: Floats
    """Concentration in the medium's solution once settled. [mg/L]"""


def nutrient_loss(
    in_medium: npt.ArrayLike,
    in_water: npt.ArrayLike,
    water_held: npt.ArrayLike,
    drained_each: npt.ArrayLike,
    parameters: WashoutParameters,
    store_ratio: npt.ArrayLike,
    duration: npt.ArrayLike = 0.0,
    rest_between: npt.ArrayLike = 0.0,
) -> NutrientLoss:
    """Follow a nutrient, or several side by side, through the passes of a flush.

    Parameters
    ----------
    in_medium : array_like, shape (...)
        Concentration in the medium's solution at container capacity. [mg/L]
    in_water : array_like, shape (...)
        Concentration in the water poured on. [mg/L]
    water_held : array_like, shape (...)
        Water the container holds at capacity. [L]
    drained_each : array_like, shape (..., passes)
        Water drained by each pass; NaN or 0 where there is no such pass. [L]
    parameters : WashoutParameters
        Of the medium; their arrays broadcast with shape (...).
    store_ratio : array_like, shape (...)
        The nutrient held on the medium over that dissolved, in balance; 0 for nitrate. [-]
    duration : array_like, shape (...)
        Time each pass takes. [h]
    rest_between : array_like, shape (...)
        Rest after each pass. [h]

    Returns
    -------
    NutrientLoss

    Examples
    --------
    Nitrate of a container that holds 5 L, through four passes of 1 L of pure water.

    >>> parameters = WashoutParameters(0.65, 0.25, 0.2, 0.1)
    >>> loss = nutrient_loss(100.0, 0.0, 5.0, [1.0] * 4, parameters, 0.0, 0.25, 0.5)
    >>> print(loss.held_before, loss.lost.round(0), loss.after.round(0))
    500.0 232.0 54.0
    """
    concentration, water, held = (
        np.asarray(part, dtype=np.float64) for part in (in_medium, in_water, water_held)
    )
    drained = np.nan_to_num(np.asarray(drained_each, dtype=np.float64), nan=0.0)
    store = np.asarray(store_ratio, dtype=np.float64)
    shape = np.broadcast_shapes(
        concentration.shape, water.shape, held.shape, drained.shape[:-1], store.shape
    )
    before = np.broadcast_to(concentration * held * (1.0 + store), shape)
    if drained.shape[-1] == 0:
        nothing = np.where(np.isnan(before), np.nan, 0.0)
        unchanged = np.broadcast_to(concentration, shape)
        return NutrientLoss(before, nothing, np.full(shape, np.nan), unchanged)
    record = wash(
        concentration,
        water,
        parameters._replace(store_ratio=store),
        drained / held[..., np.newaxis],
        duration,
        rest_between,
    )
    carried = np.where(drained > 0, drained * record.ec_drainage, 0.0).sum(axis=-1)
    total = drained.sum(axis=-1)
    with np.errstate(divide="ignore", invalid="ignore"):
        mixed = np.where(total > 0, carried / total, np.nan)
    lost = np.where(np.isnan(before), np.nan, carried - total * water)
    return NutrientLoss(before, lost, mixed, record.ec_medium[..., -1])
