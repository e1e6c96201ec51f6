"""Read a CSV table of published figures and check every row before anything uses it."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

import marshmallow as ma

DATA_DIR = files("saltcalc.data")


class TableError(ValueError):
    """A table that cannot be trusted: an unreadable row, an unknown source, a duplicate key."""


class TableSchema(ma.Schema):
    """One row of a table. An empty cell means that the source gives no figure, never zero."""

    class Meta:
        unknown = ma.RAISE

    @ma.pre_load
    def _empty_is_missing(self, row: Mapping[str, str], **_: Any) -> dict[str, str | None]:
        return {column: (text.strip() or None) for column, text in row.items()}


class SourcedSchema(TableSchema):
    """A row of published figures: a source key, and whether the figure was read or remembered."""

    source = ma.fields.String(required=True)
    provenance = ma.fields.String(
        required=True, validate=ma.validate.OneOf(["seen", "memory", "common-practice"])
    )
    note = ma.fields.String(load_default="", allow_none=True)


def read_table(table: Path | Traversable, schema: TableSchema) -> list[Any]:
    """Read a CSV table row by row through its schema.

    Parameters
    ----------
    table : path
        A UTF-8 CSV file with one header row.
    schema : TableSchema
        The schema of one row.

    Returns
    -------
    list
        What the schema makes of each row, in file order.

    Raises
    ------
    TableError
        Naming the file, the line and the column of the first row that does not fit.
    """
    reader = csv.DictReader(io.StringIO(table.read_text(encoding="utf-8")), strict=True)
    rows = []
    for row in reader:
        if None in row or None in row.values():
            raise TableError(f"{table.name}, line {reader.line_num}: wrong number of cells")
        try:
            rows.append(schema.load(row))
        except ma.ValidationError as error:
            raise TableError(f"{table.name}, line {reader.line_num}: {error.messages}") from error
    return rows
