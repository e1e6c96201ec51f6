"""Nursery containers by their trade size, which is no volume."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from saltcalc.data.sources import Sourced
from saltcalc.data.tables import column, read_keyed

_SIZE = re.compile(
    r"(?:#|no\.?|number|class|size)\s*(?P<size>\d{1,2})"
    r"|(?P<named>\d{1,2})[- ]*trade[- ]*(?:gal\w*\.?|size)"
    r"|trade[- ]*(?:gal\w*\.?|size)\s*#?(?P<last>\d{1,2})"
    r"|(?P<pot>\d{1,2})[- ]*gal(?:lons?)?\.?[- ]*(?:nursery\s*)?(?:pots?|containers?|cans?)",
    re.IGNORECASE,
)


@dataclass(frozen=True, kw_only=True)
class TradeSize(Sourced):
    """The least and the greatest volume [cubic inches] of containers of one size."""

    size: str
    low: float = column()
    high: float = column()


@cache
def trade_sizes() -> Mapping[str, TradeSize]:
    """Return the sizes by their number.

    Raises
    ------
    TableError
        If a row does not fit.
    """
    return read_keyed("trade_sizes.csv", TradeSize, lambda row: row.size)


def trade_size_in(text: str) -> str | None:
    """Return the number of a trade size such as ``#3``, or None if a text is none."""
    found = _SIZE.fullmatch(text.strip())
    return next(filter(None, found.groups()), None) if found else None
