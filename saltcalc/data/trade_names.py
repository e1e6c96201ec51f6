"""What the trade calls methods, media, signs and stages: one look-up for every closed set."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import NamedTuple

from rapidfuzz import fuzz

from saltcalc.data.crop_names import LANGUAGES
from saltcalc.data.name_forms import plain, stem
from saltcalc.data.sources import bibliography
from saltcalc.data.tables import PROVENANCES, check_cells, read_cells
from saltcalc.data.trade_words import match_of
from saltcalc.message import Message, say

MOST_NEAR = 3
_LEAST_LIKE = 45.0
_SURE_SLIP = 92.0  # likeness from which a name with a slip leaves no doubt
_SHORTEST_SLIP = 7  # letters of the shortest name that may have one
_BESIDE = frozenset(
    (
        *("a", "an", "the", "of", "in", "on", "at", "is", "are", "by", "with", "v", "vol"),
        *("volume", "volumes", "ratio", "method", "methods", "extract", "extraction", "test"),
        *("basis", "stage", "plants", "plant", "parts", "part", "very", "some", "slightly"),
    )
)
"""Words beside a name that leave it as it is."""

_MAY_BE_ABSENT = "observations"
"""The set of which a member that is denied is told as such, in a field of its own."""

_HALF = re.compile(r"\s*½")
_DECIMALS = re.compile(r"(?<=\d)[.,](?=\d)")


class TradeName(NamedTuple):
    """One name of one member of a closed set.

    ``of`` is the set and ``means`` the id of the member; empty where the name is known and none
    of the set. ``told`` is the id of the message ``names.<told>`` that says how it was taken, or
    why it is refused.
    """

    of: str
    means: str
    name: str
    language: str
    told: str
    source: str
    provenance: str


@dataclass(frozen=True)
class Sense:
    """What a name may mean.

    ``id`` is the one member meant, or None. ``told`` says what was read into the name, or why it
    means none; ``near`` holds up to `MOST_NEAR` ids, best first, where there is none.
    """

    id: str | None = None
    told: Message | None = None
    near: tuple[str, ...] = ()


@cache
def trade_names() -> Mapping[str, tuple[TradeName, ...]]:
    """Return the names by the set that they are of.

    Raises
    ------
    TableError
        If a row does not fit.
    """
    table, header = "trade_names.csv", TradeName._fields
    rows = read_cells(table, header)
    known = {"language": LANGUAGES, "source": bibliography(), "provenance": PROVENANCES}
    check_cells(table, header, rows, known)
    found: dict[str, list[TradeName]] = defaultdict(list)
    for row in rows:
        found[row[0]].append(TradeName(*row))
    return {of: tuple(names) for of, names in found.items()}


@lru_cache(maxsize=1 << 12)
def _key(text: str) -> str:
    """Return a name as it is compared; 1.5 is not 1:5."""
    return plain(_DECIMALS.sub("point", _HALF.sub(".5", text)).replace("_", " "))


@lru_cache(maxsize=1 << 12)
def _loose(key: str) -> str:
    """Return a name without the words beside it, plurals, and the order of its words."""
    words = [stem(word, "en") for word in key.split() if word not in _BESIDE] or [key]
    return " ".join(words if any(word.isdigit() for word in words) else sorted(words))


class _Names:
    """The names of one set by their compared forms."""

    def __init__(self, of: str, ids: tuple[str, ...], labels: tuple[tuple[str, str], ...]) -> None:
        self.of = of
        self.titles = {means: label for label, means in reversed([*labels])}
        self.exact: dict[str, TradeName] = {}
        self.loose: dict[str, set[TradeName]] = defaultdict(set)
        own = [TradeName(of, each, each, "en", "", "", "") for each in ids]
        shown = [TradeName(of, means, label, "en", "", "", "") for label, means in labels]
        for name in (*own, *shown, *trade_names().get(of, ())):
            self.exact.setdefault(_key(name.name), name)
        for key, name in self.exact.items():
            self.loose[_loose(key)].add(name)
        named = ((key, name.means) for key, name in self.exact.items() if name.means)
        self.by_words = match_of(of, named, _BESIDE)

    def find(self, text: str) -> Sense:
        key = _key(text)
        if not key:
            return Sense()
        if name := self.exact.get(key) or self._only(_loose(key)):
            return self._sense(name.means, name.told, text)
        match = self.by_words(key)
        if match and not (match.denied and self.of != _MAY_BE_ABSENT):
            if match.denied:
                return Sense(told=self._sense(match.means, "denied", text).told)
            return self._sense(match.means, "taken_as", text)
        likeness = sorted(
            (
                (max(fuzz.ratio(key, known), 0.95 * fuzz.token_set_ratio(key, known)), name)
                for known, name in self.exact.items()
                if name.means
            ),
            key=lambda found: -found[0],
        )
        best = [(score, name) for score, name in likeness if score >= _LEAST_LIKE]
        ids = tuple(dict.fromkeys(name.means for _, name in best))
        sure = {name.means for known, name in self.exact.items() if _slipped(key, known)}
        if len(sure) == 1:
            return self._sense(sure.pop(), "taken_as", text)
        return Sense(near=ids[:MOST_NEAR])

    def _sense(self, means: str, told: str, text: str) -> Sense:
        title = self.titles.get(means, means)
        reading = say(f"names.{told}", text=text.strip(), title=title) if told else None
        return Sense(means or None, reading)

    def _only(self, loose: str) -> TradeName | None:
        found = self.loose.get(loose, set())
        return next(iter(found)) if len({name.means for name in found}) == 1 else None


def _slipped(key: str, known: str) -> bool:
    """Whether a long name is a known one with a slip; a figure in it is never one."""
    figures = any(letter.isdigit() for letter in key + known)
    return (
        not figures
        and len(key) >= _SHORTEST_SLIP
        and key[0] == known[0]
        and fuzz.ratio(key, known) >= _SURE_SLIP
    )


@cache
def _names_of(of: str, ids: tuple[str, ...], labels: tuple[tuple[str, str], ...]) -> _Names:
    return _Names(of, ids, labels)


def meaning(of: str, text: str, ids: Iterable[str], labels: Mapping[str, str]) -> Sense:
    """Return which member of a closed set a name means.

    Case, accents, hyphens, plurals and words such as "by volume" do not matter.

    Parameters
    ----------
    of : str
        The set, as the table of names calls it.
    text : str
        The name.
    ids : iterable of str
        The ids of the set.
    labels : mapping of str to str
        Other names in the language of the answers, each with its id.

    Examples
    --------
    >>> meaning("extraction", "1:2 v/v", ["one_to_two", "press"], {}).id
    'one_to_two'
    """
    return _names_of(of, tuple(ids), tuple(labels.items())).find(text)
