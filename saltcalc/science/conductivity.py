"""Electrical conductivity of a solution from its ions at 25 °C, and each ion's share of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.data.aqueous_species import contact_radii, ionic_conductivities
from saltcalc.science._arrays import Codes, Flags, Floats, blocks, in_shape, one_shape
from saltcalc.science.speciation import BLOCK, DEBYE_B, Speciation, speciate

# Onsager's coefficients for a 1:1 electrolyte in water at 25 °C, Robinson & Stokes (1959).
RELAXATION_1_1 = 0.2300  # (L/mol)^0.5
ELECTROPHORETIC_1_1 = 60.65  # S cm²/mol_c (L/mol)^0.5

VALID_IONIC_STRENGTH = 0.3
"""Ionic strength up to which the result was checked [mol/L]."""

_OTHER_RADIUS = 2.0
_ABSENT_PARTNER = (1.0, 70.0)  # charge and conductivity of a counter-ion nobody reported


@dataclass(frozen=True)
class IonConductivity:
    """EC of a solution by its ions.

    Attributes
    ----------
    ec : ndarray
        Electrical conductivity at 25 °C [dS/m]; NaN where no ion and no pH was reported.
    shares : dict of str to ndarray
        Share of each reported ion in ``ec``; of H+ and OH- under ``hydrogen`` and ``hydroxide``.
        They sum to 1. NaN where ``ec`` is zero or the ion was not reported.
    ionic_strength : ndarray
        Ionic strength [mol/L].
    valid : ndarray of bool
        Whether the ionic strength is within `VALID_IONIC_STRENGTH`.
    """

    ec: Floats
    shares: dict[str, Floats]
    ionic_strength: Floats
    valid: Flags


class _Side(NamedTuple):
    """The cations or the anions among some species, a row each."""

    rows: Codes
    charge: Floats
    """Charge number, without its sign."""
    limiting: Floats
    """Limiting conductivity [S cm²/mol_c]; zero where it is not known."""
    radius: Floats
    """Contact radius [Å]."""

    def means(self, charge_amount: Floats) -> tuple[Floats, Floats, Floats]:
        """Charge, limiting conductivity and radius of the side as one ion, weighted by charge."""
        total = charge_amount.sum(axis=0)
        there = total > 0
        known = np.where(there, total, 1.0)
        charge, limiting, radius = (
            np.where(there, values @ charge_amount / known, absent)
            for values, absent in zip(self[1:], (*_ABSENT_PARTNER, _OTHER_RADIUS), strict=True)
        )
        return charge, limiting, radius


@cache
def _sides(species: tuple[str, ...], charges: tuple[float, ...]) -> tuple[_Side, _Side]:
    """Return the cations and the anions of some species."""
    limiting, radii = ionic_conductivities(), contact_radii()
    charge = np.array(charges)
    known = np.array([limiting[one].conductivity if one in limiting else 0.0 for one in species])
    reach = np.array([radii[one].radius if one in radii else _OTHER_RADIUS for one in species])
    cations, anions = (
        _Side(rows, np.abs(charge[rows]), known[rows], reach[rows])
        for rows in (np.flatnonzero(charge > 0), np.flatnonzero(charge < 0))
    )
    return cations, anions


def _sides_of(solution: Speciation) -> tuple[_Side, _Side]:
    return _sides(solution.species, tuple(solution.charge.tolist()))


def _species_ec(solution: Speciation, sides: tuple[_Side, _Side]) -> Floats:
    """EC of each species [dS/m], shape (species, n)."""
    amounts = [side.charge[:, None] * solution.concentration[side.rows] for side in sides]
    means = [side.means(amount) for side, amount in zip(sides, amounts, strict=True)]
    (z_cat, limit_cat, _), (z_an, limit_an, _) = means
    q = (z_cat * z_an * (limit_cat + limit_an)) / (
        (z_cat + z_an) * (z_cat * limit_an + z_an * limit_cat)
    )
    root = np.sqrt(solution.ionic_strength)
    relaxation = RELAXATION_1_1 * (1 + np.sqrt(0.5)) / 0.5 * q / (1 + np.sqrt(q))
    ec = np.zeros_like(solution.concentration)
    for side, amount, partner in zip(sides, amounts, reversed(means), strict=True):
        charge, limiting = side.charge[:, None], side.limiting[:, None]
        partner_charge, _, partner_radius = partner
        lost = (charge * limiting) * (relaxation * partner_charge)
        lost += 0.5 * ELECTROPHORETIC_1_1 * charge
        lost *= root / (
            side.radius[:, None] * (DEBYE_B * root) + (1 + DEBYE_B * partner_radius * root)
        )
        # Where no limiting conductivity is known, nothing is left to conduct.
        ec[side.rows] = np.maximum(limiting - lost, 0.0) * amount
    return ec


def ec_from_ions(
    ions: Mapping[str, ArrayLike], ph: ArrayLike = np.nan, solution: Speciation | None = None
) -> IonConductivity:
    r"""EC at 25 °C from the ions, by the Onsager equation of Robinson & Stokes with ion pairs.

    The solution is speciated (`saltcalc.science.speciation`); every charged species then
    conducts with

    .. math::
        \lambda_i = \lambda_i^0 - \left(B_1 |z_i| \bar z_j \frac{q}{1+\sqrt q}\lambda_i^0
            + \tfrac12 B_2 |z_i|\right)\frac{\sqrt I}{1 + B a \sqrt I}

    where the partners :math:`j` of opposite charge are taken as one mean ion: its charge
    :math:`\bar z_j` and the :math:`q` of Onsager are means weighted by charge. For a single salt
    this is Onsager's equation itself. The distance :math:`a` is the sum of two contact radii,
    fitted to handbook figures of single salts only.

    Parameters
    ----------
    ions : mapping of str to array_like of float
        Concentration by ion id [mmol_c/L], boron [mg/L]; NaN for what was not reported.
    ph : array_like of float
        pH; NaN where unknown. With it, phosphate, carbonate, ammonia and borate take the forms of
        that pH, and H+ and OH- conduct.
    solution : Speciation, optional
        The same ions and pH, where :func:`speciate` has been asked already.

    Returns
    -------
    IonConductivity
        Arrays of the broadcast shape of all arguments.

    Raises
    ------
    ValueError
        If an ion id is unknown or a concentration is negative.

    References
    ----------
    Robinson & Stokes (1959), Electrolyte Solutions, 2nd ed., chapters 6 and 7. Limiting
    conductivities: CRC Handbook of Chemistry and Physics. Ion pairs: Parkhurst & Appelo (2013).

    Examples
    --------
    Handbooks give 1.41 dS/m for 0.01 mol/L of potassium chloride (from memory).

    >>> found = ec_from_ions({"potassium": 10.0, "chloride": 10.0})
    >>> print(found.ec.round(2), found.shares["chloride"].round(2))
    1.41 0.51
    """
    shape = one_shape(ph, *ions.values())
    solution = speciate(ions, ph) if solution is None else solution
    by_species = _species_ec(solution, _sides_of(solution))
    ec = by_species.sum(axis=0)
    owners, order, starts = _by_owner(solution.ion)
    by_ion = np.add.reduceat(by_species[order], starts, axis=0) / np.where(ec > 0, ec, np.nan)
    shares: dict[str, Floats] = {}
    for ion, share in zip(owners, by_ion.reshape(len(owners), *shape), strict=True):
        reported = ph if ion in {"hydrogen", "hydroxide"} else ions.get(ion, np.nan)
        shares[ion] = np.where(np.isnan(np.asarray(reported, dtype=np.float64)), np.nan, share)
    strength = solution.ionic_strength.reshape(shape)
    return IonConductivity(
        ec=np.where(_all_missing(ions, ph), np.nan, ec.reshape(shape)),
        shares=shares,
        ionic_strength=strength,
        valid=strength <= VALID_IONIC_STRENGTH,
    )


@cache
def _by_owner(owner: tuple[str, ...]) -> tuple[tuple[str, ...], Codes, Codes]:
    """Return the ions, the rows of species ion by ion, and where those of each begin."""
    owners = tuple(dict.fromkeys(owner))
    places = np.array([owners.index(each) for each in owner])
    order = np.argsort(places, kind="stable")
    return owners, order, np.searchsorted(places[order], np.arange(len(owners)))


def total_ec_from_ions(ions: Mapping[str, ArrayLike], ph: ArrayLike = np.nan) -> Floats:
    """EC at 25 °C from the ions, as :func:`ec_from_ions` gives it, without each one's share.

    Parameters
    ----------
    ions, ph
        As for :func:`ec_from_ions`.

    Returns
    -------
    ndarray
        EC [dS/m], of the broadcast shape of all arguments; NaN where no ion and no pH was reported.

    Raises
    ------
    ValueError
        If an ion id is unknown or a concentration is negative.

    Examples
    --------
    >>> print(total_ec_from_ions({"potassium": 10.0, "chloride": 10.0}).round(2))
    1.41
    """
    missing = _all_missing(ions, ph)
    flat = [in_shape(each, missing.shape).ravel() for each in (ph, *ions.values())]
    ec = np.empty(missing.size)
    for block in blocks(missing.size, BLOCK):
        of_ph, *of_ions = (each[block] for each in flat)
        solution = speciate(dict(zip(ions, of_ions, strict=True)), of_ph)
        ec[block] = _species_ec(solution, _sides_of(solution)).sum(axis=0)
    return np.where(missing, np.nan, ec.reshape(missing.shape))


def _all_missing(ions: Mapping[str, ArrayLike], ph: ArrayLike) -> Flags:
    missing: Flags = np.isnan(np.asarray(ph, dtype=np.float64))
    for value in ions.values():
        missing = missing & np.isnan(np.asarray(value, dtype=np.float64))
    return np.asarray(missing)
