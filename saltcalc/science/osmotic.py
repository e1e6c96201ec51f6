"""Osmotic potential of the water around the roots: how hard salt makes it to take up."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.data.aqueous_species import ion_interactions
from saltcalc.data.reported_ions import reported_ions
from saltcalc.science._arrays import Flags, Floats, alike, filled, one_shape
from saltcalc.science.balance import ANIONS, CATIONS, charge_balance
from saltcalc.science.conductivity import total_ec_from_ions

KILOPASCAL_PER_ATMOSPHERE = 101.325

_RT = 8.314462618 * 298.15  # kJ/mol/1000, at 25 °C
_WATER_DENSITY = 0.99705  # kg/L at 25 °C
_A_PHI = 0.3915  # (kg/mol)^0.5, Debye and Hückel's slope for the osmotic coefficient at 25 °C
_B = 1.2  # (kg/mol)^0.5
_ALPHA, _ALPHA_2_2, _ALPHA_SECOND = 2.0, 1.4, 12.0  # (kg/mol)^0.5
_MOST_IMBALANCE = 20.0  # % of the charges, up to which a report tells of the whole; a judgement
_ROUNDS, _SETTLED = 3, 1e-6
_EC_POWER = 0.93  # of the concentration with which EC rises, at first; then that of the last step


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


def osmotic_potential_pitzer(ions: Mapping[str, ArrayLike]) -> Floats:
    r"""Osmotic potential at 25 °C from the ions, by the equation of Pitzer for mixed salts.

    .. math::
        \Psi_o = -\rho R T \phi \sum_i m_i, \qquad
        (\phi - 1)\sum_i m_i = 2\left[\frac{-A_\phi I^{3/2}}{1 + 1.2\sqrt I}
            + \sum_c\sum_a m_c m_a \left(B^\phi_{ca} + Z C_{ca}\right)\right]

    The terms between ions of one sign are left out; in the water of a medium they are below 1 %.
    Phosphate counts as the ion of one charge and bicarbonate stands for the whole alkalinity.

    Parameters
    ----------
    ions : mapping of str to array_like of float
        Concentration by ion id [mmol_c/L]; NaN and what is left out count as none, and so does
        what is not among `saltcalc.science.balance.CATIONS` and ``ANIONS``.

    Returns
    -------
    ndarray of float
        Osmotic potential, zero or negative [kPa]; of the broadcast shape.

    Raises
    ------
    ValueError
        If a concentration is negative.

    References
    ----------
    .. [1] Pitzer, K.S. & Mayorga, G. (1973), J. Phys. Chem. 77:2300-2308.
    .. [2] Harvie, C.E., Moller, N. & Weare, J.H. (1984), Geochim. Cosmochim. Acta 48:723-751.

    Examples
    --------
    Handbooks give an osmotic coefficient of 0.932 for 0.1 mol/kg of sodium chloride (from memory):
    -461 kPa.

    >>> print(osmotic_potential_pitzer({"sodium": 99.7, "chloride": 99.7}).round())
    -461.0
    """
    charges = {ion: float(abs(reported_ions()[ion].charge)) for ion in CATIONS + ANIONS}
    named = [np.asarray(ions.get(ion, 0.0), dtype=np.float64) for ion in charges]
    amounts = alike(*named)
    if any((amount < 0).any() for amount in amounts):
        raise ValueError("a concentration is negative")
    molal = {
        ion: filled(amount, 0.0) / (1e3 * charge * _WATER_DENSITY)
        for (ion, charge), amount in zip(charges.items(), amounts, strict=True)
    }
    strength = 0.5 * sum((charges[ion] ** 2 * molal[ion] for ion in charges), np.float64(0))
    root = np.sqrt(strength)
    charge_sum = sum((charges[ion] * molal[ion] for ion in charges), np.float64(0))
    excess = -_A_PHI * strength * root / (1 + _B * root)
    for (cation, anion), pair in ion_interactions().items():
        product = charges[cation] * charges[anion]
        alpha = _ALPHA_2_2 if charges[cation] == charges[anion] == 2 else _ALPHA
        second = (
            pair.beta0
            + pair.beta1 * np.exp(-alpha * root)
            + pair.beta2 * np.exp(-_ALPHA_SECOND * root)
        )
        third = charge_sum * pair.c_phi / (2 * np.sqrt(product))
        excess = excess + molal[cation] * molal[anion] * (second + third)
    osmoles = sum(molal.values(), np.float64(0)) + 2 * excess
    return np.asarray(0.0 - _WATER_DENSITY * _RT * osmoles)


def tell_of_the_whole(ions: Mapping[str, ArrayLike]) -> Flags:
    """Where the reported ions stand for all that is dissolved: their charges nearly balance.

    Parameters
    ----------
    ions : mapping of str to array_like of float
        Concentration by ion id [mmol_c/L]; NaN for what was not reported.

    Returns
    -------
    ndarray of bool
        False where an ion of either sign is missing, or more than a fifth of the charge (a
        judgement).

    Examples
    --------
    >>> print(tell_of_the_whole({"sodium": [10.0, 10.0], "chloride": [9.5, 5.0]}))
    [ True False]
    """
    error = charge_balance(ions).error
    return np.asarray(np.abs(np.where(np.isnan(error), np.inf, error)) <= _MOST_IMBALANCE / 2)


def osmotic_potential_at_ec(ions: Mapping[str, ArrayLike], ec: ArrayLike) -> Floats:
    """Osmotic potential of a solution of these ions, so much diluted that it reads an EC.

    Parameters
    ----------
    ions : mapping of str to array_like of float
        Concentration by ion id [mmol_c/L], in the proportions of the solution; NaN for what was
        not reported.
    ec : array_like of float
        EC of the solution at 25 °C [dS/m].

    Returns
    -------
    ndarray of float
        Osmotic potential, zero or negative [kPa]; NaN where `ec` is NaN or no ion conducts.

    Raises
    ------
    ValueError
        If a concentration is negative.

    References
    ----------
    As :func:`osmotic_potential_pitzer` and `saltcalc.science.conductivity.ec_from_ions`.

    Examples
    --------
    At 2.2 dS/m gypsum pulls little more than half as hard as common salt.

    >>> gypsum = osmotic_potential_at_ec({"calcium": 1.0, "sulfate_s": 1.0}, 2.2)
    >>> common_salt = osmotic_potential_at_ec({"sodium": 1.0, "chloride": 1.0}, 2.2)
    >>> print((gypsum / common_salt).round(2))
    0.57
    """
    wanted = np.asarray(ec, dtype=np.float64)
    times: Floats = np.ones(one_shape(wanted, *ions.values()))
    power, step, before = (np.full(times.shape, each) for each in (_EC_POWER, 0.0, np.nan))
    with np.errstate(divide="ignore", invalid="ignore"):
        for _ in range(_ROUNDS):
            found = np.log(
                total_ec_from_ions({ion: np.asarray(value) * times for ion, value in ions.items()})
            )
            np.divide(found - before, step, out=power, where=np.abs(step) > _SETTLED)
            step, before = (np.log(wanted) - found) / power, found
            times = times * np.exp(step)
    scaled = {ion: np.asarray(value) * times for ion, value in ions.items()}
    return np.where(np.isnan(times), np.nan, osmotic_potential_pitzer(scaled))
