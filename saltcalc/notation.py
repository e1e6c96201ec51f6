"""Figures as laboratories and people write them: marks, ranges, signs, and what counts as none."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass

from saltcalc.message import Message, say

_NUMBER = r"[-+]?(?:\d[\d.,'’\u00a0\u202f]*|[.,]\d+)(?:[eE][-+]?\d{1,3})?"
_SPACED = r"[-+]?\d{1,3}(?: \d{3})+(?:[.,]\d+)?(?![\d])"
_FIGURE = rf"(?:{_SPACED}|{_NUMBER})"
_BEFORE = re.compile(
    r"(?:(?P<about>ca\b\.?|circa|c\.|approx\b\.?|approximately|about|around|roughly|some|etwa|env\b\.?|~|≈)"
    r"|(?:ec|ecw|ece|ph|value)\s*[:=]?)\s*(?=[-+.,\d<>≤≥])",
    re.IGNORECASE,
)
_SIGN = re.compile(
    r"(?P<below><=?|≤|less than|below|under|up to|at most|max\.?|bis zu)"
    r"|(?P<above>>=?|≥|more than|above|over|at least|min\.?|greater than)",
    re.IGNORECASE,
)
_TO = r"(?:-|–|—|\.\.\.?|…|\bto\b|\bbis\b|\band\b)"
_RANGE = re.compile(
    rf"(?P<first>{_FIGURE})(?:\s*{_TO}|\s*(?P<unit>[^\d\s<>±.,-][^\d<>±]*?)\s+{_TO}\s)\s*"
    rf"(?P<second>{_FIGURE})\s*(?P<rest>\D.*)?",
    re.DOTALL,
)
_SPREAD = re.compile(
    rf"(?P<first>{_FIGURE})\s*(?:±|\+/-|\+-)\s*(?P<second>{_FIGURE})\s*(?P<rest>\D.*)?", re.DOTALL
)
_ONE = re.compile(rf"(?P<first>{_FIGURE})\s*(?P<rest>[^\d.,'].*)?", re.DOTALL)
_AT = re.compile(
    r"\s*(?:@|\bat\b|\bbei\b|\(|,)\s*(?P<degrees>\d{1,2}(?:[.,]\d)?)\s*(?:°|deg|º)?\s*C\b\s*\)?\s*$",
    re.IGNORECASE,
)
_DATE = re.compile(r"\d{4}[-/.]\d{1,2}[-/.]\d{1,2}.*|\d{1,2}[-/.]\d{1,2}[-/.]\d{2,4}")
_NONE = re.compile(
    r"[-–—./?*\s]*|n\.?\s?[dabmr]\.?|n/[adr]|nan|null|none|not (?:given|determined|detected|known|"
    r"measured|analy[sz]ed|tested|reported|available|applicable)|unknown|tbd|missing|k\.?\s?a\.?|"
    r"n\.?\s?n\.?|nil|no data|blank",
    re.IGNORECASE,
)
_HALVES = {"½": ".5", "¼": ".25", "¾": ".75"}
_READING_TEMPERATURE = 25.0


class NotationError(ValueError):
    """A figure that cannot be read; the message says why."""

    def __init__(self, message: str, /, **told: object) -> None:
        super().__init__(message)
        self.message = say(message, **told)


@dataclass(frozen=True)
class Written:
    """A figure as written, in its own unit.

    Attributes
    ----------
    low, high : float
        Its ends; the same for a single figure, infinite where it is open upwards.
    unit : str or None
        The unit behind it.
    reading : Message or None
        How it was read, where it left something open.
    """

    low: float
    high: float
    unit: str | None
    reading: Message | None = None


def not_given(text: str) -> bool:
    """Tell whether a text says that there is no figure: blank, a dash, ``n.d.``, ``n/a``."""
    return _NONE.fullmatch(text.strip()) is not None


def read_figure(text: str, plausible: Callable[[float, str | None], bool]) -> Written:
    """Read a figure with the unit behind it.

    Parameters
    ----------
    text : str
        As written.
    plausible : callable
        Tells whether a number in a unit is an ordinary figure of the field. It settles a mark
        before three digits, which may part thousands.

    Raises
    ------
    NotationError
        If there is no figure, or it can be read in two ways.

    Examples
    --------
    >>> figure = read_figure("< 0,5 mg/L", lambda number, unit: number < 100)
    >>> figure.low, figure.high, figure.unit
    (0.0, 0.5, 'mg/L')
    """
    whole = text.strip()
    if _DATE.fullmatch(whole):
        raise NotationError("unit.is_a_date", text=whole)
    rest, about = _begin(_halves(whole))
    rest, at = _without_temperature(rest)
    if at is not None and at != _READING_TEMPERATURE:
        raise NotationError("unit.temperature_apart", degrees=at)
    sign = _SIGN.match(rest)
    if sign:
        rest = rest[sign.end() :].lstrip()
    if spread := _SPREAD.fullmatch(rest):
        return _spread(whole, spread, plausible)
    if not sign and (both := _RANGE.fullmatch(rest)):
        return _range(whole, both, plausible)
    one = _ONE.fullmatch(rest)
    if one is None:
        raise NotationError("unit.no_number")
    unit = _unit(one["rest"])
    number, marked = _number(one["first"], unit, plausible)
    if sign:
        return _bound(whole, number, unit, above=sign["above"] is not None)
    reading = say("unit.read_as", text=whole, number=number) if about or marked else None
    return Written(number, number, unit, reading)


def _halves(text: str) -> str:
    for mark, decimal in _HALVES.items():
        text = re.sub(rf"(?<=\d)\s*{mark}", decimal, text).replace(mark, f"0{decimal}")
    return text


def _begin(text: str) -> tuple[str, bool]:
    """Take off a label or a word such as "about" before a figure."""
    about = False
    while before := _BEFORE.match(text):
        about |= before["about"] is not None
        text = text[before.end() :]
    return text, about


def _without_temperature(text: str) -> tuple[str, float | None]:
    at = _AT.search(text)
    if at is None or not re.search(r"\d.*?[a-zµμ]", text[: at.start()], re.IGNORECASE):
        return text, None
    return text[: at.start()], float(at["degrees"].replace(",", "."))


def _unit(text: str | None) -> str | None:
    return text.strip() or None if text else None


def _bound(text: str, number: float, unit: str | None, *, above: bool) -> Written:
    if above:
        reading = say("unit.read_as_at_least", text=text, number=number)
        return Written(number, math.inf, unit, reading)
    return Written(0.0, number, unit, say("unit.read_as_below", text=text, number=number))


def _range(
    text: str, both: re.Match[str], plausible: Callable[[float, str | None], bool]
) -> Written:
    unit = _unit(both["rest"]) or _unit(both["unit"])
    low, high = (_number(both[end], unit, plausible)[0] for end in ("first", "second"))
    if not low <= high:
        raise NotationError("unit.range_turned", text=text)
    return Written(low, high, unit, say("unit.read_as_range", text=text))


def _spread(
    text: str, both: re.Match[str], plausible: Callable[[float, str | None], bool]
) -> Written:
    unit = _unit(both["rest"])
    middle, half = (_number(both[end], unit, plausible)[0] for end in ("first", "second"))
    return Written(middle - half, middle + half, unit, say("unit.read_as_range", text=text))


def _number(
    text: str, unit: str | None, plausible: Callable[[float, str | None], bool]
) -> tuple[float, bool]:
    """Return a number, and whether its marks were read in a way that should be told."""
    digits, _, power = re.sub("[eE]", "e", text).partition("e")
    bare = re.sub("['’\u00a0\u202f ]", "", digits)
    grouped_by_space = bare != digits
    marks = re.findall(r"[.,]", bare)
    told = grouped_by_space or "," in marks
    plain = _plain(bare, marks)
    if len(marks) == 1 and (open_ := _opened(bare, marks[0])):
        as_group = float(bare.replace(marks[0], ""))
        if plausible(as_group, unit) or not plausible(open_, unit):
            raise NotationError("unit.open_figure", text=text, plain=open_, grouped=as_group)
    try:
        return float(f"{plain}e{power or 0}"), told
    except (ValueError, OverflowError) as error:
        raise NotationError("unit.no_number") from error


def _opened(text: str, mark: str) -> float | None:
    """Return a number whose mark may part thousands, read with a decimal mark."""
    before, _, after = text.lstrip("+-").partition(mark)
    if len(after) == 3 and 1 <= len(before) <= 3 and not before.startswith("0"):
        return float(text.replace(mark, "."))
    return None


def _plain(text: str, marks: list[str]) -> str:
    """Return digits with a decimal point at most."""
    if len(marks) < 2:
        return text.replace(",", ".")
    last = marks[-1]
    if len(set(marks)) == 1:
        groups = text.lstrip("+-").split(last)
        if all(len(group) == 3 for group in groups[1:]) and 1 <= len(groups[0]) <= 3:
            return text.replace(last, "")
        raise NotationError("unit.no_number")
    if marks.count(last) > 1:
        raise NotationError("unit.no_number")
    other = marks[0]
    whole, _, decimals = text.partition(last)
    groups = whole.lstrip("+-").split(other)
    if not all(len(group) == 3 for group in groups[1:]):
        raise NotationError("unit.no_number")
    return f"{whole.replace(other, '')}.{decimals}"
