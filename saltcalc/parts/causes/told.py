"""The figures that evidence and corrections tell, with the limits they are held against."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from saltcalc.data.causes import Condition, diagnostic_measures
from saltcalc.data.nutrients import NO_RANGE, NUTRIENTS, NutrientRange
from saltcalc.parts.causes.evidence import figure_columns
from saltcalc.parts.shown import Amount, part, shown

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

MEASURES_TOLD = tuple(each.id for each in diagnostic_measures().values() if not each.bars)


@part
class EvidenceFigure:
    """A figure held against a limit."""

    measure: str = shown("Which figure was compared.", choices=MEASURES_TOLD)
    figure: Amount = shown("The figure of this medium.")
    comparison: str = shown(
        "How the figure lies to the limit.",
        key="relation",
        choices=("above", "at_least", "below", "at_most"),
    )
    limit: Amount = shown("The published limit.")


def range_told(condition: Condition, assessment: Assessment, sample: int) -> NutrientRange | None:
    """Return the range that a condition holds a nutrient against."""
    measure = diagnostic_measures().get(condition.measure)
    if measure is None or not measure.nutrient:
        return None
    nutrients = assessment.nutrients
    place = int(nutrients.limits[sample, NUTRIENTS.index(measure.nutrient)])
    return None if place == NO_RANGE else nutrients.ranges[place]


def figure_told(condition: Condition, assessment: Assessment, sample: int) -> EvidenceFigure:
    """Return a figure by its bounds, with the middle of a lognormal interval as its value.

    A nutrient comes with the end of its range.
    """
    findings, limit = assessment.causes.findings, condition.threshold
    measure, column = diagnostic_measures()[condition.measure], figure_columns()[condition.measure]
    low, high = float(findings.lower[sample, column]), float(findings.upper[sample, column])
    unit = "1" if condition.unit == "-" else condition.unit
    if measure.nutrient:
        place, nutrients = NUTRIENTS.index(measure.nutrient), assessment.nutrients
        low, high = (float(end[sample, place]) for end in nutrients.judged[1:])
        limit = float(getattr(nutrients, measure.end)[sample, place])
        unit = "1" if measure.nutrient == "ph" else "mg/L"
    if math.isnan(low) or low == high:
        value = high
    elif math.isnan(high):
        value = low
    else:
        value = math.sqrt(low * high) if low > 0 else (low + high) / 2
    return EvidenceFigure(
        measure=measure.id,
        figure=Amount(value, unit, low, high),
        comparison=condition.comparison,
        limit=Amount(limit, unit),
    )
