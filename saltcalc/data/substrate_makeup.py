"""What each substrate is made of, as far as causes of stalled seedlings turn on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import marshmallow as ma

from saltcalc.data.sources import SourcedSchema
from saltcalc.data.substrates import substrates
from saltcalc.data.tables import TableError, read_keyed


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
    contains_soil = ma.fields.Boolean(load_default=None)
    contains_compost = ma.fields.Boolean(load_default=None)


@cache
def makeups() -> Mapping[str, Makeup]:
    """Return the make-up of substrates by substrate id.

    Raises
    ------
    TableError
        If a row belongs to no substrate, a substrate stands twice or a source is unknown.
    """
    rows = read_keyed("substrate_makeup.csv", _Schema(), Makeup, lambda row: row.substrate)
    if strangers := rows.keys() - substrates().keys():
        raise TableError(f"substrate_makeup.csv: no substrate is named {sorted(strangers)}")
    return rows
