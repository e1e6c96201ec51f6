"""Which minerals make the crust, and in what order, as a solution dries in air."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from saltcalc.data.minerals import evaporites, minerals, salts
from saltcalc.science import phreeqc
from saltcalc.science._arrays import Flags, Floats
from saltcalc.science.alkalinity import LOG_K1_CARBONIC
from saltcalc.science.balance import ANIONS, CATIONS, hypothetical_salts
from saltcalc.science.saturation import saturation_index
from saltcalc.science.speciation import speciate

LOG_HENRY_CO2 = -1.468
"""log10 of Henry's constant of carbon dioxide at 25 °C [mol/L/atm], Parkhurst & Appelo (2013)."""

# In equilibrium with air {H+}{HCO3-} is fixed: this is pH less log10 of {HCO3-}.
_PH_LESS_LOG_HCO3_IN_AIR = -(LOG_K1_CARBONIC + LOG_HENRY_CO2 + phreeqc.LOG_CO2_AIR)

# The limits below are judgements.
LEAST_BALANCE = 2 / 3
"""Smaller over larger sum of charges from which a report can tell what crystallises. [-]"""

_MOST_OUTSIDE_PITZER = 0.05  # share of charge the Pitzer database may leave out
_OUTSIDE_PITZER = ("nitrate_n", "ammonium_n", "phosphorus")
_STEPS = 12  # of drying
_LARGEST_FACTOR = 3000.0  # times over that a solution is concentrated at most
_TRACE = 1e-4  # share of the largest ion below which an ion is left out of the crust
_FOLLOWED = {("calcium", "bicarbonate"), ("calcium", "sulfate_s"), ("calcium", "phosphorus")}
# Charge of one sign up to which the activity models are followed [mmol_c/L].
_RANGE = {"pitzer.dat": 10000.0, "phreeqc.dat": 1500.0}
_ION_PAIR_RANGE = 1500.0


@dataclass(frozen=True)
class CrustMineral:
    """A mineral of the crust.

    Attributes
    ----------
    id : str
        Of the salt that it is, as in the table of solubilities.
    concentration : float
        About how many times over the solution is concentrated when it begins to form; 1 where it
        is saturated already. Its order is dependable, its figure is not: air, pH and salts that
        were not reported shift it.
    method : str
        ``phreeqc-pitzer``, ``phreeqc``, ``ion-pairs`` or ``solubility``.
    """

    id: str
    concentration: float
    method: str


def crust(ions: Mapping[str, float], ph: float = np.nan) -> tuple[CrustMineral, ...]:
    """Which minerals form, in order, as one solution dries in air at 25 °C.

    With PHREEQC installed and hardly any nitrogen or phosphorus in the solution, the Pitzer
    database follows it through every evaporite. With more of them PHREEQC follows lime and gypsum,
    and the remaining ions are combined into salts, each forming at its own solubility. Without
    PHREEQC the ion-pair model of this package takes its place, and it always follows calcium
    phosphate. Salts by solubility are taken one by one, without the effect of a common ion; traces
    are left out.

    Parameters
    ----------
    ions : mapping of str to float
        Concentration by ion id [mmol_c/L]; NaN and what is left out count as none.
    ph : float
        pH; NaN where unknown. The solution is then let come to equilibrium with air.

    Returns
    -------
    tuple of CrustMineral
        The first to form first; none where a third of the charge of one sign is missing.

    Raises
    ------
    ValueError
        If a concentration is negative.

    References
    ----------
    Parkhurst & Appelo (2013); solubilities of the CRC Handbook.

    Examples
    --------
    Common salt, whichever model follows it.

    >>> crust({"sodium": 5.0, "chloride": 5.0})[0].id
    'common_salt'
    """
    if any(value < 0 for value in ions.values()):
        raise ValueError("a concentration is negative")
    charged = {ion: float(value) for ion, value in ions.items() if ion in CATIONS + ANIONS}
    least = _TRACE * max((value for value in charged.values() if value > 0), default=0.0)
    known = {ion: value for ion, value in charged.items() if value > least}
    cations, anions = _sides(known)
    if not min(cations, anions) > 0 or min(cations, anions) < LEAST_BALANCE * max(cations, anions):
        return ()
    engine = phreeqc.available()
    outside = sum(known.get(ion, 0.0) for ion in _OUTSIDE_PITZER)
    formed, beyond = None, 1.0
    if engine and outside <= _MOST_OUTSIDE_PITZER * sum(known.values()):
        inside = {ion: value for ion, value in known.items() if ion not in _OUTSIDE_PITZER}
        formed = _dry(inside, ph, "pitzer.dat", "phreeqc_pitzer")
        beyond = _largest_factor(inside, _RANGE["pitzer.dat"])
    if formed is None and engine:
        formed, beyond = _dry(known, ph, "phreeqc.dat", "phreeqc"), 1.0
    if formed is None:
        formed, beyond = _lime_and_gypsum(known), 1.0
    formed += _brushite(known, ph)
    return _in_order(
        [*formed, *(one for one in _by_solubility(known) if one.concentration >= beyond)]
    )


def _in_order(formed: list[CrustMineral]) -> tuple[CrustMineral, ...]:
    seen: dict[str, CrustMineral] = {}
    for one in sorted(formed, key=lambda one: one.concentration):
        seen.setdefault(one.id, one)
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
    dried = phreeqc.dry(ions, ph, [one.phase for one in known], factors, database)
    if dried is None:
        return None
    return [
        CrustMineral(one.id, _onset(factors, index, formed), method)
        for one, index, formed in zip(known, dried.saturation.T, dried.amounts.T > 0, strict=True)
        if formed.any()
    ]


def _onset(factors: Floats, index: Floats, formed: Flags) -> float:
    """Return about where a mineral begins to form, between the step where it has and the last.

    The index rises nearly as a straight line with the logarithm of the concentration. Where the
    mineral is let form it stays at zero from then on, so the line is that of the steps before.
    """
    at = int(formed.argmax())
    if at < 2:
        return float(factors[at])
    before, last, found = np.log(factors[at - 2 : at + 1])
    rise = (index[at - 1] - index[at - 2]) / (last - before)
    onset = last - index[at - 1] / rise if rise > 0 else found
    return float(np.exp(np.clip(onset, last, found)))


def _lime_and_gypsum(ions: Mapping[str, float]) -> list[CrustMineral]:
    """Follow lime in equilibrium with air, then gypsum from the calcium that lime leaves."""
    factors = np.geomspace(1.0, _largest_factor(ions, _ION_PAIR_RANGE), _STEPS)
    found = []
    grown = {ion: value * factors for ion, value in ions.items()}
    solution = speciate(grown)
    lime = (
        solution.log_activity("Ca+2")
        + 2 * solution.log_activity("HCO3-")
        + _PH_LESS_LOG_HCO3_IN_AIR
        - minerals()["calcite"].log_k
    )
    left = dict(ions)
    if np.any(lime >= 0):
        onset = _onset(factors, lime, lime >= 0)
        found.append(CrustMineral("calcium_carbonate", onset, "ion_pairs"))
        bound = min(ions["calcium"], ions["bicarbonate"])
        left |= {
            "calcium": ions["calcium"] - bound,
            "bicarbonate": ions["bicarbonate"] - bound,
        }
    index = saturation_index("gypsum", {ion: value * factors for ion, value in left.items()})
    if np.any(index >= 0):
        found.append(CrustMineral("gypsum", _onset(factors, index, index >= 0), "ion_pairs"))
    return found


def _brushite(ions: Mapping[str, float], ph: float) -> list[CrustMineral]:
    """Follow calcium phosphate at the pH that was given, or a neutral one: a medium buffers it."""
    acidity = phreeqc.NEUTRAL_PH if np.isnan(ph) else ph
    factors = np.geomspace(1.0, _largest_factor(ions, _ION_PAIR_RANGE), _STEPS)
    grown = {ion: value * factors for ion, value in ions.items()}
    index = saturation_index("brushite", grown, np.full(_STEPS, acidity))
    if not np.any(index >= 0):
        return []
    onset = _onset(factors, index, index >= 0)
    return [CrustMineral("calcium_hydrogen_phosphate", onset, "ion_pairs")]


def _by_solubility(ions: Mapping[str, float]) -> list[CrustMineral]:
    found = []
    for pair, amount in hypothetical_salts(ions).items():
        salt = salts()[pair]
        if amount > 0 and pair not in _FOLLOWED:
            factor = max(1.0, salt.solubility_mmolc / float(amount))
            found.append(CrustMineral(salt.id, factor, "solubility"))
    return found
