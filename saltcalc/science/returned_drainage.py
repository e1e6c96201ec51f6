r"""Drainage used again: returned to the same containers, or fed to hardier crops.

Water that is returned gets saltier pass by pass, until medium and tank are of one strength:

.. math:: C_\infty = \frac{W (1 + s)\,C_0 + T\,C_w}{W (1 + s) + T}

with the tank's water :math:`T` for each container. No flush with returned water gets below that.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Floats, in_shape, not_negative
from saltcalc.science.blend import blend_share
from saltcalc.science.flush import (
    WashoutParameters,
    apply_water,
    rest,
    settled_ec,
    uniform_state,
)


class ReturnedFlush(NamedTuple):
    """A flush with the drainage returned, pass by pass."""

    ec_medium: Floats
    """EC that the medium settles to after each pass, shape (..., passes). [dS/m]"""
    ec_tank: Floats
    """EC of the tank after each pass, shape (..., passes). [dS/m]"""
    least: Floats
    """EC that no number of passes gets below, shape (...). [dS/m]"""


class Reuse(NamedTuple):
    """Drainage as a feed. Arrays of shape (...)."""

    share: Floats
    """Most drainage in the mix with clean water; NaN where none may be. [L/L]"""
    litres: Floats
    """Mix that all the drainage makes. [L]"""
    nitrogen: Floats
    """Nitrogen in the mix. [mg/L]"""
    worth: Floats
    """Nitrogen that is so used, in all. [mg]"""


def flush_with_returned(
    ec_medium: npt.ArrayLike,
    ec_water: npt.ArrayLike,
    parameters: WashoutParameters,
    water_held: npt.ArrayLike,
    tank: npt.ArrayLike,
    pass_volume: npt.ArrayLike,
    passes: int,
    duration: npt.ArrayLike = 0.25,
    rest_between: npt.ArrayLike = 0.5,
) -> ReturnedFlush:
    """Wash with a tank of water that takes the drainage of every pass back.

    Parameters
    ----------
    ec_medium, ec_water : array_like, shape (...)
        EC of the medium's solution at capacity, and of the water in the tank, before. [dS/m]
    parameters : WashoutParameters
        Their arrays broadcast with shape (...).
    water_held : array_like, shape (...)
        Water the container holds; it is at capacity. [L]
    tank : array_like, shape (...)
        Water in the tank for each container, at least a pass. [L]
    pass_volume : array_like, shape (...)
        Water of one pass. [L]
    passes : int
        How many.
    duration, rest_between : array_like, shape (...)
        As for :func:`saltcalc.science.flush.wash`. [h]

    Returns
    -------
    ReturnedFlush

    Raises
    ------
    ValueError
        If the tank holds less than a pass, or an argument is negative.

    References
    ----------
    Balance of the salt; the washout of :mod:`saltcalc.science.flush`.

    Examples
    --------
    Ten litres for a pot that holds six: not below half of where it began.

    >>> pot = WashoutParameters(0.8, 0.25, 0.3, 0.05, 3)
    >>> got = flush_with_returned(6.0, 0.5, pot, 6.0, 10.0, 1.0, 60)
    >>> float(got.least.round(2)), float(got.ec_medium[-1].round(2))
    (2.63, 2.63)
    """
    held, volume = not_negative(water_held, "water_held"), not_negative(tank, "tank")
    each = not_negative(pass_volume, "pass_volume")
    if np.any(volume < each):
        raise ValueError("tank must not hold less than pass_volume")
    start, water = not_negative(ec_medium, "ec_medium"), not_negative(ec_water, "ec_water")
    shape = np.broadcast_shapes(
        start.shape, water.shape, held.shape, volume.shape, each.shape, np.shape(duration)
    )
    state = uniform_state(in_shape(start, shape), parameters)
    strength = in_shape(water, shape).astype(np.float64)
    medium, tanks = [], []
    for _ in range(passes):
        result = apply_water(state, parameters, each / held, strength, duration)
        strength = strength + (result.ec_drainage - strength) * each / volume
        medium.append(settled_ec(result.state, parameters))
        tanks.append(strength)
        state = rest(result.state, parameters, rest_between)
    capacity = held * (1.0 + np.asarray(parameters.sorbed_ratio, dtype=np.float64))
    least = ec_of_both(start, water, capacity, volume)
    return ReturnedFlush(np.stack(medium, axis=-1), np.stack(tanks, axis=-1), least)


def ec_of_both(
    ec_medium: npt.ArrayLike,
    ec_water: npt.ArrayLike,
    capacity: npt.ArrayLike,
    tank: npt.ArrayLike,
) -> Floats:
    """EC at which medium and tank are of one strength.

    Parameters
    ----------
    ec_medium, ec_water : array_like, shape (...)
        EC of the medium's solution at capacity, and of the water in the tank, before. [dS/m]
    capacity : array_like, shape (...)
        Water that the container holds, and that would hold what clings to its medium. [L]
    tank : array_like, shape (...)
        Water in the tank for each container, of any amount. [L]

    Returns
    -------
    ndarray, shape (...)
        No number of passes gets below it. [dS/m]

    References
    ----------
    Balance of the salt.

    Examples
    --------
    >>> print(ec_of_both(6.0, 0.5, 6.3, 10.0).round(2))
    2.63
    """
    held, volume = np.asarray(capacity), np.asarray(tank)
    salt = held * np.asarray(ec_medium) + volume * np.asarray(ec_water)
    return np.asarray(salt / (held + volume))


def drainage_as_feed(
    drained: npt.ArrayLike,
    ec_drainage: npt.ArrayLike,
    nitrogen: npt.ArrayLike,
    ec_clean: npt.ArrayLike,
    ec_limit: npt.ArrayLike,
) -> Reuse:
    """Reckon what the drainage of a flush is worth as a feed for a hardier crop.

    Parameters
    ----------
    drained : array_like, shape (...)
        Drainage of the whole flush. [L]
    ec_drainage : array_like, shape (...)
        EC of all of it, mixed. [dS/m]
    nitrogen : array_like, shape (...)
        Nitrogen in it. [mg/L]
    ec_clean : array_like, shape (...)
        EC of the water it is mixed with. [dS/m]
    ec_limit : array_like, shape (...)
        EC of the water that the crop tolerates. [dS/m]

    Returns
    -------
    Reuse
        Sodium, chloride and boron of the drainage are not judged here.

    Raises
    ------
    ValueError
        If an argument is negative.

    Examples
    --------
    Fifty litres at 4 dS/m with 90 mg/L of nitrogen, for a crop that tolerates water of 2.

    >>> got = drainage_as_feed(50.0, 4.0, 90.0, 0.5, 2.0)
    >>> float(got.share.round(2)), float(got.litres.round(0)), float(got.nitrogen.round(0))
    (0.43, 117.0, 39.0)
    """
    share = blend_share(ec_drainage, ec_clean, ec_limit)
    volume = not_negative(drained, "drained")
    strength = not_negative(nitrogen, "nitrogen")
    with np.errstate(divide="ignore", invalid="ignore"):
        litres = np.where(share > 0, volume / share, np.nan)
    used = np.where(np.isnan(litres), np.nan, volume * strength)
    return Reuse(share, litres, share * strength, used)
