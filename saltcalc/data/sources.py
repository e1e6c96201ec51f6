"""The bibliography, and the columns of every row that names a source of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

import marshmallow as ma

from saltcalc.data import tables
from saltcalc.data.tables import Provenance, Row, column, keyed, read_table


@dataclass(frozen=True, kw_only=True)
class Source(Row):
    """A published source, or the plain statement that a rule has none."""

    key: str = column(validate=ma.validate.Regexp(r"^[a-z0-9]+(_[a-z0-9]+)*$"))
    citation: str
    kind: str = column(
        validate=ma.validate.OneOf(["published", "common_practice", "judgement", "computed"])
    )
    note_id: str = ""
    """Id of what answers note of it; empty for nothing."""


_WITHOUT_SOURCE = ("own_trial", "common_practice", "judgement")


@cache
def bibliography() -> Mapping[str, Source]:
    """Return all sources by key, from every file in ``data/sources``.

    Raises
    ------
    TableError
        If a key occurs twice.
    """
    found = sorted((tables.DATA_DIR / "sources").iterdir(), key=lambda file: file.name)
    rows = (read_table(file, Source) for file in found if file.name.endswith(".csv"))
    return keyed("sources", (row for file in rows for row in file), lambda source: source.key)


def _in_bibliography(key: str) -> None:
    if key not in bibliography():
        raise ma.ValidationError(f"source {key!r} is not in the bibliography")


def source_column(**options: Any) -> Any:
    """Declare a column of keys of the bibliography."""
    return column(validate=_in_bibliography, **options)


@dataclass(frozen=True, kw_only=True)
class Sourced(Row):
    """A row of published figures: a source key, how its figures are known, a remark."""

    source: str = source_column()
    provenance: Provenance
    note: str = ""
    """For those who keep the table; no answer shows it."""

    def __post_init__(self) -> None:
        """Refuse what contradicts the kind of the source: a judgement is never called published."""
        known = bibliography().get(self.source)
        if known is None:
            return
        published = known.kind == "published"
        if self.provenance in _WITHOUT_SOURCE if published else self.provenance != known.kind:
            fault = f"{self.provenance!r} does not fit a source of kind {known.kind!r}"
            raise ma.ValidationError(fault, "provenance")


@dataclass(frozen=True, kw_only=True)
class Noted(Sourced):
    """A row of published figures with a note that answers show."""

    note_id: str = ""
    """Id of the sentence in the catalogue of the table; empty for none."""
