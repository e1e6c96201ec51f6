"""What each substrate is made of, as far as causes of stalled seedlings turn on it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

import marshmallow as ma

from saltcalc.data.sources import known_source
from saltcalc.data.substrates import substrates
from saltcalc.data.tables import DATA_DIR, SourcedSchema, TableError, read_table


@dataclass(frozen=True)
class Makeup:
    """Whether a substrate contains field soil, and compost, manure or clippings; None: not known.

    Attributes
    ----------
    substrate : str
        Id of the substrate.
    contains_soil, contains_compost : bool or None
    source, provenance, note : str
    """

    substrate: str
    contains_soil: bool | None
    contains_compost: bool | None
    source: str
    provenance: str
    note: str


class _Schema(SourcedSchema):
    substrate = ma.fields.String(required=True)
    contains_soil = ma.fields.Boolean(load_default=None, allow_none=True)
    contains_compost = ma.fields.Boolean(load_default=None, allow_none=True)


@cache
def makeups() -> MappingProxyType[str, Makeup]:
    """Return the make-up of substrates by substrate id.

    Raises
    ------
    TableError
        If a row belongs to no substrate or its source is unknown.
    """
    rows = {}
    for row in read_table(DATA_DIR / "substrate_makeup.csv", _Schema()):
        known_source(row["source"])
        rows[row["substrate"]] = Makeup(**row | {"note": row["note"] or ""})
    if strangers := rows.keys() - substrates().keys():
        raise TableError(f"substrate_makeup.csv: no substrate is named {sorted(strangers)}")
    return MappingProxyType(rows)
