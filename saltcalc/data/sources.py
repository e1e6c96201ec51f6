"""The bibliography, and the schema of a row that names a source of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import marshmallow as ma

from saltcalc.data.tables import DATA_DIR, TableSchema, keyed, read_table


@dataclass(frozen=True)
class Source:
    """A published source, or the plain statement that a rule has none."""

    key: str
    citation: str
    kind: str
    note: str


class _SourceSchema(TableSchema):
    key = ma.fields.String(required=True, validate=ma.validate.Regexp(r"^[a-z0-9]+(-[a-z0-9]+)*$"))
    citation = ma.fields.String(required=True)
    kind = ma.fields.String(
        required=True,
        validate=ma.validate.OneOf(["published", "common-practice", "judgement", "computed"]),
    )
    note = ma.fields.String(load_default="")


@cache
def bibliography() -> Mapping[str, Source]:
    """Return all sources by key, from every file in ``data/sources``.

    Raises
    ------
    TableError
        If a key stands twice.
    """
    shelves = sorted((DATA_DIR / "sources").iterdir(), key=lambda shelf: shelf.name)
    return keyed(
        "sources",
        (
            Source(**row)
            for shelf in shelves
            if shelf.name.endswith(".csv")
            for row in read_table(shelf, _SourceSchema())
        ),
        lambda source: source.key,
    )


def _in_bibliography(key: str) -> None:
    if key not in bibliography():
        raise ma.ValidationError(f"source {key!r} is not in the bibliography")


def source_key() -> ma.fields.String:
    """Return a column of keys of the bibliography."""
    return ma.fields.String(required=True, validate=_in_bibliography)


class SourcedSchema(TableSchema):
    """A row of published figures: a source key, and whether the figure was read or remembered."""

    source = source_key()
    provenance = ma.fields.String(
        required=True, validate=ma.validate.OneOf(["seen", "memory", "common-practice"])
    )
    note = ma.fields.String(load_default="")
