"""Figures of nutrients beside their ranges, as a page writes and draws them."""

from __future__ import annotations

from collections.abc import Set

from saltcalc.words.figures import figure as number
from saltcalc.words.rendering import Json
from saltcalc.words.text import figure

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


def between(ends: Json) -> str:
    """Return a range as people write it; open where it has one end."""
    low, high = (number(ends[end], 3) if end in ends else None for end in ("low", "high"))
    if low and high:
        return f"{low}–{high}"
    return f"≤ {high}" if high else f"≥ {low}"


def on_scale(value: float, ends: dict[str, float]) -> float:
    """Return where a figure is: 1 to 2 within its range, below and above by its ratio."""
    low, high = ends.get("low", 0.0), ends["high"]
    if low and value < low:
        return value / low
    if value <= high:
        return 1 + (value - low) / (high - low) if high > low else 1.5
    return min(1 + value / high, MAX_RATIO_DRAWN)
