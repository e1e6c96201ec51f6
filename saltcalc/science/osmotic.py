"""Osmotic potential of the water around the roots: how hard salt makes it to take up."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

KILOPASCAL_PER_ATMOSPHERE = 101.325
_GAS_CONSTANT = 8.314462618  # J/(mol K), that is kPa L/(mol K)
_ZERO_CELSIUS = 273.15
_DAVIES_A = 0.509 * np.log(10.0)  # Debye-Hückel constant at 25 °C, natural logarithm
_DAVIES_LINEAR = 0.3


def osmotic_potential_handbook60(ec: ArrayLike) -> NDArray[np.float64]:
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
    """
    return np.asarray(0.0 - 0.36 * KILOPASCAL_PER_ATMOSPHERE * np.asarray(ec, dtype=np.float64))


def osmotic_coefficient_davies(concentration: ArrayLike, charge: ArrayLike) -> NDArray[np.float64]:
    r"""Osmotic coefficient of a mixed solution, by Gibbs-Duhem from the Davies equation.

    .. math::

        (\varphi - 1)\sum_i c_i = -2A\left[I\,g(I) - \int_0^I g\,\mathrm{d}I\right], \qquad
        g(I) = \frac{\sqrt I}{1 + \sqrt I} - 0.3\,I

    Parameters
    ----------
    concentration : array_like, shape (..., ions)
        Concentration of each dissolved kind [mmol/L]. Ion pairs, where known, are kinds of their
        own; without them solutions rich in calcium or magnesium sulfate come out too strong.
    charge : array_like, shape (ions,)
        Charge number of each kind [-].

    Returns
    -------
    ndarray, shape (...)
        Osmotic coefficient [-]; 1 for pure water, NaN where a concentration is NaN.

    References
    ----------
    .. [1] Davies, C.W. (1962), Ion Association, Butterworths.
    .. [2] Robinson, R.A. & Stokes, R.H. (1959), Electrolyte Solutions, ch. 2 (Gibbs-Duhem).
    """
    molar = np.asarray(concentration, dtype=np.float64) / 1000.0
    total = np.sum(molar, axis=-1)
    strength = 0.5 * np.sum(molar * np.square(np.asarray(charge, dtype=np.float64)), axis=-1)
    root = np.sqrt(strength)
    bracket = (
        strength * root / (1.0 + root)
        - strength
        + 2.0 * root
        - 2.0 * np.log1p(root)
        - 0.5 * _DAVIES_LINEAR * np.square(strength)
    )
    lowering = 2.0 * _DAVIES_A * bracket
    return np.asarray(1.0 - np.divide(lowering, total, out=np.zeros_like(total), where=total != 0))


def osmotic_potential_from_ions(
    concentration: ArrayLike, charge: ArrayLike, temperature: ArrayLike = 25.0
) -> NDArray[np.float64]:
    r"""Osmotic potential from what is dissolved: van 't Hoff with an osmotic coefficient.

    .. math:: \Psi_o = -\varphi\, R\, T \sum_i c_i

    Parameters
    ----------
    concentration : array_like, shape (..., ions)
        Concentration of each dissolved kind [mmol/L].
    charge : array_like, shape (ions,)
        Charge number of each kind [-].
    temperature : array_like, shape (...)
        Temperature of the solution [°C].

    Returns
    -------
    ndarray, shape (...)
        Osmotic potential, zero or negative [kPa]; NaN where an argument is NaN.

    References
    ----------
    .. [1] Robinson, R.A. & Stokes, R.H. (1959), Electrolyte Solutions, ch. 2.
    """
    coefficient = osmotic_coefficient_davies(concentration, charge)
    total = np.sum(np.asarray(concentration, dtype=np.float64), axis=-1) / 1000.0
    kelvin = np.asarray(temperature, dtype=np.float64) + _ZERO_CELSIUS
    return np.asarray(0.0 - coefficient * _GAS_CONSTANT * kelvin * total)
