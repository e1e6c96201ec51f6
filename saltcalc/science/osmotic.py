"""Osmotic potential of the water around the roots: how hard salt makes it to take up."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.science._arrays import Floats

KILOPASCAL_PER_ATMOSPHERE = 101.325


def osmotic_potential_handbook60(ec: ArrayLike) -> Floats:
    r"""Osmotic potential from electrical conductivity alone.

    .. math:: \Psi_o = -0.36\ \mathrm{atm}\ \cdot EC

    Fitted on soil extracts from 3 to 30 dS/m. Extracts rich in gypsum or sulfate pull less than
    this says; sodium chloride pulls somewhat more.

    Parameters
    ----------
    ec : array_like, shape (...)
        Electrical conductivity of the solution at 25 °C [dS/m].

    Returns
    -------
    ndarray, shape (...)
        Osmotic potential, zero or negative [kPa]; NaN where `ec` is NaN.

    References
    ----------
    .. [1] U.S. Salinity Laboratory Staff (1954), Agriculture Handbook 60, pp. 15-16.

    Examples
    --------
    Handbook 60: 0.36 atm for each dS/m, so 3.6 atm at 10 dS/m.

    >>> print((osmotic_potential_handbook60(10.0) / KILOPASCAL_PER_ATMOSPHERE).round(2))
    -3.6
    """
    return np.asarray(0.0 - 0.36 * KILOPASCAL_PER_ATMOSPHERE * np.asarray(ec, dtype=np.float64))
