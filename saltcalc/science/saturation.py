"""Saturation with gypsum and calcite, the EC at which gypsum holds it, and the crust on drying."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from saltcalc.data.minerals import evaporites, minerals, salts
from saltcalc.science import phreeqc
from saltcalc.science.balance import ANIONS, CATIONS, hypothetical_salts
from saltcalc.science.conductivity import ec_from_ions
from saltcalc.science.speciation import speciate

Floats = NDArray[np.float64]

SATURATED = -0.1
"""Saturation index from which a solution counts as saturated; its error is as large."""

GYPSUM_TOLERANCE_SHIFT = 2.0
"""How much more EC of the saturation extract plants stand in gypsum-holding soil [dS/m].

Ayers & Westcot (1985), FAO 29 Rev. 1, Table 4, note on gypsiferous soils.
"""

METHODS = ("phreeqc-pitzer", "phreeqc", "ion-pairs", "solubility")

_LOG_CARBONATE_IN_AIR = -10.329 + 6.352 + 1.468 - phreeqc.LOG_CO2_AIR  # of {CO3} over {HCO3}^2
_LOG_CALCITE = -8.48
_MOST_OUTSIDE_PITZER = 0.05  # share of charge the Pitzer database may leave out
_OUTSIDE_PITZER = ("nitrate_n", "ammonium_n", "phosphorus")
_MOST_GYPSUM = 60.0  # mmol/L, above the solubility in any extract
_STEPS = 30
_LARGEST_FACTOR = 3000.0
_TRACE = 1e-4  # share of the largest ion below which an ion is left out of the crust
_LEAST_BALANCE = 0.5  # of the charges of both signs, below which PHREEQC is not asked
# Charge of one sign up to which the activity models are followed [mmol_c/L].
_RANGE = {"pitzer.dat": 10000.0, "phreeqc.dat": 1500.0}
_ION_PAIR_RANGE = 1500.0


def saturation_index(mineral: str, ions: Mapping[str, ArrayLike], ph: ArrayLike = np.nan) -> Floats:
    r"""Saturation index of gypsum or calcite with activities and ion pairs.

    .. math:: SI = \log_{10} \frac{IAP}{K}

    Parameters
    ----------
    mineral : str
        ``gypsum`` or ``calcite``.
    ions : mapping of str to array_like of float
        Concentration by ion id [mmol_c/L]; NaN for what was not reported.
    ph : array_like of float
        pH; without it calcite has no index.

    Returns
    -------
    ndarray of float
        Zero at saturation, positive above; NaN where an ion of the mineral was not reported (or
        pH for calcite), -inf where there is none of it.

    Raises
    ------
    KeyError
        If the mineral is unknown.
    ValueError
        If a concentration is negative.

    References
    ----------
    Constants: Parkhurst & Appelo (2013), USGS Techniques and Methods 6-A43, database phreeqc.dat.
    """
    one = minerals()[mineral]
    shape = np.broadcast_shapes(*(np.shape(value) for value in ions.values()), np.shape(ph))
    solution = speciate(ions, ph)
    acidity = np.broadcast_to(np.asarray(ph, dtype=np.float64), shape)
    index = (
        solution.log_activity(one.cation) + solution.log_activity(one.anion) - one.log_k
    ).reshape(shape)
    if one.hydrogen:
        index = index + one.hydrogen * acidity
    for species in (one.cation, one.anion):
        ion = solution.ion[solution.species.index(species)]
        given = np.asarray(ions.get(ion, np.nan), dtype=np.float64)
        index = np.where(np.isnan(given), np.nan, index)
    return np.asarray(index)


def gypsum_tolerance_shift(index: ArrayLike) -> Floats:
    """How much more EC plants stand in a medium whose extract is saturated with gypsum.

    Gypsum dissolves in the water of the extraction and reads as salt there, while most of it stays
    solid around the roots.

    Parameters
    ----------
    index : array_like of float
        Saturation index of gypsum in the extract; NaN where unknown.

    Returns
    -------
    ndarray of float
        Shift of the tolerance on the basis of the saturation extract [dS/m]; 0 where the extract
        is not saturated or nothing is known.

    References
    ----------
    Ayers & Westcot (1985), FAO 29 Rev. 1, Table 4: about 2 dS/m in gypsiferous soils.
    """
    known = np.nan_to_num(np.asarray(index, dtype=np.float64), nan=-np.inf)
    return np.where(known >= SATURATED, GYPSUM_TOLERANCE_SHIFT, 0.0)


@dataclass(frozen=True)
class GypsumEquilibrium:
    """A solution brought to equilibrium with gypsum.

    Attributes
    ----------
    dissolved : ndarray
        Gypsum that dissolved [mmol/L]; zero where the solution was saturated already.
    ec : ndarray
        EC then [dS/m at 25 °C]: what a flush with this water cannot go below while gypsum lasts.
    """

    dissolved: Floats
    ec: Floats


def gypsum_equilibrium(ions: Mapping[str, ArrayLike], ph: ArrayLike = np.nan) -> GypsumEquilibrium:
    """Let gypsum dissolve in a solution until it is saturated.

    Parameters
    ----------
    ions : mapping of str to array_like of float
        Concentration by ion id [mmol_c/L]; NaN and what is left out count as none.
    ph : array_like of float
        pH; NaN where unknown.

    Returns
    -------
    GypsumEquilibrium

    Raises
    ------
    ValueError
        If a concentration is negative.
    """
    shape = np.broadcast_shapes(*(np.shape(value) for value in ions.values()), np.shape(ph))
    known = {
        ion: np.nan_to_num(np.broadcast_to(np.asarray(value, dtype=np.float64), shape), nan=0.0)
        for ion, value in ions.items()
    }

    def with_gypsum(amount: Floats) -> dict[str, Floats]:
        return known | {
            "calcium": known.get("calcium", np.zeros(shape)) + 2 * amount,
            "sulfate_s": known.get("sulfate_s", np.zeros(shape)) + 2 * amount,
        }

    low, high = np.zeros(shape), np.full(shape, _MOST_GYPSUM)
    for _ in range(18):
        middle = 0.5 * (low + high)
        below = saturation_index("gypsum", with_gypsum(middle), ph) < 0
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    saturated = saturation_index("gypsum", with_gypsum(np.zeros(shape)), ph) >= 0
    dissolved = np.where(saturated, 0.0, high)
    return GypsumEquilibrium(dissolved=dissolved, ec=ec_from_ions(with_gypsum(dissolved), ph).ec)


@dataclass(frozen=True)
class CrustMineral:
    """A mineral of the crust.

    Attributes
    ----------
    name : str
        Its name.
    concentration : float
        How many times over the solution is concentrated when it begins to form; 1 where it is
        saturated already.
    method : str
        One of `METHODS`.
    """

    name: str
    concentration: float
    method: str


def crust(ions: Mapping[str, float], ph: float = np.nan) -> tuple[CrustMineral, ...]:
    """Which minerals form, in order, as one solution dries in air at 25 °C.

    With PHREEQC installed and hardly any nitrogen or phosphorus in the solution, the Pitzer
    database follows it through every evaporite. With more of them PHREEQC follows lime and gypsum,
    and the remaining ions are combined into salts, each forming at its own solubility. Without
    PHREEQC, or where the charges are far from balanced, the ion-pair model of this package takes
    its place for lime and gypsum. Salts by solubility are taken one by one, without the effect of
    a common ion; traces are left out.

    Parameters
    ----------
    ions : mapping of str to float
        Concentration by ion id [mmol_c/L]; NaN and what is left out count as none.
    ph : float
        pH; NaN where unknown. The solution is then let come to equilibrium with air.

    Returns
    -------
    tuple of CrustMineral
        The first to form first.

    Raises
    ------
    ValueError
        If a concentration is negative.

    References
    ----------
    Parkhurst & Appelo (2013); solubilities of the CRC Handbook.
    """
    if any(value < 0 for value in ions.values()):
        raise ValueError("a concentration is negative")
    charged = {ion: float(value) for ion, value in ions.items() if ion in CATIONS + ANIONS}
    least = _TRACE * max((value for value in charged.values() if value > 0), default=0.0)
    known = {ion: value for ion, value in charged.items() if value > least}
    cations, anions = _sides(known)
    if not min(cations, anions) > 0:
        return ()
    engine = phreeqc.available() and min(cations, anions) >= _LEAST_BALANCE * max(cations, anions)
    outside = sum(known.get(ion, 0.0) for ion in _OUTSIDE_PITZER)
    formed, beyond = None, 1.0
    if engine and outside <= _MOST_OUTSIDE_PITZER * sum(known.values()):
        inside = {ion: value for ion, value in known.items() if ion not in _OUTSIDE_PITZER}
        formed = _dry(inside, ph, "pitzer.dat", "phreeqc-pitzer")
        beyond = _largest_factor(inside, _RANGE["pitzer.dat"])
    if formed is None and engine:
        formed, beyond = _dry(known, ph, "phreeqc.dat", "phreeqc"), 1.0
    if formed is None:
        formed, beyond = _lime_and_gypsum(known), 1.0
    return _in_order(
        [*formed, *(one for one in _by_solubility(known) if one.concentration >= beyond)]
    )


def _in_order(formed: list[CrustMineral]) -> tuple[CrustMineral, ...]:
    seen: dict[str, CrustMineral] = {}
    for one in sorted(formed, key=lambda one: one.concentration):
        seen.setdefault(one.name, one)
    return tuple(seen.values())


def _sides(ions: Mapping[str, float]) -> tuple[float, float]:
    """Charge of the cations and of the anions [mmol_c/L]."""
    return (
        sum(value for ion, value in ions.items() if ion in CATIONS),
        sum(value for ion, value in ions.items() if ion in ANIONS),
    )


def _largest_factor(ions: Mapping[str, float], most: float) -> float:
    return min(max(1.0, most / max(_sides(ions))), _LARGEST_FACTOR)


def _dry(
    ions: Mapping[str, float], ph: float, database: str, method: str
) -> list[CrustMineral] | None:
    """Minerals that form by PHREEQC; None where it finds no solution."""
    known = [one for one in evaporites() if database in one.databases]
    factors = np.geomspace(1.0, _largest_factor(ions, _RANGE[database]), _STEPS)
    amounts = phreeqc.dry(ions, ph, [one.phase for one in known], factors, database)
    if amounts is None:
        return None
    return [
        CrustMineral(one.name, float(factors[np.flatnonzero(amount > 0)[0]]), method)
        for one, amount in zip(known, amounts.T, strict=True)
        if np.any(amount > 0)
    ]


def _lime_and_gypsum(ions: Mapping[str, float]) -> list[CrustMineral]:
    """Follow lime in equilibrium with air, then gypsum from the calcium that lime leaves."""
    factors = np.geomspace(1.0, _largest_factor(ions, _ION_PAIR_RANGE), _STEPS)
    found = []
    grown = {ion: value * factors for ion, value in ions.items()}
    solution = speciate(grown)
    lime = (
        solution.log_activity("Ca+2")
        + 2 * solution.log_activity("HCO3-")
        + _LOG_CARBONATE_IN_AIR
        - _LOG_CALCITE
    )
    left = dict(ions)
    if np.any(lime >= 0):
        found.append(
            CrustMineral("calcium carbonate (lime)", float(factors[lime >= 0][0]), "ion-pairs")
        )
        bound = min(ions["calcium"], ions["bicarbonate"])
        left |= {
            "calcium": ions["calcium"] - bound,
            "bicarbonate": ions["bicarbonate"] - bound,
        }
    index = saturation_index("gypsum", {ion: value * factors for ion, value in left.items()})
    if np.any(index >= 0):
        found.append(CrustMineral("gypsum", float(factors[index >= 0][0]), "ion-pairs"))
    return found


def _by_solubility(ions: Mapping[str, float]) -> list[CrustMineral]:
    found = []
    for pair, amount in hypothetical_salts(ions).items():
        salt = salts()[pair]
        if amount > 0 and pair not in {("calcium", "bicarbonate"), ("calcium", "sulfate_s")}:
            factor = max(1.0, salt.solubility_mmolc / float(amount))
            found.append(CrustMineral(salt.name, factor, "solubility"))
    return found
