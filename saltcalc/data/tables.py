"""Read a CSV table of published figures and check every row before anything uses it.

A row is declared once, as a dataclass on :class:`Row`: each field is a column, its type says what
a cell holds, and :func:`column` adds what is checked of it.
"""

from __future__ import annotations

import csv
import hashlib
import io
import re
from collections.abc import Callable, Collection, Hashable, Iterable, Mapping, Sequence
from dataclasses import MISSING, dataclass, field, fields
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from types import MappingProxyType, NoneType
from typing import Any, Literal, TypeVar, cast, get_args, get_origin, get_type_hints

import marshmallow as ma

DATA_DIR: Path | Traversable = files("saltcalc.data")
"""Where the tables are. Another folder may be put here before the first of them is read."""

Provenance = Literal[
    "seen", "seen_in_copy", "computed", "own_trial", "common_practice", "judgement", "memory"
]
"""How the figures of a row are known, the best first.

``seen`` was read in the source itself, ``seen_in_copy`` in a copy or quotation of it; ``computed``
was worked out here from figures of the source; ``own_trial`` is of the grower;
``common_practice`` is of the trade, without a source; ``judgement`` is this project's own;
``memory`` was published, and not looked up.
"""
PROVENANCES: tuple[str, ...] = get_args(Provenance)

_FIELDS: Mapping[Any, type[ma.fields.Field[Any]]] = {
    str: ma.fields.String,
    int: ma.fields.Integer,
    float: ma.fields.Float,
    bool: ma.fields.Boolean,
}
_ENDS = ("", "_low", "_high")


def checksum(beside: bytes = b"") -> str:
    """Return the SHA-256 of every table, by its path, and of what is beside them.

    Examples
    --------
    >>> len(checksum())
    64
    """
    found = hashlib.sha256(beside)
    for folder in (DATA_DIR, DATA_DIR / "sources"):
        tables = (each for each in folder.iterdir() if each.name.endswith(".csv"))
        for each in sorted(tables, key=lambda table: table.name):
            found.update(each.name.encode())
            found.update(each.read_bytes())
    return found.hexdigest()


def weakest(provenances: Iterable[str]) -> str:
    """Return the weakest of several provenances; ``seen`` where there are none."""
    return max(provenances, key=PROVENANCES.index, default=PROVENANCES[0])


class TableError(ValueError):
    """A table that cannot be trusted: an unreadable row, an unknown source, a duplicate key."""


@dataclass(frozen=True)
class Row:
    """One row of a table."""

    def check(self) -> None:
        """Compare the columns with each other.

        Raises
        ------
        marshmallow.ValidationError
            Saying what does not fit, and of which column where it is one.
        """


@dataclass(frozen=True)
class Uncertain:
    """A figure with its 80 % interval; in a table the columns ``x``, ``x_low`` and ``x_high``."""

    value: float
    low: float
    high: float


RowKind = TypeVar("RowKind", bound=Row)
Record = TypeVar("Record")
Key = TypeVar("Key", bound=Hashable)


def column(default: Any = MISSING, **options: Any) -> Any:
    """Declare a column of a row.

    Parameters
    ----------
    default : optional
        What an empty cell means. Without it the cell must be filled.
    **options
        Of the marshmallow field, for example ``validate`` or ``data_key`` (the header where it is
        not the name of the field); and ``read``, a function that makes the value of the text.
    """
    return field(default=default, metadata=options)


def words(separator: str | None = None) -> Callable[[str], tuple[str, ...]]:
    """Return what reads a cell of several words."""
    return lambda text: tuple(word.strip() for word in text.split(separator) if word.strip())


class RowSchema(ma.Schema):
    """The schema of a row, and which of its fields are intervals of three columns."""

    intervals: tuple[str, ...] = ()

    class Meta:
        unknown = ma.RAISE


def schema_of(row: type[Row]) -> RowSchema:
    """Derive the schema of a row from the dataclass that declares it."""
    columns: dict[str, ma.fields.Field[Any]] = {}
    types = get_type_hints(row)
    for each in fields(row):
        kind, options = types[each.name], dict(each.metadata)
        if each.default is MISSING:
            options["required"] = True
        else:
            options["load_default"] = each.default
        if kind is Uncertain:
            columns |= {each.name + end: _field(float, options) for end in _ENDS}
        else:
            columns[each.name] = _field(kind, options)
    schema = cast(RowSchema, RowSchema.from_dict(columns)())
    schema.intervals = tuple(name for name, kind in types.items() if kind is Uncertain)
    return schema


def _field(kind: Any, options: Mapping[str, Any]) -> ma.fields.Field[Any]:
    options = dict(options)
    if read := options.pop("read", None):
        return ma.fields.Function(deserialize=read, **options)
    if NoneType in get_args(kind):
        (kind,) = (each for each in get_args(kind) if each is not NoneType)
    if get_origin(kind) is Literal:
        options["validate"] = ma.validate.OneOf([each for each in get_args(kind) if each])
        kind = str
    return _FIELDS[kind](**options)


def read_table(
    table: str | Path | Traversable,
    row: type[RowKind],
    also: Callable[[RowKind], None] = lambda _: None,
) -> tuple[RowKind, ...]:
    """Read a CSV table, row by row, into records.

    An empty cell counts as left out: it says that the source gives no figure, never zero.

    Parameters
    ----------
    table : str or path
        A UTF-8 CSV file with one header row; the name alone of one in `DATA_DIR`.
    row : type
        The dataclass that declares its columns.
    also : callable, optional
        What else is checked of each record, as by :meth:`Row.check`.

    Raises
    ------
    TableError
        Naming the file, the line and the column of the first row that does not fit.
    """
    file = DATA_DIR / table if isinstance(table, str) else table
    text = _text_of(file)
    mark = _mark_between_cells(text)
    reader = csv.DictReader(io.StringIO(text), delimiter=mark, strict=True)
    schema, records = schema_of(row), []
    once: dict[str, str] = {}  # many cells are in many rows
    for cells in reader:
        if not any(text.strip() for each in cells.values() for text in (each or ())):
            continue
        if None in cells or None in cells.values():
            raise TableError(
                f"{file.name}, line {reader.line_num}: {_count_of_cells(cells)} cells, where the "
                f"header has {len(reader.fieldnames or ())}: wrong number of cells"
            )
        try:
            columns = schema.load(
                {
                    name.strip(): once.setdefault(
                        filled, filled if mark == "," else _with_point(filled)
                    )
                    for name, text in cells.items()
                    if (filled := text.strip())
                }
            )
            for name in schema.intervals:
                columns[name] = _interval(columns, name)
            record = row(**columns)
            record.check()
            also(record)
        except ma.ValidationError as error:
            raise TableError(f"{file.name}, line {reader.line_num}, {_faults(error)}") from error
        records.append(record)
    return tuple(records)


def _text_of(file: Path | Traversable) -> str:
    """Return the text of a table; a spreadsheet may mark it as UTF-8, or write Windows-1252."""
    sent = file.read_bytes()
    if b"\x00" in sent:
        raise TableError(f"{file.name}: no text; save it as CSV")
    try:
        return sent.decode("utf-8-sig")
    except UnicodeDecodeError:
        return sent.decode("cp1252")


def _mark_between_cells(text: str) -> str:
    """Return what parts the cells: the mark that the header has most of."""
    header = text.partition("\n")[0]
    return max(",;\t", key=header.count)


def _with_point(cell: str) -> str:
    """Return a number with a point, where commas are not between the cells."""
    return re.sub(r"^([-+]?\d*),(\d+)$", r"\1.\2", cell)


def _count_of_cells(cells: Mapping[str | None, Any]) -> int:
    known = sum(text is not None for name, text in cells.items() if name is not None)
    return known + len(cells.get(None) or ())


def _interval(columns: dict[str, float], name: str) -> Uncertain:
    figure = Uncertain(*(columns.pop(name + end) for end in _ENDS))
    if not figure.low < figure.value < figure.high:
        raise ma.ValidationError("the value lies outside its interval", name)
    return figure


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

    Raises
    ------
    TableError
        Naming the table, if two records have one key.
    """
    found: dict[Key, Record] = {}
    for record in records:
        if found.setdefault(key(record), record) is not record:
            raise TableError(f"{name}: {key(record)!r} occurs twice")
    return MappingProxyType(found)


def read_keyed(
    name: str, row: type[RowKind], key: Callable[[RowKind], Key]
) -> Mapping[Key, RowKind]:
    """Read a table into records by key, in the order of the table.

    Raises
    ------
    TableError
        As :func:`read_table`, or if two rows have one key.
    """
    return keyed(name, read_table(name, row), key)


def read_complete(
    name: str,
    row: type[RowKind],
    key: Callable[[RowKind], Key],
    keys: Iterable[Key],
    called: str,
) -> Mapping[Key, RowKind]:
    """Read a table that must have one row for each of some keys, and none besides.

    Raises
    ------
    TableError
        As :func:`read_keyed`, or if a key is missing or unknown; `called` says what the keys are.
    """
    table = read_keyed(name, row, key)
    if set(table) != set(keys):
        raise TableError(f"{name}: every {called} must stand once")
    return table


def read_cells(table: str, header: Sequence[str]) -> list[list[str]]:
    """Read a table of `DATA_DIR` cell by cell: a schema takes too long over thousands of rows.

    Raises
    ------
    TableError
        If the columns are others, or a row has too few or too many cells.
    """
    text = (DATA_DIR / table).read_text(encoding="utf-8")
    found, *rows = csv.reader(io.StringIO(text), strict=True)
    if found != list(header):
        raise TableError(f"{table}: the columns are not {', '.join(header)}")
    for line, row in enumerate(rows, start=2):
        if len(row) != len(header):
            raise TableError(f"{table}, line {line}: wrong number of cells")
    once: dict[str, str] = {}
    return [[once.setdefault(cell, cell) for cell in row] for row in rows]


def check_cells(
    table: str,
    header: Sequence[str],
    rows: Sequence[Sequence[str]],
    choices: Mapping[str, Collection[str]],
) -> None:
    """Refuse a cell that is none of the choices for its column.

    Raises
    ------
    TableError
        Naming the line and the column.
    """
    for column, known in choices.items():
        place = header.index(column)
        if unknown := {row[place] for row in rows} - {*known}:
            line, cell = next(
                (line, row[place]) for line, row in enumerate(rows, 2) if row[place] in unknown
            )
            raise TableError(f"{table}, line {line}, column {column}: {cell!r} is not known")
