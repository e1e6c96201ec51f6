"""Calcium before leaching: gypsum for a sodic mineral medium, calcium nitrate for coir.

Water alone takes salt out and leaves the sodium and potassium that sit on the medium. Pure water on
a sodic mineral medium seals it, so that calcium comes first, and the water then.

References
----------
.. [1] U.S. Salinity Laboratory Staff (1954). Agriculture Handbook 60, chapter 6: gypsum for the
   replacement of exchangeable sodium.
.. [2] Gbollie, S.N., Mwonga, S.M. & Kibe, A.M. (2021). Effects of calcium nitrate and soaking
   time on cocopeat, abstract.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.data.reported_ions import molar_mass
from saltcalc.science._arrays import Floats, not_negative

GYPSUM_MASS = molar_mass("CaSO4(H2O)2") / 2.0
"""Mass of gypsum that brings a mole of charge. [g/mol_c]"""

REPLACEMENT = 0.8
"""Share of the calcium that finds sodium to replace (from memory, the usual 1.25 times). [-]"""

GYPSUM_SOLUBILITY = 2.4
"""Gypsum that a litre of pure water dissolves at 25 °C, from memory. [g/L]"""

COIR_SOAK = (100.0 / 1.5, 15.0 / 1.5, 36.0)
"""Calcium nitrate [g] and water [L] for each kilogram of coir, and hours, of a trial [2]_.

It took out 92 % of the sodium and 78 % of the potassium; 60 g in place of 100 g took out less.
"""


class CoirSoak(NamedTuple):
    """A soak of coir in calcium nitrate. Arrays of shape (...)."""

    calcium_nitrate: Floats
    """[g]"""
    water: Floats
    """[L]"""
    hours: float
    """[h]"""


def gypsum_rate(
    esp: npt.ArrayLike,
    esp_wanted: npt.ArrayLike,
    exchange_capacity: npt.ArrayLike,
    bulk_density: npt.ArrayLike,
) -> Floats:
    r"""Gypsum that brings the exchangeable sodium of a mineral medium down.

    .. math:: G = \frac{(ESP - ESP_w)}{100} \cdot CEC \cdot \rho_b \cdot \frac{M/2}{0.8}

    Parameters
    ----------
    esp, esp_wanted : array_like, shape (...)
        Exchangeable sodium percentage now and wanted. [%]
    exchange_capacity : array_like, shape (...)
        Cation exchange capacity. [cmol_c/kg]
    bulk_density : array_like, shape (...)
        Of the dry medium. [kg/L]

    Returns
    -------
    ndarray, shape (...)
        Gypsum, pure; 0 where there is no need. [g/L of medium]

    Raises
    ------
    ValueError
        If an argument is negative.

    References
    ----------
    Agriculture Handbook 60 [1]_.

    Examples
    --------
    From 31 to 10 % in a clay loam of 20 cmol_c/kg.

    >>> float(gypsum_rate(31.0, 10.0, 20.0, 1.2).round(1))
    5.4
    """
    gap = np.maximum(not_negative(esp, "esp") - not_negative(esp_wanted, "esp_wanted"), 0.0)
    charge = gap / 100.0 * not_negative(exchange_capacity, "exchange_capacity") * 0.01
    mass = charge * not_negative(bulk_density, "bulk_density") * GYPSUM_MASS
    return np.asarray(mass / REPLACEMENT)


def gypsum_water(gypsum: npt.ArrayLike) -> Floats:
    """Water that takes gypsum in, at the least.

    Parameters
    ----------
    gypsum : array_like, shape (...)
        Gypsum on a container or in a litre of medium. [g]

    Returns
    -------
    ndarray, shape (...)
        Water that dissolves it. [L]

    Raises
    ------
    ValueError
        If the mass is negative.

    Examples
    --------
    >>> float(gypsum_water(4.8))
    2.0
    """
    return np.asarray(not_negative(gypsum, "gypsum") / GYPSUM_SOLUBILITY)


def coir_soak(dry_mass: npt.ArrayLike) -> CoirSoak:
    """Calcium nitrate soak that takes held sodium and potassium out of coir.

    Parameters
    ----------
    dry_mass : array_like, shape (...)
        Coir as sold, pressed and dry. [kg]

    Returns
    -------
    CoirSoak
        In the proportion of the one trial found; wash with water after it.

    Raises
    ------
    ValueError
        If the mass is negative.

    Examples
    --------
    >>> got = coir_soak(4.5)
    >>> float(got.calcium_nitrate), float(got.water), got.hours
    (300.0, 45.0, 36.0)
    """
    mass = not_negative(dry_mass, "dry_mass")
    nitrate, water, hours = COIR_SOAK
    return CoirSoak(np.asarray(nitrate * mass), np.asarray(water * mass), hours)
