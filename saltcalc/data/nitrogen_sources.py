"""Generic sources of nitrogen to feed with after a flush."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import marshmallow as ma

from saltcalc.data.sources import known_source
from saltcalc.data.tables import DATA_DIR, SourcedSchema, read_table


@dataclass(frozen=True)
class NitrogenSource:
    """One generic source of nitrogen."""

    id: str
    name: str
    nitrogen_share: float
    """Nitrogen by mass. [g/g]"""
    nitrogen_form: str
    source: str
    provenance: str
    note: str


class _NitrogenSourceSchema(SourcedSchema):
    id = ma.fields.String(required=True)
    name = ma.fields.String(required=True)
    nitrogen_share = ma.fields.Float(
        required=True, validate=ma.validate.Range(0, 1, min_inclusive=False)
    )
    nitrogen_form = ma.fields.String(
        required=True, validate=ma.validate.OneOf(["nitrate", "organic"])
    )
    source = ma.fields.String(required=True, validate=known_source)

    @ma.post_load
    def _make(self, row: dict[str, Any], **_: Any) -> NitrogenSource:
        row["note"] = row["note"] or ""
        return NitrogenSource(**row)


@cache
def nitrogen_sources() -> tuple[NitrogenSource, ...]:
    """Return the sources in table order."""
    return tuple(read_table(DATA_DIR / "nitrogen_sources.csv", _NitrogenSourceSchema()))
