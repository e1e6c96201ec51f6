"""The ions of a lab report: in which form each is reported, its molar mass and its charge."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import marshmallow as ma

from saltcalc.data.tables import DATA_DIR, SourcedSchema, read_table


@dataclass(frozen=True)
class ReportedIon:
    """An ion as laboratories report it; ``molar_mass`` [g/mol] is that of the reported form."""

    id: str
    name: str
    reported_as: str
    molar_mass: float
    charge: int
    source: str
    note: str


class _ReportedIonSchema(SourcedSchema):
    id = ma.fields.String(required=True)
    name = ma.fields.String(required=True)
    reported_as = ma.fields.String(required=True)
    molar_mass = ma.fields.Float(required=True)
    charge = ma.fields.Integer(required=True)

    @ma.post_load
    def _make(self, row: dict[str, Any], **_: object) -> ReportedIon:
        del row["provenance"]
        return ReportedIon(**{**row, "note": row["note"] or ""})


@cache
def reported_ions() -> dict[str, ReportedIon]:
    """Return the ions by id, in the order of the table."""
    rows = read_table(DATA_DIR / "reported_ions.csv", _ReportedIonSchema())
    return {ion.id: ion for ion in rows}
