"""From what a part shows to JSON: figures with their units, messages in words."""

from __future__ import annotations

import datetime
import math
from typing import Any

import numpy as np

from saltcalc import deadline
from saltcalc.message import Message, Title
from saltcalc.parts.notes import Assumption, Finding, NotComputed
from saltcalc.parts.shown import Amount, Chosen, Joined, Series, members_of
from saltcalc.science.uncertainty import Interval
from saltcalc.words.catalogue import Words
from saltcalc.words.unit_systems import METRIC, figure_in, unit_in

Json = dict[str, Any]

SIGNIFICANT_DIGITS = 5
"""More than any reading carries, and few enough to read."""


def rounded(value: float) -> float:
    """Return ``value`` to :data:`SIGNIFICANT_DIGITS` significant digits."""
    return float(f"{value:.{SIGNIFICANT_DIGITS}g}")


def _number(value: float) -> float:
    """Return a figure as JSON has it: rounded, and without a decimal point where it is whole."""
    told = rounded(value)
    return int(told) if told.is_integer() else told


def quantity(
    value: float,
    unit: str,
    low: float = math.nan,
    high: float = math.nan,
    *,
    system: str = METRIC,
) -> Json | None:
    """Return a quantity, or None where the value is missing or has no end.

    Parameters
    ----------
    value : float
        NaN where it could not be computed.
    unit : str
        Its unit; "1" for a pure number.
    low, high : float
        Ends of its interval; left out where NaN, or where both equal the value. An end that is
        open, infinite, is left out by itself.
    system : str
        The system of units to tell it in.
    """
    if not math.isfinite(value):
        return None
    told = unit_in(unit, system)
    if told != unit:
        value, low, high = (figure_in(each, unit, system) for each in (value, low, high))
    made: Json = {"value": _number(value), "unit": told}
    if not (math.isnan(low) or math.isnan(high)) and not low == value == high:
        ends = {"low": low, "high": high}
        made |= {name: _number(end) for name, end in ends.items() if math.isfinite(end)}
    return made


def as_json(part: Any, words: Words) -> Any:
    """Return what a part shows as JSON.

    Parameters
    ----------
    part : object
        A part with shown members, or lists, mappings, messages and plain values of them.
    words : Words
        Of the language and the units of the answer.

    Raises
    ------
    TooLateError
        If the time for the answer is over before a member is looked at.
    """
    return _plain(part, None, words)


def _figures(value: Interval | Amount | Series, unit: str, system: str) -> Any:
    """Return a figure with its interval, or a series of figures."""
    if isinstance(value, Interval):
        figure, low, high = (float(each) for each in value)
        return quantity(figure, unit, low, high, system=system)
    if isinstance(value, Amount):
        return quantity(*value, system=system)
    told = (figure_in(float(each), value.unit, system) for each in value.values)
    return {
        "unit": unit_in(value.unit, system),
        "values": [_number(each) if math.isfinite(each) else None for each in told],
    }


_AS_THEY_ARE = frozenset({type(None), bool, int, str})


def _plain(value: Any, unit: str | None, words: Words) -> Any:
    if type(value) in _AS_THEY_ARE:
        return value
    match value:
        case Title() | Message():
            return words.say(value)
        case str() | int():
            return value
        case np.generic() | np.ndarray():
            return _plain(value.tolist(), unit, words)
        case float():
            if unit:
                return quantity(value, unit, system=words.units)
            return _number(value) if math.isfinite(value) else None
        case Interval() | Amount() | Series():
            return _figures(value, unit or "1", words.units)
        case datetime.date():
            return value.isoformat()
        case tuple() if value and isinstance(value[0], Message):
            return words.say(value)
        case [Finding() | Assumption() | NotComputed(), *_]:
            # Two that tell figures apart by less than is said read alike, and are said once.
            said = [_members(each, words) for each in value]
            return [each for place, each in enumerate(said) if each not in said[:place]]
        case list() | tuple():
            return [_plain(each, unit, words) for each in value]
        case dict():
            return {name: _plain(each, unit, words) for name, each in value.items()}
    return _members(value, words)


def _members(part: Any, words: Words) -> Json:
    if isinstance(part, Joined):
        return {name: each for one in part.parts for name, each in _members(one, words).items()}
    shown: Json = {}
    chosen = None
    if isinstance(part, Chosen):
        part, chosen = part.part, part.members
    deadline.check()
    for member in members_of(part.__class__):
        if chosen is not None and member.name not in chosen:
            continue
        value = _plain(getattr(part, member.name), member.unit, words)
        if not (member.optional and (value is None or value in ([], "", member.usual))):
            shown[member.key] = value
    return shown
