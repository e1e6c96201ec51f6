"""Electrical conductivity referred to 25 °C."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.science._arrays import Flags, Floats

REFERENCE_TEMPERATURE = 25.0
"""Reference temperature of every electrical conductivity in this package [°C]."""

LOWEST_RELIABLE_TEMPERATURE = 3.0
HIGHEST_RELIABLE_TEMPERATURE = 40.0
"""Readings taken outside this range [°C] are corrected, but the correction is an extrapolation."""

LINEAR_COEFFICIENT_KCL = 0.0191
"""Linear temperature coefficient of dilute KCl and many natural waters [1/°C]."""

_HB60_CONSTANT, _HB60_AMPLITUDE, _HB60_DECAY = 0.4470, 1.4034, 26.815


def ec25_handbook60(ec: ArrayLike, temperature: ArrayLike) -> Floats:
    r"""EC at 25 °C by the exponential fit to the table of Handbook 60. The default here.

    .. math:: EC_{25} = EC_T\, f(T)/f(25), \qquad f(T) = 0.4470 + 1.4034\, e^{-T/26.815}

    The table was measured on soil extracts, mixed-salt solutions like those of a medium; it runs
    between pure KCl and the natural waters of ISO 7888, and a comparison of the models in use
    found this one best [4]_. That is why it is the default. The published fit gives 0.9995 at
    25 °C; it is divided by that so that a reading at 25 °C stays as it is.

    Parameters
    ----------
    ec : array_like, shape (...)
        Electrical conductivity as read, uncorrected [dS/m].
    temperature : array_like, shape (...)
        Temperature of the solution when read [°C].

    Returns
    -------
    ndarray, shape (...)
        Electrical conductivity at 25 °C [dS/m]; NaN where an argument is NaN.

    References
    ----------
    .. [1] U.S. Salinity Laboratory Staff (1954), Agriculture Handbook 60, Table 15.
    .. [2] Sheets, K.R. & Hendrickx, J.M.H. (1995), Water Resour. Res. 31:2401-2409.
    .. [3] Corwin, D.L. & Lesch, S.M. (2005), Comput. Electron. Agric. 46:11-43 (the fit corrected).
    .. [4] Comparing temperature correction models for soil electrical conductivity measurement
       (2011), Precision Agric. 12:55-66.

    Examples
    --------
    Handbook 60, Table 15: a reading at 20 °C times 1.112.

    >>> print(ec25_handbook60(2.5, 20.0).round(2))
    2.78
    """
    warm = np.asarray(temperature, dtype=np.float64)
    factor = _handbook60_factor(warm) / _handbook60_factor(np.float64(REFERENCE_TEMPERATURE))
    return np.asarray(np.asarray(ec, dtype=np.float64) * factor)


def ec25_linear(
    ec: ArrayLike, temperature: ArrayLike, coefficient: ArrayLike = LINEAR_COEFFICIENT_KCL
) -> Floats:
    r"""EC at 25 °C with a constant coefficient, as most meters do it.

    .. math:: EC_{25} = \frac{EC_T}{1 + a\,(T - 25)}

    Good to about 1 % from 15 to 35 °C; it strays from measured solutions in the cold.

    Parameters
    ----------
    ec : array_like, shape (...)
        Electrical conductivity as read, uncorrected [dS/m].
    temperature : array_like, shape (...)
        Temperature of the solution when read [°C].
    coefficient : array_like, shape (...)
        Temperature coefficient a [1/°C]: 0.0191 for KCl-like waters, 0.02 in many meters.

    Returns
    -------
    ndarray, shape (...)
        Electrical conductivity at 25 °C [dS/m]; NaN where an argument is NaN.

    Raises
    ------
    ValueError
        If the correction divides by zero or less: the temperature is below any water's.

    References
    ----------
    .. [1] Standard Methods for the Examination of Water and Wastewater, method 2510.

    Examples
    --------
    A meter with 2 % per °C.

    >>> print(ec25_linear(2.5, 20.0, 0.02).round(2))
    2.78
    """
    warm = np.asarray(temperature, dtype=np.float64)
    divisor = 1.0 + np.asarray(coefficient, dtype=np.float64) * (warm - REFERENCE_TEMPERATURE)
    if (divisor <= 0.0).any():
        raise ValueError("the linear correction has no meaning this far below 25 °C")
    return np.asarray(np.asarray(ec, dtype=np.float64) / divisor)


def outside_reliable_range(temperature: ArrayLike) -> Flags:
    """Tell which readings were taken too cold or too hot for a dependable correction.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the solution when read [°C].

    Returns
    -------
    ndarray of bool, shape (...)
        True below 3 °C or above 40 °C (a judgement; the published table runs from 3 to 47 °C and
        a medium is hardly read hotter than 40); False where the temperature is NaN.

    Examples
    --------
    >>> print(outside_reliable_range([2.0, 20.0, 41.0]))
    [ True False  True]
    """
    warm = np.asarray(temperature, dtype=np.float64)
    return np.asarray((warm < LOWEST_RELIABLE_TEMPERATURE) | (warm > HIGHEST_RELIABLE_TEMPERATURE))


def _handbook60_factor(temperature: Floats | np.float64) -> Floats:
    return np.asarray(_HB60_CONSTANT + _HB60_AMPLITUDE * np.exp(-temperature / _HB60_DECAY))
