"""Field rules for washing salt out of soil: depth of water against depth of soil.

They come from ponded field plots, not from containers, and stand beside the container model in
:mod:`saltcalc.science.flush` for comparison.

References
----------
.. [1] Hoffman, G.J. (1980). Guidelines for reclamation of salt-affected soils. Proc. Inter-American
   Salinity and Water Management Technology Conference, 49-64.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Floats, not_negative

HOFFMAN_CLAY_LOAM, HOFFMAN_SANDY_LOAM = 0.3, 0.1
"""Coefficient k for salt under ponding [1]_, of clay loam and of sandy loam."""

HOFFMAN_BORON = 0.6
"""Coefficient k for boron [1]_: about twice the water that salt needs, at least."""


def water_hoffman(remaining: npt.ArrayLike, coefficient: npt.ArrayLike) -> Floats:
    r"""Depth of water that leaves a given share of the salt, after Hoffman.

    .. math:: \frac{D_l}{D_s} = k\,\frac{C_0 - C_{eq}}{C - C_{eq}}, \qquad D_l/D_s > k

    Parameters
    ----------
    remaining : array_like, shape (...)
        Share left of the excess over the water's own level. [-]
    coefficient : array_like, shape (...)
        Hoffman's k. [-]

    Returns
    -------
    ndarray, shape (...)
        Depth of leaching water over depth of soil. [cm/cm] NaN for a share of 0 or above 1.

    References
    ----------
    Hoffman (1980) [1]_.

    Examples
    --------
    To take salt of peat to a fifth under ponding: 2.25 m of water for a metre (Hoffman 1980).

    >>> print(water_hoffman(0.2, 0.45).round(2))
    2.25
    """
    left = not_negative(remaining, "remaining")
    with np.errstate(divide="ignore"):
        depth = np.asarray(coefficient, dtype=np.float64) / left
    return np.where((left > 0) & (left <= 1), depth, np.nan)
