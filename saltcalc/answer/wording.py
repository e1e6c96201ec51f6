"""Numbers in sentences."""

from __future__ import annotations

import math

SMALL_VOLUME = 0.1
"""Volume [L] below which people say millilitres."""


def figure(value: float, digits: int = 2) -> str:
    """Return a number for people: few digits, no exponent."""
    return f"{float(f'{value:.{digits}g}'):,g}"


def in_passes(count: int, which: str = "") -> str:
    """Return a number of passes for people."""
    return f"{count} {which}{'pass' if count == 1 else 'passes'}"


def in_days(days: float) -> str:
    """Return a number of days for people."""
    if days < 1:
        return "less than a day"
    whole = math.floor(days)
    return "1 day" if whole == 1 else f"{whole:,} days"


def volume(litres: float, digits: int = 3) -> str:
    """Return a volume for people: in litres, or in millilitres where it is small."""
    if litres < SMALL_VOLUME:
        return f"{figure(1000 * litres, digits)} mL"
    return f"{figure(litres, digits)} L"
