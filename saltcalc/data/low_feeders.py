"""Crops that grow well with little feed, for which the ranges of other crops begin too high."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from saltcalc.data.crop_names import other_crops
from saltcalc.data.crops import catalogue
from saltcalc.data.sources import Sourced
from saltcalc.data.tables import TableError, column, read_table, words


@dataclass(frozen=True, kw_only=True)
class LowFeeders(Sourced):
    """Crops that want little feed."""

    crops: tuple[str, ...] = column(read=words(";"))


@cache
def low_feeders() -> frozenset[str]:
    """Return the ids of the crops that grow well with little feed.

    Raises
    ------
    TableError
        If a row names what is no crop.
    """
    return _crops_in("low_feeders.csv")


@cache
def light_feeders() -> frozenset[str]:
    """Return the ids of the crops that salt touches first among pot plants, the low feeders too.

    Raises
    ------
    TableError
        If a row names what is no crop.
    """
    return low_feeders() | _crops_in("light_feeders.csv")


def _crops_in(table: str) -> frozenset[str]:
    found = {crop for row in read_table(table, LowFeeders) for crop in row.crops}
    if unknown := found - {*catalogue().crops, *other_crops()}:
        raise TableError(f"{table}: no crops: {', '.join(sorted(unknown))}")
    return frozenset(found)
