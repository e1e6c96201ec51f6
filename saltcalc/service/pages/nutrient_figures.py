"""Figures of nutrients beside their ranges, as a page writes and draws them."""

from __future__ import annotations

from collections.abc import Set

from saltcalc.words.catalogue import Words
from saltcalc.words.figures import figure as number
from saltcalc.words.rendering import Json
from saltcalc.words.text import figure, own_over_range

MAX_RATIO_DRAWN = 4.0
"""Where the scale of nutrients ends: four times the upper end of the usual range, or more."""


def as_found(row: Json, below: Set[str]) -> str:
    """Return the figure of a nutrient; of what was told as below a figure, that one.

    The answer goes by the middle of what lies below it.
    """
    found: Json = row["figure"]
    if row["nutrient"] not in below:
        return figure(found, 3)
    return "<" + figure({"value": 2 * found["value"], "unit": found["unit"]}, 3)


def between(ends: Json, digits: int = 3) -> str:
    """Return a range as people write it; open where it has one end."""
    low, high = (number(ends[end], digits) if end in ends else None for end in ("low", "high"))
    if low and high:
        return f"{low}–{high}"
    return f"≤ {high}" if high else f"≥ {low}"


def usual_of(row: Json) -> Json:
    """Return the ends of the range of a nutrient by the extract of its figure."""
    times = own_over_range(row)
    return {end: times * row["range"][end] for end in ("low", "high") if end in row["range"]}


def usual_told(row: Json, words: Words) -> str:
    """Return the range of a nutrient as people write it; carried to another extract, about that."""
    about = row.get("on_range_method") is not None
    told = between(usual_of(row), 2 if about else 3)
    return words.tell("page.about", range=told) if about else told


def on_scale(value: float, ends: dict[str, float]) -> float:
    """Return where a figure is: 1 to 2 within its range, below and above by its ratio."""
    low, high = ends.get("low", 0.0), ends["high"]
    if low and value < low:
        return value / low
    if value <= high:
        return 1 + (value - low) / (high - low) if high > low else 1.5
    return min(1 + value / high, MAX_RATIO_DRAWN)
