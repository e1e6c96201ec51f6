"""What goes on giving off salt in a medium after a flush."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import marshmallow as ma

from saltcalc.data.sources import SourcedSchema
from saltcalc.data.tables import TableError, read_keyed


@dataclass(frozen=True)
class SlowRelease:
    """One slow release of salt, with the 80 % interval of its rate."""

    id: str
    name: str
    rate: float
    """EC given off at container capacity. [dS/m per day]"""
    rate_low: float
    rate_high: float
    source: str
    provenance: str
    note: str


class _SlowReleaseSchema(SourcedSchema):
    id = ma.fields.String(required=True)
    name = ma.fields.String(required=True)
    rate = ma.fields.Float(required=True, validate=ma.validate.Range(0, min_inclusive=False))
    rate_low = ma.fields.Float(required=True, validate=ma.validate.Range(0, min_inclusive=False))
    rate_high = ma.fields.Float(required=True, validate=ma.validate.Range(0, min_inclusive=False))


@cache
def slow_releases() -> Mapping[str, SlowRelease]:
    """Return the slow releases by id, in table order.

    Raises
    ------
    TableError
        If a rate lies outside its interval.
    """
    table = read_keyed("slow_release.csv", _SlowReleaseSchema(), SlowRelease, lambda row: row.id)
    for row in table.values():
        if not row.rate_low < row.rate < row.rate_high:
            raise TableError(f"slow_release.csv: {row.id!r} has a rate outside its interval")
    return table
