"""Names as people write them, beside the names that the interface knows."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

from rapidfuzz import fuzz, process

from saltcalc.data.reported_ions import symbols
from saltcalc.message import Message, say

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


def suggestion(ids: Sequence[str], *, shared: bool) -> tuple[Message, ...]:
    """Say what a name may mean: ids that share it, or else ids of like names; empty for none."""
    if shared:
        return (say("problem.may_mean", ids=list(ids[:-1]), last=ids[-1]),)
    return (say("problem.near_matches", ids=list(ids)),) if ids else ()


def meant(text: str, ids: Iterable[str], labels: Mapping[str, str]) -> str | None:
    """Return the one id that a text names, whatever its case and marks, or None.

    Parameters
    ----------
    text : str
        An id or a label.
    ids : iterable of str
        The ids.
    labels : mapping of str to str
        More names, each with its id.
    """
    wanted = plain(text)
    found = {each for each in ids if plain(each) == wanted}
    found |= {each for label, each in labels.items() if plain(label) == wanted}
    return found.pop() if len(found) == 1 else None
