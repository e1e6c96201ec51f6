"""What crops are sown for, and in which season: which of them can stand in for one another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

import marshmallow as ma

from saltcalc.data.sources import Sourced
from saltcalc.data.tables import column, read_table, words

SEASONS = ("cool", "warm")


@dataclass(frozen=True, kw_only=True)
class Sowing(Sourced):
    """Crops that are sown for one use in one season."""

    use: str
    season: str = column(validate=ma.validate.OneOf(SEASONS))
    crops: tuple[str, ...] = column(read=words(";"))


@cache
def sowings() -> Mapping[str, frozenset[tuple[str, str]]]:
    """Return the uses and seasons of each crop that is sown, by crop id.

    A crop that is set, grafted or left standing for years is not listed.

    Raises
    ------
    TableError
        If a source is unknown.
    """
    found: dict[str, frozenset[tuple[str, str]]] = {}
    for row in read_table("crop_sowings.csv", Sowing):
        for crop in row.crops:
            found[crop] = found.get(crop, frozenset()) | {(row.use, row.season)}
    return MappingProxyType(found)
