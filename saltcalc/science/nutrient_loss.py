"""What a flush takes with it besides the harmful salt: nitrogen, potassium, calcium, magnesium."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science import cycles
from saltcalc.science._arrays import Floats, in_shape, one_shape
from saltcalc.science.flush import LAYERS
from saltcalc.science.pass_days import Timing, settled_after


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
    pass_volume: npt.ArrayLike,
    passes: npt.ArrayLike,
    timing: Timing,
    washout: tuple[npt.ArrayLike, npt.ArrayLike, npt.ArrayLike],
    sorbed_ratio: npt.ArrayLike,
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
    pass_volume : array_like, shape (...)
        Water of each pass, all of which drains. [L]
    passes : array_like of int, shape (...)
        How many.
    timing : Timing
        Of the passes; arrays of shape (...).
    washout : tuple of array_like, shape (...)
        Efficiency [L/L], immobile share [L/L] and exchange rate [1/h] of the medium.
    sorbed_ratio : array_like, shape (...)
        The nutrient held on the medium over that dissolved, in balance; 0 for nitrate. [-]

    Returns
    -------
    NutrientLoss

    Examples
    --------
    Nitrate of a container that holds 5 L, through four passes of 1 L of pure water.

    >>> timing = Timing(0.25, 0.5, 40)
    >>> loss = nutrient_loss(100.0, 0.0, 5.0, 1.0, 4, timing, (0.65, 0.25, 0.2), 0.0)
    >>> print(loss.held_before, loss.lost.round(0), loss.after.round(0))
    500.0 232.0 54.0
    """
    parts = [
        np.asarray(part, dtype=np.float64)
        for part in (in_medium, in_water, water_held, pass_volume, passes, sorbed_ratio)
    ]
    efficiency, immobile, rate = washout
    others = [np.asarray(part, dtype=np.float64) for part in (*timing, efficiency, immobile, rate)]
    shape = one_shape(*parts, *others)
    concentration, water, held, each, number, store, *others = (
        in_shape(part, shape).reshape(-1) for part in (*parts, *others)
    )
    known = ~np.isnan(held)
    pots = cycles.Pots.of(others[4], others[5], others[6], store, LAYERS)
    one = cycles.pass_map(pots, np.where(known, each / held, 0.0), others[0])
    start = cycles.even_excess(pots, concentration, water)
    after = water + settled_after(pots, one, start, Timing(*others[:4]), number)
    before = concentration * held * (1.0 + store)
    lost = (concentration - after) * held * (1.0 + store)
    with np.errstate(divide="ignore", invalid="ignore"):
        mixed = np.where(number > 0, water + lost / (number * each), np.nan)
    return NutrientLoss(*(part.reshape(shape) for part in (before, lost, mixed, after)))
