"""How media take water in: what wetting reaches, and how fast water sinks in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import marshmallow as ma

from saltcalc.data.sources import Sourced
from saltcalc.data.tables import TableError, Uncertain, column, read_complete, read_keyed

WETTING_STATES = ("wettable", "repelling", "repelling_with_wetting_agent")

_ABOVE_ZERO = ma.validate.Range(0, min_inclusive=False)
_SHARE = ma.validate.Range(0, 1)


@dataclass(frozen=True, kw_only=True)
class WettingReach(Sourced):
    """What water reaches in a medium that was let dry."""

    state: str = column(validate=ma.validate.OneOf(WETTING_STATES))
    at_once: float = column(validate=_SHARE)
    """Share of the missing water brought back by one large lot. [L/L]"""
    in_lots: float = column(validate=_SHARE)
    """The same by small lots with rests. [L/L]"""
    unswept: float = column(validate=_SHARE)
    """Share of the held water that stays behind in dry places. [L/L]"""
    unswept_low: float = column(validate=_SHARE)
    unswept_high: float = column(validate=_SHARE)

    def check(self) -> None:
        """Compare the columns with each other.

        Raises
        ------
        marshmallow.ValidationError
            If small lots reach less than a large one, or the share lies outside its interval.
        """
        if self.at_once > self.in_lots:
            raise ma.ValidationError("small lots reach no less than a large one", "in_lots")
        if not self.unswept_low <= self.unswept <= self.unswept_high:
            raise ma.ValidationError("the value lies outside its interval", "unswept")


@dataclass(frozen=True, kw_only=True)
class IntakeRate(Sourced):
    """How fast water sinks into a wet medium."""

    medium: str
    """A substrate, or ``soilless`` for any that is not listed."""
    rate: Uncertain = column(validate=_ABOVE_ZERO)
    """With its range, at least a factor of two either way. [mm/h]"""

    def check(self) -> None:
        """Compare the columns with each other.

        Raises
        ------
        marshmallow.ValidationError
            If the range is narrower than a factor of two either way.
        """
        if 2 * self.rate.low > self.rate.value or self.rate.high < 2 * self.rate.value:
            raise ma.ValidationError("the range is narrower than a factor of two", "rate")


@cache
def wetting_reaches() -> Mapping[str, WettingReach]:
    """Return what wetting reaches, by the state of the medium.

    Raises
    ------
    TableError
        If a state occurs twice or is missing.
    """
    return read_complete(
        "wetting_reach.csv", WettingReach, lambda row: row.state, WETTING_STATES, "state"
    )


@cache
def intake_rates() -> Mapping[str, IntakeRate]:
    """Return how fast water sinks in, by substrate; ``soilless`` stands for those not listed.

    Raises
    ------
    TableError
        If a medium occurs twice, or the row for soilless media is missing.
    """
    name = "intake_rates.csv"
    table = read_keyed(name, IntakeRate, lambda row: row.medium)
    if "soilless" not in table:
        raise TableError(f"{name}: the row for soilless media is missing")
    return table
