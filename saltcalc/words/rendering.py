"""From what a part shows to JSON: figures with their units, messages in words."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from types import NoneType
from typing import Any

import numpy as np

from saltcalc import deadline
from saltcalc.message import Message, Title
from saltcalc.parts.notes import Assumption, Finding, NotComputed
from saltcalc.parts.shown import Amount, Chosen, Joined, Member, Series, Text, members_of
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
        if low > -math.inf:
            made["low"] = _number(low)
        if high < math.inf:
            made["high"] = _number(high)
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


_Teller = Callable[[Any, str | None, Words], Any]
"""Makes JSON of a value, in its unit, in words."""


def _plain(value: Any, unit: str | None, words: Words) -> Any:
    return _teller(value.__class__)(value, unit, words)


@cache
def _teller(kind: type) -> _Teller:
    """Return what makes JSON of values of a kind."""
    of_kinds = (tellers for kinds, tellers in _TELLERS if issubclass(kind, kinds))
    return next(of_kinds, _members)


def _as_it_is(value: Any, _: str | None, __: Words) -> Any:
    return value


def _said(value: Text, _: str | None, words: Words) -> str:
    return words.say(value)


def _from_numpy(value: Any, unit: str | None, words: Words) -> Any:
    return _plain(value.tolist(), unit, words)


def _figure(value: float, unit: str | None, words: Words) -> Any:
    if unit:
        return quantity(value, unit, system=words.units)
    return _number(value) if math.isfinite(value) else None


def _interval(value: Interval, unit: str | None, words: Words) -> Json | None:
    figure, low, high = (float(each) for each in value)
    return quantity(figure, unit or "1", low, high, system=words.units)


def _amount(value: Amount, _: str | None, words: Words) -> Json | None:
    return quantity(*value, system=words.units)


def _series(value: Series, _: str | None, words: Words) -> Json:
    told = (figure_in(float(each), value.unit, words.units) for each in value.values)
    return {
        "unit": unit_in(value.unit, words.units),
        "values": [_number(each) if math.isfinite(each) else None for each in told],
    }


def _day(value: datetime.date, _: str | None, __: Words) -> str:
    return value.isoformat()


_RECORDS = (Finding, Assumption, NotComputed)


def _list(value: Sequence[Any], unit: str | None, words: Words) -> Any:
    first = value[0] if value else None
    if isinstance(first, Message) and isinstance(value, tuple):
        return words.say(value)
    told = [_teller(each.__class__)(each, unit, words) for each in value]
    if isinstance(first, _RECORDS):
        # Two that tell figures apart by less than is said read alike, and are said once.
        return [each for place, each in enumerate(told) if each not in told[:place]]
    return told


def _named(value: Mapping[str, Any], unit: str | None, words: Words) -> Json:
    return {name: _plain(each, unit, words) for name, each in value.items()}


def _joined(joined: Joined, _: str | None, words: Words) -> Json:
    return {name: each for part in joined.parts for name, each in _plain(part, None, words).items()}


def _chosen(chosen: Chosen, _: str | None, words: Words) -> Json:
    members = members_of(chosen.part.__class__)
    return _shown(chosen.part, [each for each in members if each.name in chosen.members], words)


def _members(part: Any, _: str | None, words: Words) -> Json:
    return _shown(part, members_of(part.__class__), words)


def _shown(part: Any, members: Iterable[Member], words: Words) -> Json:
    shown: Json = {}
    deadline.check()
    for member in members:
        value = getattr(part, member.name)
        if value is not None:
            value = _teller(value.__class__)(value, member.unit, words)
        if not member.optional or (value is not None and value not in ([], "", member.usual)):
            shown[member.key] = value
    return shown


_TELLERS: Sequence[tuple[tuple[type, ...], _Teller]] = (
    ((Title, Message), _said),
    ((str, int, NoneType), _as_it_is),
    ((np.generic, np.ndarray), _from_numpy),
    ((float,), _figure),
    ((Interval,), _interval),
    ((Amount,), _amount),
    ((Series,), _series),
    ((datetime.date,), _day),
    ((list, tuple), _list),
    ((dict,), _named),
    ((Joined,), _joined),
    ((Chosen,), _chosen),
)
"""By kind of value what makes JSON of it, the first that fits; of a part its members do."""
