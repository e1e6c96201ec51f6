"""Words that mean the same in what people write of a sign, in six languages.

A phrase becomes the set of what its words mean, so that "new leaves yellow, veins still green" and
"junge Blätter gelb, Adern grün" are one sign.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from typing import NamedTuple

from saltcalc.data.crop_names import LANGUAGES
from saltcalc.data.name_forms import plain, stem
from saltcalc.data.tables import TableError, check_cells, read_cells

NOT = "no"
"""What a denial means."""

_PLANTS = frozenset(("plant", "seedling"))
_MAY_STAND_BESIDE = _PLANTS | {"leaf", "surface", "grow", "medium", "under"}
"""What may be said besides a sign and changes nothing of it; beside a single word only plants."""


class TradeWord(NamedTuple):
    """Words of one set and language and what they mean.

    ``synonyms`` are parted by semicolons. ``means`` holds meanings parted by blanks; it is empty
    for words that may be left out.
    """

    of: str
    means: str
    language: str
    synonyms: str


@cache
def _words_of(of: str) -> tuple[Mapping[str, str], re.Pattern[str] | None]:
    """Return the meanings by word, and what finds the longest words first."""
    table, header = "trade_words.csv", TradeWord._fields
    rows = [TradeWord(*row) for row in read_cells(table, header)]
    check_cells(table, header, rows, {"language": LANGUAGES})
    found: dict[str, TradeWord] = {}
    for row in (each for each in rows if each.of == of):
        for word in map(plain, row.synonyms.split(";")):
            known = found.setdefault(word, row)
            if known.language == row.language and known.means != row.means:
                raise TableError(f"{table}: {word!r} means both {known.means} and {row.means}")
    if not found:
        return {}, None
    longest = sorted(found, key=len, reverse=True)
    words = re.compile(rf"\b(?:{'|'.join(map(re.escape, longest))})\b")
    return {word: row.means for word, row in found.items()}, words


def meanings(of: str, key: str) -> frozenset[str]:
    """Return what the words of a `plain` phrase mean; an unknown word means itself.

    Parameters
    ----------
    of : str
        The set of names that the phrase is of.
    key : str
        The phrase.

    Examples
    --------
    >>> sorted(meanings("observations", "young leaves chlorotic between the veins"))
    ['between_veins', 'leaf', 'yellow', 'young']
    """
    known, words = _words_of(of)
    if words is None:
        return frozenset()
    found = [each for word in words.findall(key) for each in known[word].split()]
    rest = words.sub(" ", key).split()
    return frozenset((*found, *(stem(word, "en") for word in rest)))


class Match(NamedTuple):
    """The member of a set that a phrase names, and whether it says that it is not so."""

    means: str
    denied: bool


def match_of(
    of: str, names: Iterable[tuple[str, str]], beside: Iterable[str]
) -> Callable[[str], Match | None]:
    """Return what finds the one member that a phrase means by its words.

    A name fits whose words the phrase has, with nothing else of a meaning; of several, those with
    the most words. Nothing may stand beside a denial.

    Parameters
    ----------
    of : str
        The set.
    names : iterable of (str, str)
        Known names, `plain`, each with the id of its member.
    beside : iterable of str
        Words that change nothing.
    """
    idle = frozenset(beside)
    known: dict[frozenset[str], set[str]] = {}
    for key, means in names:
        if told := meanings(of, key) - idle:
            known.setdefault(told, set()).add(means)

    def only(told: frozenset[str]) -> str | None:
        best = known.get(told, set())
        if not best:
            fits = [
                each
                for each in known
                if each <= told and told - each <= (_MAY_STAND_BESIDE if len(each) > 1 else _PLANTS)
            ]
            most = max(map(len, fits), default=0)
            best = {means for each in fits if len(each) == most for means in known[each]}
        return next(iter(best)) if len(best) == 1 else None

    def find(key: str) -> Match | None:
        told = meanings(of, key) - idle
        if means := only(told):
            return Match(means, denied=False)
        means = only(told - {NOT})
        return Match(means, denied=True) if means else None

    return find
