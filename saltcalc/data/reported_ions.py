"""What a laboratory reports: the ions, the form and the unit of each, and other forms in use."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Literal

from saltcalc.data.sources import Sourced
from saltcalc.data.tables import column, read_keyed, read_table, words

_GROUP = re.compile(r"\(([A-Za-z0-9]+)\)(\d+)")
_ELEMENT = re.compile(r"([A-Z][a-z]?)(\d*)")


@dataclass(frozen=True, kw_only=True)
class AtomicWeight(Sourced):
    """The standard atomic weight of an element [g/mol]."""

    symbol: str
    weight: float


@dataclass(frozen=True, kw_only=True)
class Reported(Sourced):
    """An ion or a metal as requests and answers name it."""

    id: str
    symbols: tuple[str, ...] = column((), read=words())
    """What else people write for it, in small letters, words parted by an underscore."""


@dataclass(frozen=True, kw_only=True)
class ReportedIon(Reported):
    """An ion as laboratories report it: the formula it is reported as, and the charge of each."""

    reported_as: str
    charge: int
    thins_with_salts: bool
    """Whether added water thins it like the salts as a whole: the medium gives off no more."""

    @cached_property
    def molar_mass(self) -> float:
        """Molar mass of the reported form [g/mol]."""
        return molar_mass(self.reported_as)

    @cached_property
    def mass_per_charge(self) -> float:
        """Mass of the reported form for each charge [mg/mmol_c]; 1 without one, counted in mg."""
        return self.molar_mass / abs(self.charge) if self.charge else 1.0


@dataclass(frozen=True, kw_only=True)
class FormSlip(Sourced):
    """A form that an ion is given as, though it is read as the reported one."""

    slip: str
    ion: str
    given_as: str
    amount: int

    @property
    def share_reported(self) -> float:
        """Mass of the reported form in a mass of this one [g/g]; it holds ``amount`` of it."""
        return self.amount * reported_ions()[self.ion].molar_mass / molar_mass(self.given_as)


@dataclass(frozen=True, kw_only=True)
class UsualShare(Sourced):
    """How much of the charge of its sign an ion usually brings in a medium or a water.

    ``spread`` is the standard deviation of the natural logarithm of the share.
    """

    solution: Literal["medium", "water"]
    ion: str
    share: float
    spread: float

    @property
    def high(self) -> float:
        """Share that the ion seldom exceeds: two standard deviations up [-]."""
        return min(self.share * math.exp(2 * self.spread), 1.0)


@cache
def atomic_weights() -> dict[str, float]:
    """Return the standard atomic weights [g/mol] by symbol."""
    rows = read_keyed("atomic_weights.csv", AtomicWeight, lambda row: row.symbol)
    return {symbol: row.weight for symbol, row in rows.items()}


@cache
def molar_mass(formula: str) -> float:
    """Return the molar mass of a formula; every conversion by mass uses it.

    Parameters
    ----------
    formula : str
        Elements and counts, with groups in parentheses, for example ``(NH4)2SO4``.

    Returns
    -------
    float
        Molar mass [g/mol].

    Raises
    ------
    ValueError
        If the formula cannot be read or has an element that the table lacks.
    """
    flat = _GROUP.sub(lambda group: group[1] * int(group[2]), formula)
    if not re.fullmatch(rf"(?:{_ELEMENT.pattern})+", flat):
        raise ValueError(f"{formula!r} is not a formula")
    try:
        return sum(
            atomic_weights()[symbol] * int(count or 1) for symbol, count in _ELEMENT.findall(flat)
        )
    except KeyError as error:
        raise ValueError(f"{formula!r}: the atomic weight of {error} is not in the table") from None


@cache
def reported_ions() -> Mapping[str, ReportedIon]:
    """Return the ions by id, in the order of the table."""
    return read_keyed("reported_ions.csv", ReportedIon, lambda ion: ion.id)


@cache
def trace_metals() -> Mapping[str, Reported]:
    """Return the metals that are reported as nutrients, without a part in the balance of charges.

    By id, in the order of the table.
    """
    return read_keyed("trace_metals.csv", Reported, lambda metal: metal.id)


@cache
def symbols() -> dict[str, str]:
    """Return the ids of ions and metals by their chemical symbols and short names."""
    reported: tuple[Reported, ...] = (*reported_ions().values(), *trace_metals().values())
    return {symbol: each.id for each in reported for symbol in each.symbols}


@cache
def _form_slips() -> tuple[FormSlip, ...]:
    return read_table("reporting_slips.csv", FormSlip)


@cache
def form_slips() -> dict[str, dict[str, float]]:
    """Return for each slip of form what brings each ion's figure from as read to as meant.

    A figure in mg/L of the form ``given_as`` was read as mg/L of the reported form.
    """
    slips: dict[str, dict[str, float]] = {}
    for row in _form_slips():
        slips.setdefault(row.slip, {})[row.ion] = row.share_reported
    return slips


@cache
def usual_shares() -> dict[str, dict[str, UsualShare]]:
    """Return for a medium and a water the usual share of each ion, by ion id."""
    shares: dict[str, dict[str, UsualShare]] = {}
    for row in read_table("usual_shares.csv", UsualShare):
        shares.setdefault(row.solution, {})[row.ion] = row
    return shares


@cache
def other_forms() -> dict[str, dict[str, float]]:
    """Return for each ion its other forms, each with the mass of the reported form in one of it."""
    forms: dict[str, dict[str, float]] = {}
    for row in _form_slips():
        forms.setdefault(row.ion, {})[row.given_as] = row.share_reported
    return forms


@cache
def unit_slips() -> dict[str, dict[str, float]]:
    """Return for each slip of unit what brings each ion's figure from as read to as meant.

    Figures without a unit are read as mg/L, and may have been meant as mmol/L or as meq/L.
    """
    charged = [ion for ion in reported_ions().values() if ion.charge]
    return {
        "millimoles_as_milligrams": {ion.id: ion.molar_mass for ion in charged},
        "equivalents_as_milligrams": {ion.id: ion.mass_per_charge for ion in charged},
    }
