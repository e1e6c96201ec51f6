"""The signs that a person can report about a medium and the plants in it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache

import marshmallow as ma

from saltcalc.data.sources import Noted
from saltcalc.data.tables import TableError, column, read_keyed, words

PLACES = ("stand", "leaf", "stem", "root", "medium", "trial")
"""Where a sign is looked for: the plants as a whole, a part of them, the medium, or a trial."""


@dataclass(frozen=True, kw_only=True)
class Observation(Noted):
    """A sign that can be seen, smelt or tried without an instrument."""

    id: str = column(validate=ma.validate.Regexp(r"^[a-z]+(_[a-z]+)*$"))
    """The name used in requests."""
    opposite: str = ""
    """Id of the sign that is there where this one was looked for and not found, or empty."""
    excludes: tuple[str, ...] = column((), read=words(";"))
    """Ids of other signs that cannot be there beside this one; the opposite need not be named."""
    place: str = column(validate=ma.validate.OneOf(PLACES))


@cache
def observations() -> Mapping[str, Observation]:
    """Return every known sign by id, in the order of the table.

    Raises
    ------
    TableError
        If an id occurs twice, a source is unknown or two opposites do not name each other.
    """
    signs = read_keyed("observations.csv", Observation, lambda sign: sign.id)
    for sign in signs.values():
        if sign.opposite and getattr(signs.get(sign.opposite), "opposite", "") != sign.id:
            raise TableError(f"observations.csv: {sign.id!r} is not the opposite of its opposite")
        if unknown := [each for each in sign.excludes if each not in signs]:
            raise TableError(f"observations.csv: {sign.id!r} excludes what is no sign: {unknown}")
    return signs


@cache
def opposites() -> tuple[tuple[str, str], ...]:
    """Return the pairs of signs of which one is there where the other is not."""
    return _pairs((sign.id, sign.opposite) for sign in observations().values() if sign.opposite)


@cache
def exclusive_pairs() -> tuple[tuple[str, str], ...]:
    """Return the pairs of signs that cannot both be there."""
    excluded = ((sign.id, each) for sign in observations().values() for each in sign.excludes)
    return _pairs((*opposites(), *excluded))


def _pairs(pairs: Iterable[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """Return each pair once, its signs and the pairs in the order of the table."""
    order = list(observations())
    found = {tuple(sorted(pair, key=order.index)): None for pair in pairs}
    return tuple((first, other) for first, other in found)
