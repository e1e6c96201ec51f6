"""Minerals and salts that come out of a drying solution."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import marshmallow as ma

from saltcalc.data.atomic_weights import molar_mass
from saltcalc.data.sources import SourcedSchema
from saltcalc.data.tables import read_keyed, read_records


@dataclass(frozen=True)
class Mineral:
    """A mineral of one cation and one anion: mineral + hydrogen H+ = cation + anion at 25 °C."""

    mineral: str
    name: str
    cation: str
    anion: str
    hydrogen: int
    log_k: float
    source: str
    provenance: str
    note: str


@dataclass(frozen=True)
class Salt:
    """A salt and its solubility [g anhydrous per 100 g water at 25 °C].

    ``charge`` is that of either sign in the formula.
    """

    cation: str
    anion: str
    formula: str
    name: str
    charge: int
    solubility: float
    source: str
    provenance: str
    note: str

    @property
    def molar_mass(self) -> float:
        """Molar mass of the formula without its water of crystallisation [g/mol]."""
        return molar_mass(self.formula.partition("·")[0])

    @property
    def solubility_mmolc(self) -> float:
        """Solubility as charge of one sign [mmol_c per kg of water]."""
        return 1e4 * self.solubility / self.molar_mass * self.charge


@dataclass(frozen=True)
class Evaporite:
    """A mineral of the PHREEQC databases that may form on drying."""

    phase: str
    name: str
    databases: tuple[str, ...]
    source: str
    provenance: str
    note: str


class _MineralSchema(SourcedSchema):
    mineral = ma.fields.String(required=True)
    name = ma.fields.String(required=True)
    cation = ma.fields.String(required=True)
    anion = ma.fields.String(required=True)
    hydrogen = ma.fields.Integer(required=True)
    log_k = ma.fields.Float(required=True)


class _SaltSchema(SourcedSchema):
    cation = ma.fields.String(required=True)
    anion = ma.fields.String(required=True)
    formula = ma.fields.String(required=True)
    name = ma.fields.String(required=True)
    charge = ma.fields.Integer(required=True)
    solubility = ma.fields.Float(required=True)


class _EvaporiteSchema(SourcedSchema):
    phase = ma.fields.String(required=True)
    name = ma.fields.String(required=True)
    databases = ma.fields.Function(
        deserialize=lambda text: tuple(text.split()), required=True, data_key="database"
    )


@cache
def minerals() -> Mapping[str, Mineral]:
    """Return the minerals by id."""
    return read_keyed("minerals.csv", _MineralSchema(), Mineral, lambda row: row.mineral)


@cache
def salts() -> Mapping[tuple[str, str], Salt]:
    """Return the salts by their cation and anion."""
    return read_keyed(
        "salt_solubility.csv", _SaltSchema(), Salt, lambda row: (row.cation, row.anion)
    )


@cache
def evaporites() -> tuple[Evaporite, ...]:
    """Return the drying minerals that PHREEQC knows."""
    return read_records("evaporites.csv", _EvaporiteSchema(), Evaporite)
