"""Names as people write them, beside the names that the interface knows."""

from __future__ import annotations

import re
from collections.abc import Iterable

from rapidfuzz import fuzz, process

from saltcalc.data.reported_ions import symbols

_LIKE_ENOUGH = 65.0


def plain(name: str) -> str:
    """Return a name in small letters, its words parted by one underscore."""
    return re.sub(r"[\W_]+", "_", name.casefold()).strip("_")


def nearest(name: str, known: Iterable[str]) -> str | None:
    """Return the known name that was most likely meant, or None if none is like it."""
    plainly = {plain(each): each for each in known}
    wanted = plain(name)
    if (symbol := symbols().get(wanted)) in plainly.values():
        return symbol
    found = process.extractOne(wanted, list(plainly), scorer=fuzz.ratio, score_cutoff=_LIKE_ENOUGH)
    return plainly[found[0]] if found else None
