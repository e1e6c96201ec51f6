"""What laboratories print beside their figures, in six languages: one look-up by whole words."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from functools import cache
from typing import NamedTuple

from saltcalc.data.crop_names import LANGUAGES
from saltcalc.data.name_forms import plain
from saltcalc.data.sources import bibliography
from saltcalc.data.tables import PROVENANCES, check_cells, read_cells

ASK_FORM = "?"
"""The form of a name that leaves open what its milligrams are milligrams of."""

_KINDS = (
    *("figure", "label", "column", "beside", "section", "by_weight"),
    *("extractant", "owner", "method"),
)


class ReportName(NamedTuple):
    """One name that a report prints.

    ``of`` is what it names: the figure or the label of a field (``means`` is where the field
    is in a request), a column, an owner of figures (what drains has no field), a method of
    extraction, another extractant, a word beside a name (``available``: of a soil as a whole), a
    word that makes a ratio one by ``weight`` or is of ``soil``, whose ratios mostly are, or what
    the figures below a heading are of: ``other`` than the extract (``alone``: where nothing else is
    in the heading), the ``extract`` again, and what a litre or a ratio counts: ``of_medium``,
    ``of_extract``, ``of_soil``. ``form`` is the chemical form that its milligrams are counted in,
    where the name says it; with ``?`` behind it, unless another name beside it says another.
    """

    of: str
    means: str
    name: str
    language: str
    form: str
    source: str
    provenance: str


@cache
def report_names() -> Mapping[str, Mapping[str, tuple[ReportName, ...]]]:
    """Return the names by what they name and by how they are compared.

    Raises
    ------
    TableError
        If a row does not fit.

    Examples
    --------
    >>> [row.form for row in report_names()["figure"]["azote nitrique"]]
    ['N']
    """
    table, header = "report_names.csv", ReportName._fields
    rows = read_cells(table, header)
    known = {
        "of": _KINDS,
        "language": LANGUAGES,
        "source": bibliography(),
        "provenance": PROVENANCES,
    }
    check_cells(table, header, rows, known)
    found: dict[str, dict[str, list[ReportName]]] = {each: defaultdict(list) for each in _KINDS}
    for row in map(ReportName._make, rows):
        found[row.of][plain(row.name)].append(row)
    return {of: {key: tuple(named) for key, named in each.items()} for of, each in found.items()}


@cache
def _longest(of: str) -> int:
    """Return the number of words of the longest name of a kind."""
    return max(len(key.split()) for key in report_names()[of])


def found_in(words: tuple[str, ...], of: str) -> tuple[list[ReportName], tuple[str, ...]]:
    """Return the names of a kind in plain words, the longest first, and the words left over."""
    names = report_names()[of]
    longest = _longest(of)
    found: list[ReportName] = []
    left: list[str] = []
    place = 0
    while place < len(words):
        for count in range(min(longest, len(words) - place), 0, -1):
            if named := names.get(" ".join(words[place : place + count])):
                found.append(named[0])
                place += count
                break
        else:
            left.append(words[place])
            place += 1
    return found, tuple(left)
