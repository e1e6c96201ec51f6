"""Names as people write them, beside the names that the interface knows."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from rapidfuzz import fuzz, process

_LIKE_ENOUGH = 65.0

SYMBOLS = {
    "na": "sodium",
    "ca": "calcium",
    "mg": "magnesium",
    "k": "potassium",
    "nh4": "ammonium_n",
    "nh4_n": "ammonium_n",
    "n_nh4": "ammonium_n",
    "ammonium": "ammonium_n",
    "no3": "nitrate_n",
    "no3_n": "nitrate_n",
    "n_no3": "nitrate_n",
    "nitrate": "nitrate_n",
    "p": "phosphorus",
    "po4": "phosphorus",
    "po4_p": "phosphorus",
    "s": "sulfate_s",
    "so4": "sulfate_s",
    "so4_s": "sulfate_s",
    "sulfate": "sulfate_s",
    "sulphate": "sulfate_s",
    "cl": "chloride",
    "hco3": "bicarbonate",
    "b": "boron",
    "fe": "iron",
    "mn": "manganese",
    "zn": "zinc",
    "cu": "copper",
}
"""Chemical symbols and short names of the ions and elements."""


def plain(name: str) -> str:
    """Return a name in small letters, its words parted by one underscore."""
    return re.sub(r"[\W_]+", "_", name.casefold()).strip("_")


def nearest(name: str, known: Iterable[str]) -> str | None:
    """Return the known name that was most likely meant, or None if none is like it."""
    plainly = {plain(each): each for each in known}
    wanted = plain(name)
    if (symbol := SYMBOLS.get(wanted)) in plainly.values():
        return symbol
    found = process.extractOne(wanted, list(plainly), scorer=fuzz.ratio, score_cutoff=_LIKE_ENOUGH)
    return plainly[found[0]] if found else None


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
