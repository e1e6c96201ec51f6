"""The ions of a lab report: in which form each is reported, its molar mass and its charge."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import marshmallow as ma

from saltcalc.data.atomic_weights import molar_mass
from saltcalc.data.sources import SourcedSchema
from saltcalc.data.tables import read_keyed


@dataclass(frozen=True)
class ReportedIon:
    """An ion as laboratories report it: the formula it is reported as, and the charge of each."""

    id: str
    name: str
    reported_as: str
    charge: int
    source: str
    provenance: str
    note: str

    @property
    def molar_mass(self) -> float:
        """Molar mass of the reported form [g/mol]."""
        return molar_mass(self.reported_as)

    @property
    def mass_per_charge(self) -> float:
        """Mass of the reported form for each charge [mg/mmol_c]; 1 without one, counted in mg."""
        return self.molar_mass / abs(self.charge) if self.charge else 1.0


class _ReportedIonSchema(SourcedSchema):
    id = ma.fields.String(required=True)
    name = ma.fields.String(required=True)
    reported_as = ma.fields.String(required=True)
    charge = ma.fields.Integer(required=True)


@cache
def reported_ions() -> Mapping[str, ReportedIon]:
    """Return the ions by id, in the order of the table."""
    return read_keyed("reported_ions.csv", _ReportedIonSchema(), ReportedIon, lambda ion: ion.id)
