"""Rows of a batch as a table: a heading a column, with its unit; and their answers as a table."""

from __future__ import annotations

import csv
import datetime
import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain
from typing import Any, NamedTuple

from werkzeug.exceptions import (
    BadRequest,
    RequestEntityTooLarge,
    UnprocessableEntity,
)

from saltcalc.message import Message
from saltcalc.notation import not_given
from saltcalc.service.forms import FormError, place_of, put
from saltcalc.service.sent_rows import Cell, Row
from saltcalc.words.catalogue import sentence, words

_HEADING = re.compile(r"\s*(?P<name>.*?)\s*(?:\[\s*(?P<unit>[^\]]*?)\s*\])?\s*")
_BOM = "\ufeff"
_MARKS = (";", "\t", ",")
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""How a cell begins that a spreadsheet may take for a formula."""


class _Column(NamedTuple):
    """A column that was sent."""

    heading: str
    path: tuple[str, ...]
    unit: str
    form: str


class Table(NamedTuple):
    """A table as it comes in.

    Attributes
    ----------
    mark : str
        What parts its cells.
    begins_with_bom : bool
        Whether a byte-order mark comes before it, as spreadsheets want it.
    rows : iterator of Row
        Its rows after the headings.
    """

    mark: str
    begins_with_bom: bool
    rows: Iterator[Row]


def table_in(lines: Iterable[bytes | None]) -> Table:
    """Read the headings of a table, and make ready to read its rows.

    Raises
    ------
    werkzeug.exceptions.HTTPException
        If there are no headings, or one of them is not known.
    """
    texts = _texts(lines)
    first = next(texts, "")
    bom = first.startswith(_BOM)
    first = first.removeprefix(_BOM)
    at, told = 1, re.fullmatch(r"\s*\"?sep=([^\"\w])\"?\s*", first, re.IGNORECASE)
    if told:
        at, first = 2, next(texts, "")
    if not first.strip():
        raise BadRequest(sentence("table.no_headings"))
    mark = told[1] if told else max(_MARKS, key=first.count)
    records = records_in(chain([first], texts), mark, at)
    columns = _columns(next(records)[1])
    rows = (_row(number, cells, columns) for number, cells in records if any(map(str.strip, cells)))
    return Table(mark, bom, rows)


def records_in(texts: Iterable[str], mark: str, first: int = 1) -> Iterator[tuple[int, list[str]]]:
    """Yield the rows of a table with their numbers, each as its cells.

    Parameters
    ----------
    texts : iterable of str
        Its lines; a cell in quotes may go over several.
    mark : str
        What parts its cells.
    first : int
        Number of the first row.

    Raises
    ------
    werkzeug.exceptions.BadRequest
        Where it cannot be read on.
    """
    number = first
    try:
        for cells in csv.reader(texts, delimiter=mark):
            yield number, cells
            number += 1
    except csv.Error as error:
        raise BadRequest(sentence("table.broken", row=number)) from error


def rows_under(headed: Sequence[str], records: Iterable[Sequence[Any]]) -> Iterator[Row]:
    """Return the rows of records that are no text, such as those of a data frame.

    Parameters
    ----------
    headed : sequence of str
        Heading of each column.
    records : iterable of sequence
        Numbers, texts, days; None, NaN and blanks are none.

    Raises
    ------
    werkzeug.exceptions.HTTPException
        If a heading is not known.
    """
    columns = _columns(headed)
    return (
        _row(number, [_as_text(each) for each in record], columns)
        for number, record in enumerate(records, start=1)
    )


def _as_text(value: Any) -> str:
    if value is None or value != value:  # noqa: PLR0124 - NaN, also of another library
        return ""
    if isinstance(value, float):
        return f"{value:.15g}"
    return value.date().isoformat() if isinstance(value, datetime.datetime) else str(value)


def _texts(lines: Iterable[bytes | None]) -> Iterator[str]:
    for line in lines:
        if line is None:
            raise RequestEntityTooLarge
        if b"\0" in line:
            raise BadRequest(sentence("body.charset", charset="utf-16"))
        try:
            text = line.decode()
        except UnicodeDecodeError:
            text = line.decode("cp1252", errors="replace")
        # A spreadsheet may end its lines as the first Macintosh did.
        yield from (f"{each}\n" for each in text.rstrip("\r").split("\r"))


def _columns(headings: Sequence[str]) -> list[_Column | None]:
    columns: list[_Column | None] = []
    faults, seen = [], set()
    accepted: Message | str = ""
    for heading in headings:
        told = _HEADING.fullmatch(heading)
        if not heading.strip() or told is None:
            columns.append(None)
            continue
        try:
            path, form = place_of(told["name"])
        except FormError as error:
            accepted = error.message.told.get("accepted") or accepted
            alone = {**error.message.told, "accepted": ""}
            faults.append(words().tell(error.message.id, **alone))
            continue
        if path in seen and not {"containers", "crops", "thriving_crops"} & {*path}:
            faults.append(sentence("table.column_twice", heading=heading.strip()[:80]))
        seen.add(path)
        columns.append(_Column(heading.strip(), path, told["unit"] or "", form))
    if faults:
        more = words().say(accepted) if accepted else ""
        told_of = " ".join(faults[:20]) + more
        raise UnprocessableEntity(sentence("table.headings", faults=told_of))
    if not any(columns):
        raise BadRequest(sentence("table.no_headings"))
    return columns


def _row(number: int, cells: Sequence[str], columns: Sequence[_Column | None]) -> Row:
    request: dict[str, Any] = {}
    origins: dict[str, Cell] = {}
    for place, cell in enumerate(cells):
        if not cell.strip():
            continue
        column = columns[place] if place < len(columns) else None
        if column is None:
            fault = BadRequest(
                sentence("table.cell_without_heading", place=place + 1, cell=cell[:80])
            )
            return Row(number, request, fault)
        given = value = cell.strip()
        if not not_given(given):
            value = " ".join(filter(None, (given, column.unit, column.form)))
        origins[put(request, column.path, value)] = Cell(column.heading, given)
    return Row(number, request, None, origins)


def cells_of(answer: Mapping[str, Any], columns: Sequence[str], comma: bool) -> list[str]:
    """Return the cells of the answer to one row; none begins as a formula does.

    Parameters
    ----------
    answer : mapping
        In its short form, or with a problem; the number of the row first.
    columns : sequence of str
        Headings of the cells.
    comma : bool
        Whether figures take a decimal comma.
    """
    told = {**answer}
    if "problem" in answer:
        told["problem"] = problem_in_words(answer)
    return [_cell(told.get(each), comma) for each in columns]


def written(rows: Iterable[Sequence[str]], mark: str) -> bytes:
    """Return rows of cells as CSV (RFC 4180)."""
    text = io.StringIO()
    csv.writer(text, delimiter=mark).writerows(rows)
    return text.getvalue().encode()


def _cell(value: Any, comma: bool) -> str:
    if value is None:
        return ""
    if isinstance(value, int | float):
        return str(value).replace(".", ",") if comma else str(value)
    return f"'{value}" if value.startswith(_FORMULA) else str(value)


def problem_in_words(answer: Mapping[str, Any]) -> str:
    """Say in one cell what is wrong with a row, with the columns it is wrong in."""
    problem, (place, number) = answer["problem"], next(iter(answer.items()))
    faults = [
        f"{each.get('column', each['pointer'])}{_given(each)}: {each['detail']}"
        for each in problem.get("errors", ())
    ]
    told = " ".join(faults or [problem.get("detail", problem["title"])])
    return f"{place} {number}: {told}" if number else told


def _given(fault: Mapping[str, Any]) -> str:
    return f" = {fault['value']}" if fault.get("value") else ""
