"""The figures and signs by which media of a trial are told apart, and the causes they stand for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Literal

import marshmallow as ma

from saltcalc.data.causes import causes
from saltcalc.data.nutrients import NUTRIENTS
from saltcalc.data.observations import observations
from saltcalc.data.sources import Sourced
from saltcalc.data.tables import column, read_keyed, words

EC = ("ec", "low_ec")
"""What is taken from the EC."""


@dataclass(frozen=True, kw_only=True)
class TrialFigure(Sourced):
    """A figure or a sign of a medium that may explain how crops fared in it."""

    id: str
    harm: Literal["low", "high"]
    """The side on which it harms."""
    takes: Literal["ec", "low_ec", "nutrient", "mineral_n", "sign", "sealed"]
    """What it is taken from; a low EC stands for nitrogen that nobody measured."""
    figure: str = ""
    """The nutrient or the sign."""
    error: float = column(validate=ma.validate.Range(1))
    """Ratio of two figures from which they differ; of pH that of the activities."""
    causes: tuple[str, ...] = column(read=words(";"))
    """What it would explain."""
    note: str = ""
    """For those who keep the table."""

    @property
    def reads(self) -> str:
        """What it is read from; what harms on either side of one reading has the same."""
        return self.figure or ("ec" if self.takes in EC else self.id)

    def check(self) -> None:
        """Refuse a figure, a sign or a cause that no table has."""
        known = {"nutrient": NUTRIENTS, "sign": tuple(observations())}.get(self.takes, ("",))
        if self.figure not in known:
            raise ma.ValidationError("not known", "figure")
        if unknown := set(self.causes) - causes().keys():
            raise ma.ValidationError(f"no such cause: {sorted(unknown)}", "causes")


@cache
def trial_figures() -> Mapping[str, TrialFigure]:
    """Return the figures by id, in the order in which they are told where they tell alike."""
    return read_keyed("trial_figures.csv", TrialFigure, lambda each: each.id)
