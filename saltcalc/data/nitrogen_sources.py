"""Generic sources of nitrogen to feed with after a flush."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import marshmallow as ma

from saltcalc.data.sources import SourcedSchema
from saltcalc.data.tables import read_records


@dataclass(frozen=True)
class NitrogenSource:
    """One generic source of nitrogen."""

    id: str
    name: str
    nitrogen_share: float
    """Nitrogen by mass. [g/g]"""
    source: str
    provenance: str
    note: str


class _NitrogenSourceSchema(SourcedSchema):
    id = ma.fields.String(required=True)
    name = ma.fields.String(required=True)
    nitrogen_share = ma.fields.Float(
        required=True, validate=ma.validate.Range(0, 1, min_inclusive=False)
    )


@cache
def nitrogen_sources() -> tuple[NitrogenSource, ...]:
    """Return the sources in table order."""
    return read_records("nitrogen_sources.csv", _NitrogenSourceSchema(), NitrogenSource)
