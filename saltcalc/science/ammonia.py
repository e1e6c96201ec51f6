"""Free ammonia in a solution of ammonium, by its pH and temperature."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.science._arrays import Floats

KELVIN = 273.15
PKA_INTERCEPT = 0.09018
PKA_SLOPE = 2729.92
"""Of the pKa of ammonium over the inverse temperature [K]."""


def free_ammonia_share(ph: ArrayLike, temperature: ArrayLike) -> Floats:
    r"""Share of ammonia and ammonium together that is free ammonia.

    .. math::
        \frac{1}{1 + 10^{pK_a - \mathrm{pH}}},\qquad pK_a = 0.09018 + \frac{2729.92}{T}

    The ionic strength, which lowers it a little, is left out. The share is the same by nitrogen.

    Parameters
    ----------
    ph : array_like, shape (...)
        pH of the solution [-].
    temperature : array_like, shape (...)
        Its temperature [°C], from 0 to 50.

    Returns
    -------
    ndarray, shape (...)
        Share [-]; NaN where an argument is NaN.

    References
    ----------
    .. [1] Emerson, K., Russo, R.C., Lund, R.E. & Thurston, R.V. (1975). Aqueous ammonia
       equilibrium calculations: effect of pH and temperature. J. Fish. Res. Board Can.
       32:2379-2383.

    Examples
    --------
    At 25 °C a twentieth of it is free at pH 8, and next to nothing at pH 6.

    >>> print(free_ammonia_share([8.0, 6.0], 25.0).round(4))
    [0.0537 0.0006]
    """
    pka = PKA_INTERCEPT + PKA_SLOPE / (np.asarray(temperature, dtype=np.float64) + KELVIN)
    return np.asarray(1.0 / (1.0 + 10.0 ** (pka - np.asarray(ph, dtype=np.float64))))
