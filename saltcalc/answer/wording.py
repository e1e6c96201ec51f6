"""Numbers in sentences."""

from __future__ import annotations


def figure(value: float, digits: int = 2) -> str:
    """Return a number for people: few digits, no exponent."""
    return f"{float(f'{value:.{digits}g}'):,g}"


def in_passes(count: int, which: str = "") -> str:
    """Return a number of passes for people."""
    return f"{count} {which}{'pass' if count == 1 else 'passes'}"
