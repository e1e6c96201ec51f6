"""Read a CSV table of published figures and check every row before anything uses it."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Hashable, Iterable, Mapping
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar, cast

import marshmallow as ma

DATA_DIR = files("saltcalc.data")

Record = TypeVar("Record")
Key = TypeVar("Key", bound=Hashable)


class TableError(ValueError):
    """A table that cannot be trusted: an unreadable row, an unknown source, a duplicate key."""


class TableSchema(ma.Schema):
    """One row of a table. An empty cell means that the source gives no figure, never zero.

    It counts as left out, so that the default of its column stands for it.
    """

    class Meta:
        unknown = ma.RAISE

    @ma.pre_load
    def _empty_is_missing(self, row: Mapping[str, str], **_: Any) -> dict[str, str]:
        return {column: filled for column, text in row.items() if (filled := text.strip())}


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
            raise TableError(f"{table.name}, line {reader.line_num}, {_faults(error)}") from error
    return rows


def _faults(error: ma.ValidationError) -> str:
    """Say what is wrong in which column."""
    columns = cast(dict[str, list[str]], error.normalized_messages())  # type: ignore[no-untyped-call]
    return "; ".join(
        f"column {column}: {' '.join(messages)}" if column != "_schema" else " ".join(messages)
        for column, messages in columns.items()
    )


def keyed(
    name: str, records: Iterable[Record], key: Callable[[Record], Key]
) -> Mapping[Key, Record]:
    """Return records by key, in their order.

    Parameters
    ----------
    name : str
        Of the table, for the error.
    records : iterable
        What its rows became.
    key : callable
        What each is known by.

    Raises
    ------
    TableError
        If two records have one key.
    """
    found: dict[Key, Record] = {}
    for record in records:
        if found.setdefault(key(record), record) is not record:
            raise TableError(f"{name}: {key(record)!r} stands twice")
    return MappingProxyType(found)


def read_records(name: str, schema: TableSchema, make: Callable[..., Record]) -> tuple[Record, ...]:
    """Read a table of this package and make a record of the columns of each row.

    Parameters
    ----------
    name : str
        Of the CSV file.
    schema : TableSchema
        The schema of one row.
    make : callable
        Takes the columns by name.

    Raises
    ------
    TableError
        As :func:`read_table`.
    """
    return tuple(make(**row) for row in read_table(DATA_DIR / name, schema))


def read_keyed(
    name: str,
    schema: TableSchema,
    make: Callable[..., Record],
    key: Callable[[Record], Key],
) -> Mapping[Key, Record]:
    """Read a table of this package into records by key, in the order of the table.

    Parameters
    ----------
    name, schema, make
        As :func:`read_records`.
    key : callable
        What each record is known by.

    Raises
    ------
    TableError
        As :func:`read_table`, or if two rows have one key.
    """
    return keyed(name, read_records(name, schema, make), key)
