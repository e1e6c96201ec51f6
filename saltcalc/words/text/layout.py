"""The short words as lines of plain text, or as Markdown."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator, Sequence

from saltcalc.words.text.short import Sheet

WIDTH = 100
_LABELS = 12
"""Least width of the labels."""
_JOINED = "\u00a0"
_BEFORE_UNIT = re.compile(
    r"(?<=\d) (?=(?:%|°[CF]|[A-Za-zµ]+/[A-Za-z³]+|L|mL|gal|cm|mm|in|g|mg)\b|%)"
)


def wrapped(text: str, width: int, indent: str = "", first: str = "") -> list[str]:
    """Return a text in lines that part no figure from its unit."""
    joined = _BEFORE_UNIT.sub(_JOINED, text)
    lines = textwrap.wrap(
        joined, width, initial_indent=first, subsequent_indent=indent, break_on_hyphens=False
    )
    return [line.replace(_JOINED, " ") for line in lines]


def columns(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Yield the rows of a table as lines, each column as wide as its widest cell."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        cells = (f"{cell:{width}}" for cell, width in zip(row, widths, strict=True))
        yield "  ".join(cells).rstrip()


def as_text(sheet: Sheet) -> str:
    """Return a sheet as lines of at most :data:`WIDTH` characters.

    Parameters
    ----------
    sheet : Sheet
        As :func:`saltcalc.words.text.short` gives it.
    """
    first, *others = sheet.parts
    lines = [line for said in first.said for line in wrapped(said, WIDTH)]
    if sheet.results or sheet.others:
        lines += ["", *_table(sheet), ""]
    beside = max([_LABELS, *(len(part.label) + 2 for part in others)])
    for part in others:
        lines += _labelled(part.label, part.said, beside)
    return "\n".join([*lines, sheet.trace])


def as_markdown(sheet: Sheet) -> str:
    """Return a sheet as Markdown, with the results as a table."""
    first, *others = sheet.parts
    blocks = [f"**{' '.join(first.said)}**"]
    if sheet.results:
        heads = sheet.headings.cells
        rows = [heads, ["---"] * len(heads), *(each.cells for each in sheet.results)]
        cells = ([cell.replace("|", "\\|") for cell in row] for row in rows)
        blocks.append("\n".join(f"| {' | '.join(row)} |" for row in cells))
    blocks += sheet.others
    for part in others:
        blocks.append("\n".join([f"## {part.label}", "", *(f"- {said}" for said in part.said)]))
    return "\n\n".join([*blocks, sheet.trace]) + "\n"


def _labelled(label: str, said: list[str], beside: int) -> Iterator[str]:
    """Yield what is said in a column beside its label."""
    for each in said:
        lines = wrapped(each, WIDTH - beside)
        yield f"{label:{beside}}{lines[0]}".rstrip()
        yield from (" " * beside + line for line in lines[1:])
        label = ""


def _table(sheet: Sheet) -> Iterator[str]:
    """Yield the results in columns, and all others below them."""
    if sheet.results:
        yield from columns([each.cells for each in (sheet.headings, *sheet.results)])
    for said in sheet.others:
        yield from wrapped(said, WIDTH, "  ")
