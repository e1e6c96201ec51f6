"""Minerals and salts that come out of a drying solution."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from saltcalc.data.reported_ions import molar_mass
from saltcalc.data.sources import Sourced
from saltcalc.data.tables import column, read_keyed, read_table, words


@dataclass(frozen=True, kw_only=True)
class Mineral(Sourced):
    """A mineral: mineral + hydrogen H+ = cations × cation + anions × anion at 25 °C.

    ``phase`` is its name in PHREEQC.
    """

    mineral: str
    phase: str
    cation: str
    cations: int
    anion: str
    anions: int
    hydrogen: int
    log_k: float


@dataclass(frozen=True, kw_only=True)
class Salt(Sourced):
    """A salt and its solubility [g anhydrous per 100 g water at 25 °C].

    ``charge`` is that of either sign in the formula.
    """

    cation: str
    anion: str
    formula: str
    id: str = column(data_key="salt")
    charge: int
    solubility: float

    @property
    def molar_mass(self) -> float:
        """Molar mass of the formula without its water of crystallisation [g/mol]."""
        return molar_mass(self.formula.partition("·")[0])

    @property
    def solubility_mmolc(self) -> float:
        """Solubility as charge of one sign [mmol_c per kg of water]."""
        return 1e4 * self.solubility / self.molar_mass * self.charge


@dataclass(frozen=True, kw_only=True)
class Evaporite(Sourced):
    """A mineral of the PHREEQC databases that may form on drying."""

    phase: str
    id: str = column(data_key="salt")
    """Of the salt; phases that differ in their water alone have one."""
    databases: tuple[str, ...] = column(data_key="database", read=words())


@cache
def minerals() -> Mapping[str, Mineral]:
    """Return the minerals by id."""
    return read_keyed("minerals.csv", Mineral, lambda row: row.mineral)


@cache
def salts() -> Mapping[tuple[str, str], Salt]:
    """Return the salts by their cation and anion."""
    return read_keyed("salt_solubility.csv", Salt, lambda row: (row.cation, row.anion))


@cache
def evaporites() -> tuple[Evaporite, ...]:
    """Return the drying minerals that PHREEQC knows."""
    return read_table("evaporites.csv", Evaporite)
