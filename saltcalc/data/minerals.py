"""Minerals and salts that come out of a drying solution."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import marshmallow as ma

from saltcalc.data.atomic_weights import molar_mass
from saltcalc.data.sources import known_source
from saltcalc.data.tables import DATA_DIR, SourcedSchema, read_table


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

    @ma.post_load
    def _make(self, row: dict[str, Any], **_: object) -> Mineral:
        known_source(row["source"])
        return Mineral(**{**row, "note": row["note"] or ""})


class _SaltSchema(SourcedSchema):
    cation = ma.fields.String(required=True)
    anion = ma.fields.String(required=True)
    formula = ma.fields.String(required=True)
    name = ma.fields.String(required=True)
    charge = ma.fields.Integer(required=True)
    solubility = ma.fields.Float(required=True)

    @ma.post_load
    def _make(self, row: dict[str, Any], **_: object) -> Salt:
        known_source(row["source"])
        return Salt(**{**row, "note": row["note"] or ""})


class _EvaporiteSchema(SourcedSchema):
    phase = ma.fields.String(required=True)
    name = ma.fields.String(required=True)
    database = ma.fields.String(required=True)

    @ma.post_load
    def _make(self, row: dict[str, Any], **_: object) -> Evaporite:
        known_source(row["source"])
        databases = tuple(row.pop("database").split())
        return Evaporite(**{**row, "databases": databases, "note": row["note"] or ""})


@cache
def minerals() -> dict[str, Mineral]:
    """Return the minerals by id."""
    rows: list[Mineral] = read_table(DATA_DIR / "minerals.csv", _MineralSchema())
    return {row.mineral: row for row in rows}


@cache
def salts() -> dict[tuple[str, str], Salt]:
    """Return the salts by their cation and anion."""
    rows: list[Salt] = read_table(DATA_DIR / "salt_solubility.csv", _SaltSchema())
    return {(row.cation, row.anion): row for row in rows}


@cache
def evaporites() -> tuple[Evaporite, ...]:
    """Return the drying minerals that PHREEQC knows."""
    return tuple(read_table(DATA_DIR / "evaporites.csv", _EvaporiteSchema()))
