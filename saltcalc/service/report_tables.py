"""The lines of a laboratory's report as they are read: wrapped ones joined, tables set upright."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence

from saltcalc.data.name_forms import plain
from saltcalc.data.report_names import found_in
from saltcalc.service.report_lines import Line, line_of

_LEAST_NAMES = 2
_LONGEST_SYMBOL = 4
_MOST_BROKEN = 4
"""Lines that one name may be broken over."""

_MOST_ACROSS = 3
"""Lines of a table across the page: names, units, figures."""

_SIGN_APART = re.compile(r"([<>≤≥]=?)\s+(?=\d)")
_NONE = frozenset({"", "-", "–", "—"})


def upright(text: str) -> Iterator[Line]:
    r"""Return the lines of a report with one figure each.

    A line that breaks off within a name is joined to the next one. In a table that runs across
    the page, names above and figures below, each figure is written behind its name.

    Examples
    --------
    >>> [line.text for line in upright("EC   pH\nmS/cm\nResult 1,2   5,6")]
    ['EC\t1,2\tmS/cm', 'pH\t5,6\tmS/cm']
    """
    lines = [*_joined(text.splitlines())]
    place = 0
    while place < len(lines):
        found = _across(lines[place : place + _MOST_ACROSS])
        if found is None:
            yield lines[place][0]
            place += 1
            continue
        names, units, used, figures = found
        number = lines[place + used - 1][0].number
        for name, figure, unit in zip(names, figures, units, strict=True):
            if figure not in _NONE:
                yield line_of(number, "\t".join(filter(None, (name, figure, unit))))
        place += used


def _joined(lines: Sequence[str]) -> Iterator[tuple[Line, str]]:
    """Yield the lines taken apart and as written, those joined that a name was broken over."""
    before, parts = "", 1
    for number, written in enumerate(lines, start=1):
        text = before + written.lstrip() if before else written
        line = line_of(number, text)
        following = lines[number].lstrip() if number < len(lines) else ""
        before, parts = "", parts + 1 if before else 1
        may_go_on = following and not line.figures and parts < _MOST_BROKEN
        if may_go_on and _breaks_off(text, following):
            before = text.rstrip() + ("" if text.rstrip().endswith("-") else " ")
            continue
        yield line, text


def _breaks_off(text: str, following: str) -> bool:
    """Tell whether a line without a figure ends within a name that the next one goes on with."""
    if text.count("(") > text.count(")") or text.rstrip().endswith("-"):
        return bool(re.search(r"\w", text)) and ":" not in text
    figures, rest = found_in(tuple(plain(text).split()), "figure")
    sections, rest = found_in(rest, "section")
    sections = [row for row in sections if not row.means.startswith("of_")]
    if rest or len(figures) + len(sections) != 1 or not re.match(r"[a-z(]", following):
        return False
    return bool(line_of(0, following).figures)


def _across(
    lines: Sequence[tuple[Line, str]],
) -> tuple[Sequence[str], Sequence[str], int, Sequence[str]] | None:
    """Return the names, the units, the lines used and the figures of a table across the page."""
    if len(lines) < 2 or (heading := _names(lines[0][0])) is None:
        return None
    names, by_mark = heading
    units: Sequence[str] = [""] * len(names)
    used = 1
    second = lines[1][0]
    if not second.figures and second.units and not found_in(second.before, "figure")[0]:
        row = _row(lines[1][1], by_mark)
        if len(row) == len(names):
            units = row
        elif len(second.units) == 1:
            units = [second.text] * len(names)
        used = 2
    if len(lines) <= used:
        return None
    text = lines[used][1]
    figures = _row(text, by_mark)
    label = [] if by_mark else figures[: len(figures) - len(names)]
    words = tuple(plain(" ".join(label)).split())
    found, rest = found_in(words, "column")
    if len(figures) - len(label) != len(names) or (label and (rest or found[0].means != "result")):
        return None
    figures = figures[len(label) :]
    if not by_mark and not all(each in _NONE or re.match(r"[<>≤≥]?=?\d", each) for each in figures):
        return None
    return names, units, used + 1, figures


def _names(line: Line) -> tuple[Sequence[str], bool] | None:
    """Return the names that a heading lines up, and whether marks part them."""
    if line.figures or line.dates:
        return None
    names = _row(line.text, line.by_mark)
    known = [_is_name(each) for each in names]
    if known.count("figure") < _LEAST_NAMES or sum(map(bool, known)) * 4 < len(names) * 3:
        return None
    if not line.by_mark and max(len(each) for each in names) > _LONGEST_SYMBOL and not all(known):
        return None
    return names, line.by_mark


def _is_name(cell: str) -> str:
    """Return what a cell names as a whole: a figure, a label, or an empty text."""
    words = line_of(0, cell).before
    figures, rest = found_in(words, "figure")
    if figures and not found_in(rest, "beside")[1] and len({row.means for row in figures}) == 1:
        return "figure"
    labels, rest = found_in(words, "label")
    return "label" if labels and not rest else ""


def _row(text: str, by_mark: bool) -> list[str]:
    """Return the cells of a row; where only blanks part them, each word is one."""
    if not by_mark:
        return _SIGN_APART.sub(r"\1", text).split()
    mark = next(each for each in "\t;|," if each in text)
    return [cell.strip() for cell in next(csv.reader([text.strip("|")], delimiter=mark))]
