"""What usually helps against a cause, for a new batch of medium and for standing plants."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import nan
from typing import Literal

import marshmallow as ma

from saltcalc.data.causes import Condition, causes, conditions_in
from saltcalc.data.sources import Sourced
from saltcalc.data.tables import TableError, column, keyed, read_table, words

USES = ("first", "new_batch", "standing_plants", "water")
"""What a correction is for; ``first`` takes the place of the general words for the cause."""


@dataclass(frozen=True, kw_only=True)
class CorrectionRow(Sourced):
    """A correction as published; the rate in ``unit``, NaN where none is told."""

    id: str
    causes: tuple[str, ...] = column(read=words(";"))
    use: Literal["first", "new_batch", "standing_plants", "water"]
    rate_low: float = column(nan, validate=ma.validate.Range(min=0))
    rate_high: float = column(nan, validate=ma.validate.Range(min=0))
    unit: str = ""

    def check(self) -> None:
        """Refuse a rate without a unit, and one that is upside down."""
        if (self.rate_low == self.rate_low) != bool(self.unit):
            raise ma.ValidationError("a rate and its unit go together")
        if self.rate_low > self.rate_high:
            raise ma.ValidationError("the low end lies above the high end")


@dataclass(frozen=True, kw_only=True)
class Correction(CorrectionRow):
    """A correction with its conditions: all that are wanted must hold, and none that bars it."""

    wanted: tuple[Condition, ...]
    barring: tuple[Condition, ...]


@cache
def corrections() -> Mapping[str, Correction]:
    """Return every correction by id, in the order in which they are told.

    Raises
    ------
    TableError
        If an id occurs twice, or a cause, a measure, a sign or a source is unknown.
    """
    table = "corrections.csv"
    conditions = conditions_in("correction_conditions.csv")
    rows = []
    for row in read_table(table, CorrectionRow):
        if unknown := set(row.causes) - set(causes()):
            raise TableError(f"{table}: {row.id!r} names unknown causes: {sorted(unknown)}")
        own = conditions.get(row.id, ())
        rows.append(
            Correction(
                **vars(row),
                wanted=tuple(each for each in own if not each.bars),
                barring=tuple(each for each in own if each.bars),
            )
        )
    found = keyed(table, rows, lambda each: each.id)
    if unknown := set(conditions) - set(found):
        raise TableError(f"correction_conditions.csv: no such corrections: {sorted(unknown)}")
    return found
