"""Nursery containers by their trade size, which is no volume."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from saltcalc.data.sources import Sourced
from saltcalc.data.tables import column, read_keyed

_SIZES = {
    "#": re.compile(
        r"(?:#|no\.?|number|class|size)\s*(\d{1,2})"
        r"|(\d{1,2})[- ]*trade[- ]*(?:gal\w*\.?|size)"
        r"|trade[- ]*(?:gal\w*\.?|size)\s*#?(\d{1,2})"
        r"|(\d{1,2})[- ]*gal(?:lons?)?\.?[- ]*(?:nursery\s*)?(?:pots?|containers?|cans?)",
        re.IGNORECASE,
    ),
    "P": re.compile(
        r"p\s*(\d{1,2})|(?:pot|topf|godet|maceta)\s*(?:de\s*)?(\d{1,2})\s*cm"
        r"|(\d{1,2})[- ]*cm[- ]*(?:pot|topf|godet|maceta)s?",
        re.IGNORECASE,
    ),
    "C": re.compile(r"c\s*(\d{1,2}(?:[.,]5)?)", re.IGNORECASE),
}
"""How the sizes are written: by class of volume, by width in cm, by litres."""


@dataclass(frozen=True, kw_only=True)
class TradeSize(Sourced):
    """The least and the greatest volume of containers of one size, in its unit."""

    size: str
    low: float = column()
    high: float = column()
    unit: str = column()


@cache
def trade_sizes() -> Mapping[str, TradeSize]:
    """Return the sizes by their code.

    Raises
    ------
    TableError
        If a row does not fit.
    """
    return read_keyed("trade_sizes.csv", TradeSize, lambda row: row.size)


def trade_size_in(text: str) -> str | None:
    """Return the code of a trade size such as ``#3`` or ``P9``, or None if a text is none."""
    for kind, written in _SIZES.items():
        if found := written.fullmatch(text.strip()):
            size: str = next(filter(None, found.groups()))
            return kind + size.replace(",", ".")
    return None
