"""Feed that brings nitrogen back after a flush.

References
----------
.. [1] U.S. Salinity Laboratory Staff (1954). Agriculture Handbook 60: sum of cations in mmol_c/L is
   about 10 times EC in dS/m.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from saltcalc.data.reported_ions import molar_mass
from saltcalc.science._arrays import Floats, not_negative

NITROGEN_MASS = molar_mass("N")
"""Mass of a mole of nitrogen. [g/mol]"""

CHARGE_PER_EC = 10.0
"""Charge of dissolved salt for each dS/m [1]_. [mmol_c/L per dS/m]"""


def nitrogen_to_add(
    in_medium: npt.ArrayLike, wanted: npt.ArrayLike, water_held: npt.ArrayLike
) -> Floats:
    """Nitrogen that raises a container's solution to a wanted concentration.

    Parameters
    ----------
    in_medium : array_like, shape (...)
        Nitrogen in the medium's solution now. [mg/L]
    wanted : array_like, shape (...)
        Nitrogen wanted there. [mg/L]
    water_held : array_like, shape (...)
        Water the container holds. [L]

    Returns
    -------
    ndarray, shape (...)
        Nitrogen to add; 0 where there is enough. [mg]

    Raises
    ------
    ValueError
        If an argument is negative.

    Examples
    --------
    >>> print(nitrogen_to_add(20.0, 100.0, 5.0))
    400.0
    """
    short = not_negative(wanted, "wanted") - not_negative(in_medium, "in_medium")
    return np.asarray(np.maximum(short, 0.0) * not_negative(water_held, "water_held"))


def source_mass(nitrogen: npt.ArrayLike, nitrogen_share: npt.ArrayLike) -> Floats:
    """Mass of a source that holds a given amount of nitrogen.

    Parameters
    ----------
    nitrogen : array_like, shape (...)
        Nitrogen. [mg]
    nitrogen_share : array_like, shape (...)
        Nitrogen in the source, by mass, above 0. [g/g]

    Returns
    -------
    ndarray, shape (...)
        Mass of the source. [g]

    Raises
    ------
    ValueError
        If the nitrogen is negative.

    Examples
    --------
    Calcium nitrate of 15.5 % nitrogen.

    >>> print(source_mass(400.0, 0.155).round(2))
    2.58
    """
    return np.asarray(not_negative(nitrogen, "nitrogen") / np.asarray(nitrogen_share) / 1000.0)


def ec_of_nitrate(nitrate_n: npt.ArrayLike) -> Floats:
    r"""EC that nitrate brings with the cations of its salt.

    .. math:: EC \approx \frac{c_N / M_N}{10}

    Parameters
    ----------
    nitrate_n : array_like, shape (...)
        Nitrate nitrogen in solution. [mg/L]

    Returns
    -------
    ndarray, shape (...)
        EC. [dS/m]

    References
    ----------
    Rule of Agriculture Handbook 60 [1]_, 10 mmol_c/L for each dS/m; rough above 5 dS/m.

    Examples
    --------
    140 mg/L are 10 mmol_c/L, which Handbook 60 counts as 1 dS/m.

    >>> print(ec_of_nitrate(140.07).round(2))
    1.0
    """
    return np.asarray(np.asarray(nitrate_n, dtype=np.float64) / NITROGEN_MASS / CHARGE_PER_EC)
