"""Figures for people: few digits, no exponent, and units that people say."""

from __future__ import annotations

import math

from saltcalc.words.unit_systems import METRIC, figure_in, unit_in

SMALL_VOLUME = 0.1
"""Volume [L] below which people say millilitres."""


def figure(value: float, digits: int = 2) -> str:
    """Return a number for people: few digits, no exponent."""
    return f"{float(f'{value:.{digits}g}'):,g}"


def amount(value: float, unit: str) -> str:
    """Return a figure that was read: three digits, two of a per cent, none after a large number."""
    if unit == "%" and abs(value) >= 10:
        return f"{value:.0f}"
    if abs(value) >= 1000:
        return f"{float(f'{value:.2g}'):.0f}"
    return f"{value:.2g}" if unit == "%" else f"{value:.3g}"


def with_unit(text: str, unit: str) -> str:
    """Return a figure with its unit, but for those that people do not say: of 1 and of SAR."""
    return text if unit == "1" or unit.startswith("(") else f"{text} {unit}"


def told_in(value: float, unit: str, digits: int = 2, system: str = METRIC) -> str:
    """Return a figure with its unit for people, in the units of their system."""
    return f"{figure(figure_in(value, unit, system), digits)} {unit_in(unit, system)}"


def volume(litres: float, system: str = METRIC) -> str:
    """Return a volume for people: in litres, or in millilitres where it is small."""
    if litres < SMALL_VOLUME:
        return told_in(1000 * litres, "mL", system=system)
    return told_in(litres, "L", system=system)


def percent_up(share: float) -> int:
    """Return a share as a whole per cent, rounded up to be on the safe side."""
    return math.ceil(100 * share - 1e-9)


def lower_first(text: str) -> str:
    """Start a text in the middle of a sentence; names such as pH and EC keep their letters."""
    first = text.split(" ", 1)[0]
    return text if first[1:] != first[1:].lower() else text[:1].lower() + text[1:]


def upper_first(text: str) -> str:
    """Start a sentence with a text; names such as pH keep their letters."""
    return text if text[1:2].isupper() else text[:1].upper() + text[1:]
