"""The signs that a person can report about a medium and the plants in it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

import marshmallow as ma

from saltcalc.data.sources import known_source
from saltcalc.data.tables import DATA_DIR, SourcedSchema, TableError, read_table


@dataclass(frozen=True)
class Observation:
    """A sign that can be seen, smelt or tried without an instrument.

    Attributes
    ----------
    id : str
        The name used in requests.
    name : str
        A short label for people.
    description : str
        How to recognise the sign.
    hints_at : str
        What the sign may mean, in words; the rules that use it are in the evidence table.
    opposite : str
        Id of the sign that is there where this one was looked for and not found, or empty.
    source, provenance, note : str
        Where the description comes from, and how sure that is.
    """

    id: str
    name: str
    description: str
    hints_at: str
    opposite: str
    source: str
    provenance: str
    note: str


class _ObservationSchema(SourcedSchema):
    id = ma.fields.String(required=True, validate=ma.validate.Regexp(r"^[a-z]+(_[a-z]+)*$"))
    name = ma.fields.String(required=True)
    description = ma.fields.String(required=True)
    hints_at = ma.fields.String(required=True)
    opposite = ma.fields.String(load_default="", allow_none=True)

    @ma.post_load
    def _make(self, row: dict[str, str | None], **_: object) -> Observation:
        return Observation(
            id=str(row["id"]),
            name=str(row["name"]),
            description=str(row["description"]),
            hints_at=str(row["hints_at"]),
            opposite=row["opposite"] or "",
            source=known_source(str(row["source"])),
            provenance=str(row["provenance"]),
            note=row["note"] or "",
        )


@cache
def observations() -> MappingProxyType[str, Observation]:
    """Return every known sign by id, in the order of the table.

    Raises
    ------
    TableError
        If an id stands twice, a source is unknown or two opposites do not name each other.
    """
    signs: dict[str, Observation] = {}
    for sign in read_table(DATA_DIR / "observations.csv", _ObservationSchema()):
        if sign.id in signs:
            raise TableError(f"observations.csv: {sign.id!r} stands twice")
        signs[sign.id] = sign
    for sign in signs.values():
        if sign.opposite and getattr(signs.get(sign.opposite), "opposite", "") != sign.id:
            raise TableError(f"observations.csv: {sign.id!r} is not the opposite of its opposite")
    return MappingProxyType(signs)
