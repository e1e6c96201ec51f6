"""Quantities as they leave: value and unit, with low and high where they are uncertain."""

from __future__ import annotations

import math
from typing import Any

Json = dict[str, Any]

SIGNIFICANT_DIGITS = 10
"""Enough to hide the noise of floating point, and far more than any reading carries."""

EC_UNIT = "dS/m"
SAR_UNIT = "(mmol/L)^0.5"
SHARE_UNIT = "1"

INTERVALS = (
    "Low and high bound an 80 % interval: the spread of the published conversions that apply, "
    "taken as lognormal, and carried through. A value without them is as exact as its inputs."
)


def rounded(value: float) -> float:
    """Return ``value`` to :data:`SIGNIFICANT_DIGITS` significant digits."""
    return float(f"{value:.{SIGNIFICANT_DIGITS}g}")


def quantity(value: float, unit: str, low: float = math.nan, high: float = math.nan) -> Json | None:
    """Return a quantity, or None where the value is missing.

    Parameters
    ----------
    value : float
        NaN where it could not be computed.
    unit : str
        Its unit; "1" for a pure number.
    low, high : float
        Ends of its interval; left out where NaN, or where both equal the value. An end that is
        open, infinite, is left out by itself.
    """
    if math.isnan(value):
        return None
    made: Json = {"value": rounded(value), "unit": unit}
    if not (math.isnan(low) or math.isnan(high)) and not low == value == high:
        ends = {"low": low, "high": high}
        made |= {name: rounded(end) for name, end in ends.items() if math.isfinite(end)}
    return made
