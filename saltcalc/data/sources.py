"""The bibliography: every source key that a table or an equation names, with its citation."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import marshmallow as ma

from saltcalc.data.tables import DATA_DIR, TableError, TableSchema, read_table


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
    note = ma.fields.String(load_default="", allow_none=True)

    @ma.post_load
    def _make(self, row: dict[str, str | None], **_: object) -> Source:
        return Source(
            key=str(row["key"]),
            citation=str(row["citation"]),
            kind=str(row["kind"]),
            note=row["note"] or "",
        )


@cache
def bibliography() -> dict[str, Source]:
    """Return all sources by key, from every file in ``data/sources``.

    Raises
    ------
    TableError
        If a key stands twice.
    """
    sources: dict[str, Source] = {}
    shelves = sorted((DATA_DIR / "sources").iterdir(), key=lambda shelf: shelf.name)
    for shelf in shelves:
        if not shelf.name.endswith(".csv"):
            continue
        for source in read_table(shelf, _SourceSchema()):
            if source.key in sources:
                raise TableError(f"{shelf.name}: source {source.key!r} stands twice")
            sources[source.key] = source
    return sources


def known_source(key: str) -> str:
    """Return ``key`` if the bibliography has it; for use as a check on table rows.

    Raises
    ------
    TableError
        If no source has this key.
    """
    if key not in bibliography():
        raise TableError(f"source {key!r} is not in the bibliography")
    return key
