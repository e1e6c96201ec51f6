"""Closed form of a flush through a container whose water mixes at once.

References
----------
.. [1] Levenspiel, O. (1999). Chemical Reaction Engineering, 3rd ed., chapter 13: the ideal
   stirred tank, from which the exponential washout follows by mass balance.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import not_negative

Floats = npt.NDArray[np.float64]


def ec_after_flush(
    ec_start: npt.ArrayLike,
    ec_water: npt.ArrayLike,
    drained_over_held: npt.ArrayLike,
    efficiency: npt.ArrayLike = 1.0,
) -> Floats:
    r"""EC of the pore water after an amount has drained.

    .. math:: C = C_w + (C_0 - C_w)\,e^{-\eta D / W}

    Parameters
    ----------
    ec_start : array_like, shape (...)
        EC of the pore water before. [dS/m at 25 °C]
    ec_water : array_like, shape (...)
        EC of the water poured on. [dS/m at 25 °C]
    drained_over_held : array_like, shape (...)
        Water drained over water held at container capacity. [L/L]
    efficiency : array_like, shape (...)
        Share of the draining water that takes salt along. [L/L]

    Returns
    -------
    ndarray, shape (...)
        EC of the pore water, and of the drainage at that moment. [dS/m at 25 °C]

    Raises
    ------
    ValueError
        If an argument is negative.

    References
    ----------
    Mass balance of a stirred tank [1]_.
    """
    start, water = not_negative(ec_start, "ec_start"), not_negative(ec_water, "ec_water")
    drained = not_negative(drained_over_held, "drained_over_held")
    left = np.exp(-not_negative(efficiency, "efficiency") * drained)
    return np.asarray(water + (start - water) * left)


def drained_for_target(
    ec_start: npt.ArrayLike,
    ec_water: npt.ArrayLike,
    ec_target: npt.ArrayLike,
    efficiency: npt.ArrayLike = 1.0,
) -> Floats:
    r"""Water to drain, over water held, until the pore water is down to a target.

    .. math:: \frac{D}{W} = \frac{1}{\eta}\ln\frac{C_0 - C_w}{C_t - C_w}

    Parameters
    ----------
    ec_start, ec_water, efficiency : array_like, shape (...)
        As in `ec_after_flush`.
    ec_target : array_like, shape (...)
        EC wanted in the pore water. [dS/m at 25 °C]

    Returns
    -------
    ndarray, shape (...)
        Water drained over water held [L/L]; 0 where the medium is at the target already, infinite
        where this water cannot reach it.

    Raises
    ------
    ValueError
        If an argument is negative.

    References
    ----------
    Mass balance of a stirred tank [1]_.
    """
    start, water = not_negative(ec_start, "ec_start"), not_negative(ec_water, "ec_water")
    target = not_negative(ec_target, "ec_target")
    eta = not_negative(efficiency, "efficiency")
    with np.errstate(divide="ignore", invalid="ignore"):
        needed = np.log((start - water) / (target - water)) / eta
    needed = np.where(target <= water, np.inf, needed)
    return np.where(start <= target, 0.0, needed)
