"""Numbers in sentences."""

from __future__ import annotations


def figure(value: float, digits: int = 2) -> str:
    """Return a number for people: few digits, no exponent."""
    return f"{float(f'{value:.{digits}g}'):,g}"
