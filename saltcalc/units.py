"""The one pint registry and the one conversion, at the edge.

A quantity comes in as a bare number in the documented unit of its kind, as text
(``"2300 µS/cm"``) or as ``{"value": 2.3, "unit": "mS/cm"}``, and leaves this module as a plain
float in that kind's internal unit.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Any

import pint

from saltcalc.data.name_forms import SUBSCRIPTS, SUPERSCRIPTS
from saltcalc.data.reported_ions import molar_mass, other_forms, reported_ions, trace_metals
from saltcalc.data.trade_sizes import trade_size_in, trade_sizes
from saltcalc.message import Message, say
from saltcalc.notation import NotationError, Written, read_figure
from saltcalc.science.alkalinity import PER_MMOLC
from saltcalc.unit_registry import registry
from saltcalc.unit_spellings import BARE_US_MEASURE, spelled_out, why_not, written_by_a_meter

_OF_CHARGE = {"CaCO3", "CaO"}  # these have a unit of their own
_MASS = "[mass] / [length] ** 3"
_GRAM_PER_MOLE = registry.gram / registry.mole
_CHARGE_PER_MOLE = registry.charge_equivalent / registry.mole


@dataclass(frozen=True)
class Kind:
    """A kind of quantity: its units and the range that has a meaning.

    Attributes
    ----------
    unit : str
        Unit of a bare number.
    internal : str
        Unit of the float that comes out.
    low, high : float
        Least and greatest accepted value, in the internal unit.
    accepted : tuple of str
        Units to show to a person, best known first.
    example : str
        A quantity as someone would write it.
    least : float
        Least value other than zero where ``low`` is zero, in the internal unit: nothing measures
        less, and what is computed from less has no meaning.
    ion : str or None
        Id of the reported ion, for a concentration.
    formula : str
        What is counted, for a concentration without a charge that is also given in moles.
    charges : int
        Charges of a mole, for a sum of charges that is also given in moles: calcium with magnesium
        for hardness, acid that is taken up for alkalinity.
    dilute : bool
        Whether parts per million are milligrams in a litre, as for an ion.
    hint : str
        Id of the message what a value above ``high`` most often is.
    no_mass : str
        Id of the message why a mass in a volume does not fit, where one is often given.
    """

    unit: str
    internal: str
    low: float
    high: float
    accepted: tuple[str, ...]
    example: str
    least: float = 0.0
    ion: str | None = None
    formula: str = ""
    charges: int = 0
    dilute: bool = False
    hint: str = ""
    no_mass: str = ""
    usual: tuple[float, float] = (0.0, math.inf)
    """Range of ordinary figures, in the internal unit; it settles what a mark parts."""

    @property
    def highest(self) -> str:
        """The greatest accepted value, in the unit of a bare number."""
        return f"{self._in_unit(self.high)} {self.unit}"

    @property
    def lowest(self) -> Message:
        """The least accepted value, in the unit of a bare number; with zero where that is too."""
        if self.least > 0:
            return say("unit.zero_or_at_least", least=f"{self._in_unit(self.least)} {self.unit}")
        return say("unit.at_least", least=f"{self._in_unit(self.low)} {self.unit}")

    @property
    def bounds(self) -> tuple[float, float]:
        """The least and the greatest accepted value, in the unit of a bare number."""
        return float(self._in_unit(self.low)), float(self._in_unit(self.high))

    def _in_unit(self, value: float) -> str:
        return f"{value / _convert(1.0, self.unit, self):.6g}"

    @property
    def description(self) -> Message:
        """What the field accepts, in one sentence."""
        return say(
            "unit.accepted_with_zero" if self.least > 0 else "unit.accepted",
            unit=self.unit,
            example=self.example,
            low=self._in_unit(self.least or self.low),
            high=self.highest,
            units=list(self.accepted),
        )


EC = Kind(
    "dS/m",
    "dS/m",
    0.0,
    100.0,
    ("dS/m", "mS/cm", "mmho/cm", "S/m", "µS/cm"),
    "2300 µS/cm",
    hint="unit.perhaps_microsiemens",
    no_mass="unit.ppm_of_a_meter",
    least=1e-5,  # the purest water reads 5.5e-5
    usual=(0.02, 25.0),
)
TARGET_EC = replace(EC, low=0.01, least=0.0)
TEMPERATURE = Kind("°C", "degC", -5.0, 60.0, ("°C", "K", "°F"), "70 °F")
VOLUME = Kind(
    "L",
    "L",
    0.001,
    100_000.0,
    ("L", "mL", "m³", "US gal", "imperial gal", "US quart", "cubic feet"),
    "3 US gal",
    usual=(0.005, 1000.0),
)
VOLUME_OR_NONE = replace(VOLUME, low=0.0, least=1e-4)
LENGTH = Kind(
    "cm", "cm", 0.1, 1000.0, ("cm", "mm", "m", "ft", "inches"), "9 inches", usual=(0.5, 200.0)
)
LENGTH_OF_WATER = Kind("mm", "mm", 0.05, 100.0, ("mm", "cm", "inches"), "3 mm")
FLOW = Kind(
    "L/h",
    "L/hour",
    0.01,
    100_000.0,
    ("L/h", "L/min", "mL/min", "US gal/h", "US gal/min"),
    "10 L/min",
)
PLANT_AGE = Kind("days", "day", 0.0, 3650.0, ("days", "weeks", "months"), "3 weeks")
_LEAST_MASS = 1e-4
"""Least concentration [mg/L], below what a laboratory of the trade reports (judgement)."""

_MOST_USUAL = 3000.0
"""Concentration of an ion [mg/L] that hardly any extract or water reaches (judgement)."""

MASS_CONCENTRATION = Kind(
    "mg/L", "mg/L", 0.0, 1e4, ("mg/L", "ppm", "µg/L"), "0.3 ppm", dilute=True, least=_LEAST_MASS
)
DISSOLVED_SOLIDS = Kind(
    "mg/L", "mg/L", 0.0, 2e5, ("mg/L", "g/L", "ppm"), "850 ppm", dilute=True, least=_LEAST_MASS
)
REST = Kind("min", "hour", 0.0, 48.0, ("min", "h"), "45 min")
TIME_AFTER = replace(REST, high=2400.0, accepted=("min", "h", "days"))
_SUM_OF_CHARGE = ("mg/L CaCO3", "°dH", "°fH", "°e", "meq/L", "mmol_c/L")
HARDNESS = Kind(
    "mg/L CaCO3",
    "mmol_c/L",
    0.0,
    1000.0,
    _SUM_OF_CHARGE,
    "12 °dH",
    usual=(0.0, 20.0),
    least=_LEAST_MASS / PER_MMOLC["mg/L CaCO3"],
    charges=2,
)
ALKALINITY = replace(
    HARDNESS, accepted=("mg/L HCO3", *_SUM_OF_CHARGE), example="150 mg/L CaCO3", charges=1
)
WATER_DEPTH_PER_DAY = Kind(
    "mm/day", "mm/day", 0.0, 50.0, ("mm/day", "cm/day", "inches/day"), "4 mm/day", least=0.01
)
PURE = Kind("dimensionless", "dimensionless", -math.inf, math.inf, ("%",), "60 %")


@cache
def element_kind(element: str) -> Kind:
    """Return the kind of a concentration of a micronutrient: mg/L of the element, or moles."""
    metal = trace_metals().get(element)
    formula = metal.symbols[0].capitalize() if metal else reported_ions()[element].reported_as
    accepted = ("mg/L", "ppm", "µg/L", "µmol/L")
    return replace(MASS_CONCENTRATION, accepted=accepted, formula=formula)


@cache
def ion_kind(ion: str) -> Kind:
    """Return the kind of a concentration: mg/L of the reported form, mmol_c/L inside.

    Boron carries no charge and stays in mg/L.
    """
    facts = reported_ions()[ion]
    if facts.charge == 0:
        return Kind(
            "mg/L",
            "mg/L",
            0.0,
            1e5,
            ("mg/L", "ppm", "µmol/L", "mmol/L"),
            "0.4 ppm",
            ion=ion,
            least=_LEAST_MASS,
            usual=(0.0, 20.0),
        )
    per_milligram = abs(facts.charge) / facts.molar_mass
    greatest = round(2e5 / facts.molar_mass * abs(facts.charge))
    return Kind(
        "mg/L",
        "mmol_c/L",
        0.0,
        greatest,
        ("mg/L", "ppm", "meq/L", "mmol_c/L", "mmol/L"),
        "65 ppm",
        ion=ion,
        least=_LEAST_MASS * per_milligram,
        usual=(0.0, _MOST_USUAL * per_milligram),
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


class QuantityError(ValueError):
    """A quantity that cannot be read; the message says why, for the sender."""

    def __init__(self, message: str, /, **told: Any) -> None:
        super().__init__(message)
        self.message = say(message, **told)


LONGEST_TEXT = 100
"""Characters of the longest text of a quantity or a unit."""

_MOST_UNITS = 1000
"""Unit texts that are remembered; the registry remembers a few results for each."""

# One term is letters with at most a one-digit exponent, so that nothing here computes.
_TERM = r"[A-Za-zµμ°%_]+(?:(?:\*\*|\^)?-?[1-3]|[²³])?"
_UNIT = re.compile(rf"{_TERM}(?:(?:\s*[/*·⋅]\s*|\s+){_TERM}){{0,6}}")
QUANTITY_PATTERN = r"\d"
UNIT_PATTERN = r"\S"
"""What the texts of figures and of units hold, for the contract."""

_SIGNIFICANT_DIGITS = 14
"""What is kept of a conversion, so that 2300 µS/cm and 2.3 dS/m are one number."""

_SMALL_DIGITS = SUBSCRIPTS | SUPERSCRIPTS | str.maketrans("º", "°")
_SIEMENS_SLIP = re.compile(
    r"(?P<prefix>[mMuUµμdD])[sS](?P<length> *(?:/ *[cC]?[mM]|[ ·.]?[cC]?[mM]-1))"
)
_MOLES = re.compile(r"mmol\s*(?:/\s*(?:L|dm3|dm³)|L-1)|mol\s*/\s*m[3³]", re.IGNORECASE)
_OF_PH = re.compile(r"\s*ph\b", re.IGNORECASE)
_FRENCH_DEGREE = re.compile(r"°?\s*[fF]")
_AS = re.compile(r"\b(?:as|of|als|como|en|come|comme)\s+(?=[A-Z])")
_FORM_INSIDE = re.compile(
    r"(?P<amount>[mµμun]?g|[mµμu]?mol|m?eq|mval|me)\s*"
    r"(?P<form>[A-Z][A-Za-z0-9]*(?:-[A-Z]\w*|\s?\d?[+-]{1,2})?)\s*"
    r"/\s*(?P<base>(?:100\s*)?[md]?[lL]\b)"
)
_BARE_SIEMENS = re.compile(r"(?P<prefix>[mµμu])S", re.IGNORECASE)
_FORM = re.compile(
    r"(?P<unit>.*?(?:/ *(?:100 *)?[md]?[Ll]\b|ppm|ppb|[Ll]-1))\s*"
    r"(?P<form>[A-Z][\w-]*(?:\s?\d?[+-]{1,2})?)"
)
_PARTS_PER = {"ppm": "mg/L", "ppb": "µg/L"}


def read_quantity(given: Any, kind: Kind) -> Measured:
    """Read a quantity of the given kind.

    Parameters
    ----------
    given : number, str or mapping
        As it stands in the request.
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
    reading = _both(written.reading, told)
    ends = [
        float(f"{_convert(share * end, unit, kind):.{_SIGNIFICANT_DIGITS}g}")
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


def _unit_of(text: str | None, kind: Kind) -> tuple[float, str, Message | None]:
    """Return what a figure is to be multiplied by, its unit then, and how the text was read."""
    if text is None:
        return 1.0, kind.unit, None
    unit = _AS.sub("", text.strip().translate(_SMALL_DIGITS))
    unit = _FORM_INSIDE.sub(r"\g<amount>/\g<base> \g<form>", unit)
    if kind.internal == HARDNESS.internal and not kind.ion and _FRENCH_DEGREE.fullmatch(unit):
        unit = "°fH"
    if why := why_not(unit):
        raise QuantityError("unit.no_fit_because", unit=unit, why=say(why))
    if kind.charges and _MOLES.fullmatch(unit):
        return kind.charges, "mmol_c/L", None
    share, reading = 1.0, None
    of_ec = kind.internal == EC.internal
    if of_ec and (scale := written_by_a_meter(unit)):
        return 1 / scale, "mS/cm", say("unit.read_as_meter", written=unit, scale=scale)
    if kind.ion:
        share, unit, reading = _in_reported_form(1.0, unit, kind.ion)
    if (kind.ion or kind.dilute) and unit.lower() in _PARTS_PER:
        parts, unit = unit, _PARTS_PER[unit.lower()]
        return share, unit, _both(reading, say("unit.read_as_dilute", written=parts, unit=unit))
    if BARE_US_MEASURE.fullmatch(unit):
        litres = registry.Quantity(1, _parse_unit(unit)).to("L").magnitude
        reading = say("unit.read_as_us_measure", unit=unit, litres=litres)
    elif of_ec and (slip := _SIEMENS_SLIP.fullmatch(unit)) and not _is_siemens(unit):
        written, unit = unit, f"{slip['prefix'].lower()}S{slip['length'].lower()}"
        reading = say("unit.read_as_siemens", written=written, unit=unit)
    return share, unit, reading


def _both(first: Message | None, second: Message | None) -> Message | None:
    if first and second:
        return say("unit.two_readings", first=first, second=second)
    return first or second


def _in_reported_form(number: float, unit: str, ion: str) -> tuple[float, str, Message | None]:
    """Take the chemical form from behind a unit, and bring a mass of it to the reported form."""
    written = _FORM.fullmatch(unit)
    if written is None:
        return number, unit, None
    own = reported_ions()[ion].reported_as
    known = {own: 1.0} | other_forms().get(ion, {})
    form, bare = _without_charge(written["form"], known), written["unit"].strip()
    if form == own or (own in form.split("-") and len(form) > len(own)):
        return number, bare, None
    share = known.get(form)
    if share is None or form in _OF_CHARGE:
        return number, unit, None
    if bare.lower() not in _PARTS_PER:
        amount = registry.Quantity(1, _parse_unit(bare))
        if not amount.check(_MASS):
            moles = amount.check("[substance]/[volume]")
            share *= molar_mass(form) / molar_mass(own)
            return number * (round(share) if moles else 1), bare, None
    told = {"unit": unit, "form": form, "share": share, "own": own}
    name = say(f"reported_ions.name.{ion}")
    return number * share, bare, say("unit.read_as_form", ion=name, **told)


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

    def is_usual(number: float, unit: str | None) -> bool:
        share, plain, _ = _unit_of(unit, kind)
        value = _convert(share * number, plain, kind)
        return max(kind.low, kind.usual[0]) <= value <= min(kind.high, kind.usual[1])

    try:
        return read_figure(text, is_usual)
    except NotationError as error:
        raise QuantityError(error.message.id, **error.message.told) from error


def _trade_size(text: str, size: str) -> Written:
    row = trade_sizes().get(size)
    if row is None:
        raise QuantityError(
            "unit.no_trade_size", text=text, sizes=[f"#{each}" for each in trade_sizes()]
        )
    return Written(row.low, row.high, "inch**3", say("unit.read_as_trade_size", text=text))


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


@lru_cache(maxsize=_MOST_UNITS)
def _parse_unit(text: str) -> Any:
    _keep_registry_small()
    plain = spelled_out(text)
    if not _UNIT.fullmatch(plain):
        raise QuantityError("unit.unknown", unit=text.strip()[:40])
    try:
        unit = registry.parse_units(plain)
        _check_no_hidden_factor(unit, text)
        return unit
    except (pint.errors.PintError, ValueError, TypeError, AttributeError, KeyError) as error:
        raise QuantityError("unit.unknown", unit=text.strip()[:40]) from error


def _check_no_hidden_factor(unit: Any, text: str) -> None:
    """Refuse a unit with a factor that has no dimension: ``grad dH`` is no product of an angle."""
    parts = [*unit._units]
    if len(parts) > 1 and any(registry.Unit(each).dimensionless for each in parts):
        raise QuantityError("unit.unknown", unit=text.strip()[:40])


def _keep_registry_small() -> None:
    """Let the registry forget what it would else keep for every unit ever sent."""
    memory = registry._cache
    found: dict[Any, Any]
    for found in (
        memory.parse_unit,
        memory.root_units,
        memory.dimensionality,
        memory.conversion_factor,
    ):
        if len(found) > 4 * _MOST_UNITS:
            found.clear()


def _convert(number: float, unit: str, kind: Kind) -> float:
    if kind is EC and (bare := _BARE_SIEMENS.fullmatch(unit)):
        meant = f"{bare['prefix'].lower()}S/cm"
        raise QuantityError("unit.conductance", unit=unit, meant=meant)
    slope, offset = _scale(unit, kind)
    return slope * number + offset


@lru_cache(maxsize=_MOST_UNITS)
def _scale(unit: str, kind: Kind) -> tuple[float, float]:
    """Return the slope and the offset from a unit to the internal one of a kind."""
    none, one = (registry.Quantity(number, _parse_unit(unit)) for number in (0.0, 1.0))
    if kind.no_mass and (one.check("[mass]/[volume]") or one.units == registry.ppm):
        raise QuantityError("unit.no_fit_because", unit=unit.strip(), why=say(kind.no_mass))
    formula, charge = kind.formula, 0
    if kind.ion:
        formula, charge = reported_ions()[kind.ion].reported_as, reported_ions()[kind.ion].charge
    ion = ("ion",) if formula else ()
    facts = _ion_parameters(formula, charge) if formula else {}
    try:
        offset, top = (
            float(each.to(kind.internal, *ion, **facts).magnitude) for each in (none, one)
        )
    except (pint.errors.DimensionalityError, pint.errors.OffsetUnitCalculusError) as error:
        raise QuantityError("unit.no_fit", unit=unit.strip()) from error
    return top - offset, offset


@cache
def scale_between(unit: str, other: str) -> tuple[float, float]:
    """Return the slope and the offset that bring a figure from one unit to another.

    Raises
    ------
    QuantityError
        If a unit is not known.
    pint.DimensionalityError
        If they measure different things.
    """
    none, one = (
        float(registry.Quantity(number, _parse_unit(unit)).to(_parse_unit(other)).magnitude)
        for number in (0.0, 1.0)
    )
    return one - none, none


def _ion_parameters(formula: str, charge: int) -> dict[str, Any]:
    return {
        "molar_mass": molar_mass(formula) * _GRAM_PER_MOLE,
        "charge": (abs(charge) or math.nan) * _CHARGE_PER_MOLE,
    }


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
