"""How much alkalinity a water may hold before the pH of a container medium climbs, by size."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import inf

from saltcalc.data.sources import Sourced
from saltcalc.data.tables import TableError, column, read_table


@dataclass(frozen=True, kw_only=True)
class AlkalinityLimit(Sourced):
    """Most alkalinity [mg/L as CaCO3] for containers of up to a volume [L]."""

    volume_up_to: float = column(inf)
    most: float


@cache
def alkalinity_limits() -> tuple[AlkalinityLimit, ...]:
    """Return the limits, those of the smallest containers first.

    Raises
    ------
    TableError
        If they do not rise with the volume, or the last is not for any.
    """
    rows = read_table("alkalinity_limits.csv", AlkalinityLimit)
    ends = [(each.volume_up_to, each.most) for each in rows]
    if ends != sorted(ends) or ends[-1][0] != inf:
        raise TableError("alkalinity_limits.csv: the limits do not rise with the volume to its end")
    return rows
