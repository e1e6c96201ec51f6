"""Figures as laboratories and people write them: marks, ranges, signs, and what counts as none."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

from saltcalc.data.name_forms import plain
from saltcalc.data.trade_names import trade_names
from saltcalc.message import Message, say

_NUMBER = r"[-+]?(?:\d+(?:[.,'’\u00a0\u202f]+\d+)*[.,]?|[.,]\d+)(?:[eE][-+]?\d{1,3})?"
_SPACED = r"[-+]?\d{1,3}(?: \d{3})+(?:[.,]\d+)?(?![\d])"
_FIGURE = rf"(?:{_SPACED}|{_NUMBER})"
_BEFORE = re.compile(
    r"(?:between\b|zwischen\b|entre\b|tussen\b|tra\b|(?P<about>ca\b\.?|circa|c\.|approx\b\.?|approximately|about|around|roughly|some|etwa|env\b\.?|~|≈)"
    r"|(?P<unit>tds|tss|ppm|cf)\s*[:=]?|(?:ec|ecw|ece|ph|value)\s*[:=]?)\s*(?=[-+.,\d<>≤≥])",
    re.IGNORECASE,
)
_SIGN = re.compile(
    r"(?P<below><=?|≤|less than|below|under|up to|at most|max\.?|bis zu)"
    r"|(?P<above>>=?|≥|more than|above|over|at least|min\.?|greater than)",
    re.IGNORECASE,
)
_TO = r"(?:-|–|—|\.\.\.?|…|\b(?:to|bis|and|und|et|à|y|a|e|en|tot)\b)"
_RANGE = re.compile(
    rf"(?P<first>{_FIGURE})(?:\s*{_TO}|\s*(?P<unit>[^\d\s<>±.,-][^\d<>±]*?)\s+{_TO}\s)\s*"
    rf"(?P<second>{_FIGURE})\s*(?P<rest>\D.*)?",
    re.DOTALL,
)
_SPREAD = re.compile(
    rf"(?P<first>{_FIGURE})\s*(?P<unit>[^\d\s<>±+][^\d<>±+]*?)?\s*(?:±|\+/-|\+-)\s*"
    rf"(?P<second>{_FIGURE})\s*(?P<rest>\D.*)?",
    re.DOTALL,
)
_ONE = re.compile(rf"(?P<first>{_FIGURE})\s*(?P<rest>[^\d.,].*)?", re.DOTALL)
_PLAIN = re.compile(
    r"(?P<number>\d+(?:\.\d+)?)(?: ?(?P<unit>[A-Zµμ]+(?:/[A-Zµμ]+)?(?<!ec|ph)(?<!tds|tss)))?",
    re.IGNORECASE | re.ASCII,
)
"""A number with a point at most, and a simple unit: nothing else here is to be looked for in it."""
_AT = re.compile(
    r"\s*(?:@|\bat\b|\bbei\b|\(|,)\s*(?P<degrees>\d{1,2}(?:[.,]\d)?)\s*(?:°|deg|º)?\s*C\b\s*\)?\s*$",
    re.IGNORECASE,
)
_DATE = re.compile(r"\d{4}[-/.]\d{1,2}[-/.]\d{1,2}.*|\d{1,2}[-/.]\d{1,2}[-/.]\d{2,4}")
_UNDER_THE_LIMIT = r"n\.?\s?[dn]\.?|[bu]\.?\s?[dql]\.?(?:\s?l\.?)?|u\.?\s?b\.?g?\.?"
_NONE = re.compile(
    rf"[-–—./?*\s]*|n\.?\s?[abmqr]\.?|n/[adr]|nan|null|tbd|k\.?\s?a\.?|tr\.?|{_UNDER_THE_LIMIT}|"
    r"<\s?(?:lo[dq]|dl|mdl|rl|bg|ng|limit)",
    re.IGNORECASE,
)
_BOUND_BEHIND = re.compile(rf"(?:{_UNDER_THE_LIMIT})\s*\(?\s*(<[^()]*)\)?", re.IGNORECASE)
_MARKED = re.compile(
    r"\s*(?:[*#†‡?!↑↓]+|\((?:very |sehr |très |muy )?(?:low|high|normal|ok|optimum|hoch|niedrig|"
    r"élevé|faible|alto|bajo|hoog|laag|[hlnov]{1,2}|[*+-]+)\)|(?<=[A-Za-z%])\s(?:HH?|LL|V[HL]))\s*$",
    re.IGNORECASE,
)
"""How a laboratory marks a figure that is out of its range."""
_SOLIDS_BEHIND = re.compile(r"(?<=\d)\s*(?:ppm\s*)?\(?(?:tds|tss)\)?\s*$", re.IGNORECASE)
_LABEL_BEHIND = re.compile(
    r"(?<=\d|m)\s*(?:ec|ph|\(\s*(?:H2O|H₂O|water|wasser|eau|agua|acqua)\s*\))\s*$", re.IGNORECASE
)
_BY_COMMA = re.compile(r"[-+]?\d+,\d+")
_SOWN = r"(?:sowing|seeding|germination|emergence|aussaat|saat|(?:le\s)?semis|siembra|zaai)"
_BEHIND_UNIT = re.compile(
    rf"(?<=[A-Za-z])(?:\.|\s+(?:old|alt|ago|(?:after|since|from|nach(?:\sder)?|seit|après|depuis|"
    rf"desde(?:\sla)?|después\sde(?:\sla)?|na)\s+{_SOWN}))$",
    re.IGNORECASE,
)
_JOINED = re.compile(r"\A-(?=[A-Za-z])")
_FRACTION = re.compile(
    r"(?:(?P<whole>\d{1,3})[ -])?(?P<top>\d{1,2})\s?/\s?(?P<base>2|3|4|8|16)(?=\D)"
)
_FEET_AND_INCHES = re.compile(
    r"(?P<feet>\d{1,2})\s*(?:ft\.?|feet|foot|['’′])\s*(?P<inches>\d{1,2}(?:\.\d+)?)\s*"
    r"(?:in\.?|inch(?:es)?|[\"″”“]|''|’’)",
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
    """Tell whether a text says that there is no figure: blank, a dash, ``n.d.``, ``unknown``."""
    return _NONE.fullmatch(text.strip()) is not None or plain(text) in _words_for_none()


@cache
def _words_for_none() -> frozenset[str]:
    return frozenset(plain(name.name) for name in trade_names()["not_given"])


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
    whole = text.strip().rstrip(";").rstrip()
    if bare := _PLAIN.fullmatch(whole):
        number, unit = float(bare["number"]), bare["unit"]
        if "." in bare["number"]:
            number, _ = _number(bare["number"], unit, plausible)
        return Written(number, number, unit)
    if _DATE.fullmatch(whole):
        raise NotationError("unit.is_a_date", text=whole)
    if behind := _BOUND_BEHIND.fullmatch(whole):
        return read_figure(behind[1], plausible)
    if long := _FEET_AND_INCHES.fullmatch(whole):
        inches = 12 * float(long["feet"]) + float(long["inches"])
        told = say("unit.read_as_inches", text=whole, inches=inches)
        return Written(inches, inches, "inch", told)
    marked = _MARKED.search(whole)
    rest, about = _begin(_halves(whole[: marked.start()] if marked else whole))
    rest = _LABEL_BEHIND.sub("", _SOLIDS_BEHIND.sub(" ppm", rest))
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
    number, in_groups = _number(one["first"], unit, plausible)
    if sign:
        return _bound(whole, number, unit, above=sign["above"] is not None)
    reading = None
    if about or in_groups or marked:
        by_comma = _BY_COMMA.fullmatch(one["first"]) and not about and not marked
        which = "unit.read_as_decimal" if by_comma else "unit.read_as"
        reading = say(which, text=whole, number=number)
    return Written(number, number, unit, reading)


def _halves(text: str) -> str:
    """Write fractions with a decimal point: ``1 1/2`` and ``1½``."""
    if part := _FRACTION.match(text):
        share = float(part["whole"] or 0) + int(part["top"]) / int(part["base"])
        text = f"{share:.6g}{text[part.end() :]}"
    for mark, decimal in _HALVES.items():
        text = re.sub(rf"(?<=\d)\s*{mark}", decimal, text).replace(mark, f"0{decimal}")
    return text


def _begin(text: str) -> tuple[str, bool]:
    """Take off a label or a word such as "about" before a figure; "TDS" and "CF" are its unit."""
    about, unit = False, None
    while before := _BEFORE.match(text):
        about |= before["about"] is not None
        unit = before["unit"] or unit
        text = text[before.end() :]
    if unit and not re.search(r"[^\W\d]", text):
        text += " CF" if unit.casefold() == "cf" else " ppm"
    return text, about


def _without_temperature(text: str) -> tuple[str, float | None]:
    at = _AT.search(text)
    if at is None or not re.search(r"\d.*?[a-zµμ]", text[: at.start()], re.IGNORECASE):
        return text, None
    return text[: at.start()], float(at["degrees"].replace(",", "."))


def _unit(text: str | None) -> str | None:
    """Return a unit without what goes without saying behind it, and the hyphen of "5-gallon"."""
    return _BEHIND_UNIT.sub("", _JOINED.sub("", text.strip())) or None if text else None


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
    unit, behind = _unit(both["unit"]), _unit(both["rest"])
    middle, half = (_number(both[end], unit or behind, plausible)[0] for end in ("first", "second"))
    if unit and behind not in (unit, "%", None):
        raise NotationError("unit.spread_in_two_units", text=text)
    if unit and unit != "%" and behind == "%":
        half *= middle / 100
    unit = unit or behind
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
    plainly = _plain(bare, marks)
    if len(marks) == 1 and (open_ := _opened(bare, marks[0])):
        as_group = float(bare.replace(marks[0], ""))
        if plausible(as_group, unit) or not plausible(open_, unit):
            raise NotationError("unit.open_figure", text=text, plain=open_, grouped=as_group)
    try:
        return float(f"{plainly}e{power or 0}"), told
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
