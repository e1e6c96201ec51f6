"""Figures with a unit as people write them, read into the unit of their kind, at the edge.

A quantity comes in as a bare number in the documented unit of its kind, as text
(``"2300 µS/cm"``) or as ``{"value": 2.3, "unit": "mS/cm"}``, and leaves this module as a plain
float in that kind's internal unit.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from saltcalc.data.name_forms import SUBSCRIPTS, SUPERSCRIPTS, plain
from saltcalc.data.report_names import ASK_FORM, found_in
from saltcalc.data.reported_ions import molar_mass, other_forms, reported_ions
from saltcalc.data.trade_sizes import sizes_like, trade_size, trade_size_in
from saltcalc.message import Message, say
from saltcalc.notation import NotationError, Written, read_figure
from saltcalc.unit_registry import registry
from saltcalc.unit_spellings import BARE_US_MEASURE, why_not, written_by_a_meter
from saltcalc.units import (
    EC,
    HARDNESS,
    LENGTH,
    MASS,
    MOST_UNITS,
    OF_CHARGE,
    PURE,
    Kind,
    QuantityError,
    convert,
    parse_unit,
)


@dataclass(frozen=True)
class Measured:
    """A quantity in the internal unit of its kind, and how its text was read.

    ``reading`` is None unless the text left something open that had to be decided: then it is
    the sentence to list among the assumptions. ``low`` and ``high`` are the ends of what was
    written as a range, a spread, or above or below a figure; NaN for a single figure.
    ``unit_written`` tells a quantity with its unit from a bare number in the unit of the field.
    """

    value: float
    reading: Message | None = None
    unit_written: bool = False
    low: float = math.nan
    high: float = math.nan

    @property
    def is_range(self) -> bool:
        """Whether it was written as a range, or as above or below a figure."""
        return not math.isnan(self.low)


class Told(float):
    """A plain number, and how its text was read where that left something open."""

    reading: Message | None

    def __new__(cls, number: float, reading: Message | None) -> Told:
        """Return a number with how it was read."""
        told = super().__new__(cls, number)
        told.reading = reading
        return told


LONGEST_TEXT = 100
"""Characters of the longest text of a quantity or a unit."""

QUANTITY_PATTERN = r"\d"

UNIT_PATTERN = r"\S"
"""What the texts of figures and of units hold, for the contract."""

_SIGNIFICANT_DIGITS = 14
"""What is kept of a conversion, so that 2300 µS/cm and 2.3 dS/m are one number."""

_SMALL_DIGITS = SUBSCRIPTS | SUPERSCRIPTS | str.maketrans("º−", "°-")

_SIEMENS_SLIP = re.compile(
    r"(?P<prefix>[mMuUµμdD])[sS](?P<length> *(?:/ *[cC]?[mM]|[ ·.]?[cC]?[mM]-1))"
)

_MOLES_OF = re.compile(
    r"(?i:mmol\s*(?:/\s*(?:L|dm3|dm³)|L-1)|mol\s*/\s*m[3³])(?:\s+(?P<form>HCO3|CaCO3)-?)?"
)
_MOST_DEGREES = 60.0
"""Hardness without a unit up to which degrees or grains may be meant (judgement)."""

_OF_PH = re.compile(r"\s*ph\b", re.IGNORECASE)
_FRENCH_DEGREE = re.compile(r"°?\s*[fF]")

_AS = re.compile(r"\b(?:as|of|als|como|en|come|comme)\s+(?=[A-Z])")

_FORM_INSIDE = re.compile(
    r"(?P<amount>[mµμun]?g|[mµμu]?mol|m?eq|mval|me)\s*"
    r"(?P<form>[A-Z][A-Za-z0-9]*(?:-[A-Z]\w*|\s?\d?[+-]{1,2})?)\s*"
    r"/\s*(?P<base>(?:100\s*)?[md]?[lL]\b)"
)

_FORM = re.compile(
    r"(?P<unit>.*?(?:/ *(?:100 *)?[md]?[Ll]\b|ppm|ppb|[Ll]-1))\s*"
    r"(?P<form>[A-Z][\w-]*(?:\s?\d?[+-]{1,2})?)"
)

_FORM_IN_WORDS = re.compile(
    r"(?P<unit>.*?(?:/ *(?:100 *)?[md]?[Ll]\b|ppm|ppb|[Ll]-1))\s+(?:of\s+|de\s+|d')?"
    r"(?P<words>[^\W\d_](?:[^\W\d_]|[ '-](?=[^\W\d_])){3,})",
)
"""The form of an ion behind its unit as a word: ``mg/L nitrate-nitrogen``."""


_FORM_BEFORE = re.compile(
    r"(?P<form>[A-Z][A-Za-z0-9-]{0,8}(?:\s?\d?[+-]{1,2}(?=[\s:=]))?)\s*[:=]?\s+(?P<figure>[<>≤≥~.,\d].*)"
)
"""The form of an ion before its figure: ``NO3: 200 mg/L``."""

_VESSEL = re.compile(
    r"(?<=\S)\s+(?:(?:fabric|plastic|clay|grow(?:ing)?|round|square)[ -])?"
    r"(?:pots?|tubs?|bags?|buckets?|containers?|planters?|trays?|crates?|sacks?|cans?|"
    r"topf|töpfe|kübel|sack|säcke|eimer|beutel|kasten|kisten?|seaux?|sacs?|bacs?|macetas?|"
    r"bolsas?|cubos?|vas[oi]|sacc(?:o|hi)|secchi?o?|zak(?:ken)?|emmers?|bak(?:ken)?)$",
    re.IGNORECASE,
)
"""What holds the volume, behind its unit."""

_SIZE = re.compile(
    r"(?P<sides>\d+(?:[.,]\d+)?(?:\s*[x×*]\s*\d+(?:[.,]\d+)?){2})\s*(?P<unit>[^\d\s]*)",
    re.IGNORECASE,
)

_PARTS_PER = {
    "ppm": "mg/L",
    "ppb": "µg/L",
    "parts per million": "mg/L",
    "parts per billion": "µg/L",
}


def read_quantity(given: Any, kind: Kind) -> Measured:
    """Read a quantity of the given kind.

    Parameters
    ----------
    given : number, str or mapping
        As it is in the request.
    kind : Kind
        Which quantity it is.

    Returns
    -------
    Measured
        The value in the internal unit of ``kind``.

    Raises
    ------
    QuantityError
        If it is not a quantity, has another dimension, or lies outside the range of the kind.
    """
    written = _split(given, kind)
    if not math.isfinite(written.low):
        raise QuantityError("unit.not_finite")
    number = written.low
    share, unit, told = _unit_of(written.unit, kind)
    if kind.charges and written.unit is None and 1 <= number <= _MOST_DEGREES:
        if isinstance(given, str):
            raise QuantityError("unit.degrees_or_mass", number=number)
        told = say("unit.mass_and_no_degrees", number=number)
    reading = _both(written.reading, told)
    ends = [
        _converted(share, end, unit, kind)
        for end in (written.low, written.high)
        if math.isfinite(end)
    ]
    for end in ends:
        _check_range(end, number, kind)
    if written.low == written.high:
        return Measured(ends[0], reading, written.unit is not None)
    middle = sum(ends) / len(ends)
    high = ends[-1] if len(ends) > 1 else math.inf
    return Measured(middle, reading, written.unit is not None, ends[0], high)


def _converted(share: float, number: float, unit: str, kind: Kind) -> float:
    """Return a number in the internal unit: as it was sent, where that is its own."""
    value = convert(share * number, unit, kind)
    return value if value == number else float(f"{value:.{_SIGNIFICANT_DIGITS}g}")


@lru_cache(maxsize=MOST_UNITS)
def _unit_of(text: str | None, kind: Kind) -> tuple[float, str, Message | None]:
    """Return what a figure is to be multiplied by, its unit then, and how the text was read."""
    if text is None:
        return 1.0, kind.unit, None
    unit = _AS.sub("", text.strip().translate(_SMALL_DIGITS))
    if kind.internal == "L":
        unit = _VESSEL.sub("", unit)
    unit = _FORM_INSIDE.sub(r"\g<amount>/\g<base> \g<form>", unit)
    if kind.internal == HARDNESS.internal and not kind.ion and _FRENCH_DEGREE.fullmatch(unit):
        unit = "°fH"
    if why := why_not(unit):
        raise QuantityError("unit.no_fit_because", unit=unit, why=say(why))
    share, unit = _in_charges(unit, kind.charges) if kind.charges else (1.0, unit)
    reading = None
    of_ec = kind.internal == EC.internal
    if of_ec and (scale := written_by_a_meter(unit)):
        return 1 / scale, "mS/cm", say("unit.read_as_meter", written=unit, scale=scale)
    if kind.ion:
        share, unit, reading = _in_reported_form(_with_formula(unit, kind.ion), kind.ion)
    if (kind.ion or kind.dilute) and unit.lower() in _PARTS_PER:
        parts, unit = unit, _PARTS_PER[unit.lower()]
        return share, unit, _both(reading, say("unit.read_as_dilute", written=parts, unit=unit))
    if BARE_US_MEASURE.fullmatch(unit):
        litres = registry.Quantity(1, parse_unit(unit)).to("L").magnitude
        reading = say("unit.read_as_us_measure", unit=unit, litres=litres)
    elif of_ec and (slip := _SIEMENS_SLIP.fullmatch(unit)) and not _is_siemens(unit):
        written, unit = unit, f"{slip['prefix'].lower()}S{slip['length'].lower()}"
        reading = say("unit.read_as_siemens", written=written, unit=unit)
    return share, unit, reading


def _in_charges(unit: str, charges: int) -> tuple[float, str]:
    """Return the charges of a mole, and their unit, of a sum that is given in moles or as a form.

    A mole of bicarbonate takes up one of acid, one of calcium carbonate two.
    """
    if unit in ("CaCO3", "HCO3"):
        return 1.0, f"mg/L {unit}"
    written = _MOLES_OF.fullmatch(unit)
    if written is None or (written["form"] == "HCO3" and charges != 1):
        return 1.0, unit
    return 2.0 if written["form"] == "CaCO3" else float(charges), "mmol_c/L"


def _with_formula(unit: str, ion: str) -> str:
    """Write a form that is told in words as its formula, and a mass before a formula alone."""
    own = reported_ions()[ion].reported_as
    if unit == own or unit in other_forms().get(ion, {}):
        return f"mg/L {unit}"
    written = _FORM_IN_WORDS.fullmatch(unit)
    if written is None:
        return unit
    named, left = found_in(tuple(plain(written["words"]).split()), "figure")
    if left or len(named) != 1 or named[0].means.rpartition("/")[2] != ion:
        return unit
    if (form := named[0].form) == ASK_FORM:
        forms = [own, *other_forms().get(ion, {})]
        raise QuantityError("unit.which_form", name=written["words"], forms=forms)
    return f"{written['unit']} {form.removesuffix(ASK_FORM) or own}"


def _both(first: Message | None, second: Message | None) -> Message | None:
    if first and second:
        return say("unit.two_readings", first=first, second=second)
    return first or second


def _in_reported_form(unit: str, ion: str) -> tuple[float, str, Message | None]:
    """Take the chemical form from behind a unit, and bring a mass of it to the reported form."""
    written = _FORM.fullmatch(unit)
    if written is None:
        return 1.0, unit, None
    own = reported_ions()[ion].reported_as
    known = {own: 1.0} | other_forms().get(ion, {})
    form, bare = _without_charge(written["form"], known), written["unit"].strip()
    if form == own or (own in form.split("-") and len(form) > len(own)):
        return 1.0, bare, None
    share = known.get(form)
    if share is None or form in OF_CHARGE:
        return 1.0, unit, None
    if bare.lower() not in _PARTS_PER:
        amount = registry.Quantity(1, parse_unit(bare))
        if not amount.check(MASS):
            moles = amount.check("[substance]/[volume]")
            share *= molar_mass(form) / molar_mass(own)
            return float(round(share)) if moles else 1.0, bare, None
    told = {"unit": unit, "form": form, "share": share, "own": own}
    name = say(f"reported_ions.name.{ion}")
    return share, bare, say("unit.read_as_form", ion=name, **told)


def _without_charge(form: str, known: Mapping[str, float]) -> str:
    """Return a formula without the charge behind it: ``NO3-``, ``SO4--``, ``Ca2+``."""
    plainly = form.rstrip("+-").rstrip()
    return plainly if plainly in known else re.sub(r"\s?\d?[+-]+$", "", form)


def _is_siemens(unit: str) -> bool:
    """Tell whether a unit of conductivity has the sizes of letters that it should have."""
    return unit[0] not in "MUD" and unit[1] == "S" and not re.search("[CM]", unit[2:])


def _split(given: Any, kind: Kind) -> Written:
    if isinstance(given, bool):
        raise QuantityError("unit.true_or_false")
    if isinstance(given, int | float):
        number = _as_float(given)
        return Written(number, number, None)
    if isinstance(given, str):
        return _read(given, kind)
    if isinstance(given, Mapping):
        return _split_mapping(given, kind)
    raise QuantityError("unit.no_quantity")


def _read(text: str, kind: Kind) -> Written:
    _check_length(text)
    if _OF_PH.match(text) and kind is not PURE:
        raise QuantityError("unit.no_fit", unit="pH")
    if kind.internal == "L" and (size := trade_size_in(text)):
        return _trade_size(text, size)
    if kind.internal == "L" and (sides := _SIZE.fullmatch(text.strip())):
        raise QuantityError("unit.is_a_size", text=text, litres=_to_the_brim(sides))
    if kind.ion and (before := _FORM_BEFORE.fullmatch(text.strip().translate(_SMALL_DIGITS))):
        text = _form_behind(before)

    def is_usual(number: float, unit: str | None) -> bool:
        share, plain, _ = _unit_of(unit, kind)
        value = convert(share * number, plain, kind)
        return max(kind.low, kind.usual[0]) <= value <= min(kind.high, kind.usual[1])

    try:
        return read_figure(text, is_usual)
    except NotationError as error:
        raise QuantityError(error.message.id, **error.message.told) from error


def _form_behind(written: re.Match[str]) -> str:
    """Write the form of an ion behind its figure, with the unit of a bare one."""
    figure, form = written["figure"], re.sub(r"\s?\d?[+-]+$", "", written["form"])
    bare = not re.search(r"[^\W\d]", figure)
    return f"{figure} mg/L {form}" if bare else f"{figure} {form}"


def _to_the_brim(size: re.Match[str]) -> float:
    """Return the volume of a box by its three sides [L], in cm unless another unit is written."""
    sides = [float(each.replace(",", ".")) for each in re.split(r"\s*[x×*]\s*", size["sides"])]
    return math.prod(convert(each, size["unit"] or "cm", LENGTH) for each in sides) / 1000


def _trade_size(text: str, size: str) -> Written:
    row = trade_size(size)
    if row is None:
        problem = "unit.no_trade_size" if size.startswith("#") else "unit.pot_by_width"
        raise QuantityError(problem, text=text, sizes=sizes_like(size))
    which = "trade" if row.low < row.high else "pot"
    return Written(row.low, row.high, row.unit, say(f"unit.read_as_{which}_size", text=text))


def _split_mapping(given: Mapping[str, Any], kind: Kind) -> Written:
    if not {"value"} <= set(given) <= {"value", "unit"}:
        raise QuantityError("unit.members")
    value, unit = given["value"], given.get("unit")
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise QuantityError("unit.value_is_no_number")
    if unit is not None and (not isinstance(unit, str) or not unit.strip()):
        raise QuantityError("unit.unit_is_no_text")
    if unit is not None:
        _check_length(unit)
    if isinstance(value, str):
        return _read(f"{value} {unit or ''}".strip(), kind)
    number = _as_float(value)
    return Written(number, number, unit)


def _check_length(text: str) -> None:
    if len(text) > LONGEST_TEXT:
        raise QuantityError("unit.too_long", longest=LONGEST_TEXT)


def _as_float(number: str | float) -> float:
    try:
        return float(number)
    except OverflowError:
        return math.inf


def _check_range(value: float, number: float, kind: Kind) -> None:
    if math.isnan(value):
        raise QuantityError("unit.no_charge")
    # 0.0001 mg/L may come out a last digit below itself in another unit.
    if value < kind.low or 0 < value < kind.least * (1 - 1e-9):
        raise QuantityError("unit.too_low", lowest=kind.lowest)
    if value > kind.high:
        if kind.hint and value == number:
            hint = say(kind.hint, value=number, slip=number / 1000)
            raise QuantityError("unit.too_high_perhaps", highest=kind.highest, hint=hint)
        raise QuantityError("unit.too_high", highest=kind.highest)
