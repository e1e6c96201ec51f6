"""The solution as the container dries, and as plants draw salt from it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Floats, not_negative

UPTAKE_EC = (0.5, 1.5)
"""EC's worth of nutrient salt that plants take up with each litre of water they use.

About 5 to 15 mmol_c/L, the order of a feed that neither builds up nor runs out (judgement). Sodium
and chloride are hardly taken up. [dS/m]
"""


def ec_at_moisture(ec_at_capacity: npt.ArrayLike, moisture: npt.ArrayLike) -> Floats:
    """EC of the solution in a medium drier than container capacity.

    Parameters
    ----------
    ec_at_capacity : array_like, shape (...)
        EC at container capacity. [dS/m]
    moisture : array_like, shape (...)
        Water held over water held at capacity, above 0. [L/L]

    Returns
    -------
    ndarray, shape (...)
        EC, the same salt in less water. [dS/m] Too high where gypsum settles out.

    Raises
    ------
    ValueError
        If an argument is negative.

    Examples
    --------
    At 60 % of its water the solution is two thirds stronger.

    >>> print(ec_at_moisture(3.0, [1.0, 0.6]))
    [3. 5.]
    """
    share = not_negative(moisture, "moisture")
    with np.errstate(divide="ignore"):
        return np.where(share > 0, not_negative(ec_at_capacity, "ec_at_capacity") / share, np.nan)


def days_of_uptake(
    ec_medium: npt.ArrayLike,
    ec_target: npt.ArrayLike,
    ec_water: npt.ArrayLike,
    water_held: npt.ArrayLike,
    water_use: npt.ArrayLike,
    uptake_ec: npt.ArrayLike,
) -> Floats:
    """Days until plants draw a container down to a target, with no drainage.

    Parameters
    ----------
    ec_medium, ec_target, ec_water : array_like, shape (...)
        EC of the solution now, of the target, and of the water given. [dS/m]
    water_held : array_like, shape (...)
        Water the container holds. [L]
    water_use : array_like, shape (...)
        Water the plants use, and are given, each day. [L/day]
    uptake_ec : array_like, shape (...)
        EC's worth of salt taken up with each litre. [dS/m]

    Returns
    -------
    ndarray, shape (...)
        Days; 0 where the medium is there, infinite where the water brings as much as is taken up.
        Rough: only nutrient salts are drawn down.

    Raises
    ------
    ValueError
        If an argument is negative.

    Examples
    --------
    >>> print(days_of_uptake(3.0, 2.0, 0.2, 5.0, 0.5, 1.2).round(1))
    10.0
    """
    excess = np.maximum(
        not_negative(ec_medium, "ec_medium") - not_negative(ec_target, "ec_target"), 0.0
    ) * not_negative(water_held, "water_held")
    drawn = not_negative(water_use, "water_use") * (
        not_negative(uptake_ec, "uptake_ec") - not_negative(ec_water, "ec_water")
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        days = np.where(drawn > 0, excess / drawn, np.inf)
    missing = np.isnan(excess) | np.isnan(drawn)
    return np.where(missing, np.nan, np.where(excess == 0, 0.0, days))
