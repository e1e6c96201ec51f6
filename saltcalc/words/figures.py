"""Figures for people: few digits, no exponent, the marks of their language, and units they say."""

from __future__ import annotations

import math
import re
from functools import cache

from babel import Locale

from saltcalc.words.reader import ENGLISH, reader
from saltcalc.words.unit_systems import METRIC, figure_in, unit_in

_FOUR_DIGITS = re.compile(r"(?<![\d,])(\d),(\d{3})(?![\d,])")

SMALL_VOLUME = 0.1
"""Volume [L] below which people say millilitres."""

CAPITAL_NOUNS = frozenset({"de", "lb"})
"""Languages whose nouns keep their capital wherever they stand."""


@cache
def locale_of(language: str) -> Locale:
    """Return how a language writes numbers, lists and days; English as it does outside the US."""
    return Locale.parse("en_001" if language == ENGLISH else language.replace("-", "_"))


@cache
def _marks(language: str) -> dict[int, str] | None:
    """Return what stands for the marks of a Python number; None where they are the same."""
    symbols = locale_of(language).number_symbols["latn"]
    marks = {",": symbols["group"], ".": symbols["decimal"]}
    return None if marks == {",": ",", ".": "."} else str.maketrans(marks)


def in_marks(number: str, language: str | None = None) -> str:
    """Return a number as Python writes it with the marks of a language; of the reader's without.

    Where a point parts thousands, four digits stand without it: people there write 4200, and
    4.200 may be read as 4.2.
    """
    marks = _marks(language or reader().language)
    if marks is None:
        return number
    if marks[ord(",")] == ".":
        number = _FOUR_DIGITS.sub(r"\1\2", number)
    return number.translate(marks)


def figure(value: float, digits: int = 2, language: str | None = None) -> str:
    """Return a number for people: few digits, no exponent."""
    return in_marks(f"{float(f'{value:.{digits}g}'):,g}", language)


def amount(value: float, unit: str, language: str | None = None, digits: int = 3) -> str:
    """Return a figure that was read: two digits of a per cent, none after a large number."""
    if unit == "%" and abs(value) >= 10:
        return f"{value:.0f}"
    if abs(value) >= 1000:
        return f"{float(f'{value:.2g}'):.0f}"
    told = float(f"{value:.{2 if unit == '%' else digits}g}")
    return in_marks(f"{told:g}", language)


def told_in(
    value: float, unit: str, digits: int = 2, system: str = METRIC, language: str | None = None
) -> str:
    """Return a figure with its unit for people, in the units of their system."""
    return f"{figure(figure_in(value, unit, system), digits, language)} {unit_in(unit, system)}"


def volume(litres: float, system: str = METRIC, language: str | None = None) -> str:
    """Return a volume for people: in litres, or in millilitres where it is small."""
    if litres < SMALL_VOLUME:
        return told_in(1000 * litres, "mL", system=system, language=language)
    return told_in(litres, "L", system=system, language=language)


def percent_up(share: float) -> int:
    """Return a share as a whole per cent, rounded up to be on the safe side."""
    return math.ceil(100 * share - 1e-9)


def lower_first(text: str, language: str | None = None) -> str:
    """Start a text in the middle of a sentence; names such as pH and EC keep their letters."""
    if (language or reader().language) in CAPITAL_NOUNS:
        return text
    first = text.split(" ", 1)[0]
    return text if first[1:] != first[1:].lower() else text[:1].lower() + text[1:]


def upper_first(text: str) -> str:
    """Start a sentence with a text; names such as pH keep their letters."""
    return text if text[1:2].isupper() else text[:1].upper() + text[1:]
