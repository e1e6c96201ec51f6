"""Nursery containers by their trade size, which is no volume."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache

from saltcalc.data.sources import Sourced
from saltcalc.data.tables import column, read_keyed

_POT = r"(?:pot|topf|godet|maceta)s?"
_WIDE = r"(\d{1,2}(?:[.,]\d)?)"
_VESSEL = (
    rf"(?:{_POT}|töpfe|k[üu]bel|eimer|contenedor(?:es)?"
    r"|(?:container|tub|bucket|(?:grow[- ]?)?bag|conteneur|seau|bac|sac|cubo|saco)s?)"
)
_LITRES = r"(\d{1,3}(?:[.,]\d)?)"
_L = r"l(?:it(?:er|re|ro)s?)?\.?"
_SIZES = {
    "#": re.compile(
        r"(?:#|no\.?|number|class|size)\s*(\d{1,2})"
        r"|(\d{1,2})[- ]*trade[- ]*(?:gal\w*\.?|size)"
        r"|trade[- ]*(?:gal\w*\.?|size)\s*#?(\d{1,2})"
        r"|(\d{1,2})[- ]*gal(?:lons?)?\.?[- ]*(?:nursery\s*)?(?:pots?|containers?|cans?)",
        re.IGNORECASE,
    ),
    "P": re.compile(
        rf"p\s*{_WIDE}|{_POT}\s*(?:rond\s*)?(?:de\s*)?{_WIDE}\s*cm|{_WIDE}[- ]*cm[- ]*{_POT}",
        re.IGNORECASE,
    ),
    "inch ": re.compile(
        rf"{_WIDE}[- ]*(?:inch(?:es)?|in\.?|[\"″”])[- ]*(?:\w+\s+)?(?:{_POT}|azalea|container)",
        re.IGNORECASE,
    ),
    "C": re.compile(
        rf"c\s*{_LITRES}|{_LITRES}[- ]*{_L}[- ]*{_VESSEL}|{_VESSEL}[- ]*(?:de\s*)?{_LITRES}\s*{_L}",
        re.IGNORECASE,
    ),
}
"""How the sizes are written: by class of volume, by width in cm and in inches, by litres."""


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
            return kind + size.replace(",", ".").removesuffix(".0")
    return None


def trade_size(code: str) -> TradeSize | None:
    """Return the size of a code, or None where no volume of it is published."""
    if code.startswith("C"):
        by_litres, litres = trade_sizes()["C"], float(code[1:])
        return replace(by_litres, low=litres * by_litres.low, high=litres * by_litres.high)
    return trade_sizes().get(code)


def sizes_like(code: str) -> list[str]:
    """Return the codes in the table that are written like one that is not."""
    return [size for size in trade_sizes() if size.startswith("#") == code.startswith("#")]
