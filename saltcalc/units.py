"""The kinds of quantity: their units, the range that has a meaning, and the one conversion."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Any

import numpy as np
import pint

from saltcalc.data.reported_ions import molar_mass, reported_ions, trace_metals
from saltcalc.message import Message, say
from saltcalc.science.alkalinity import PER_MMOLC
from saltcalc.unit_registry import registry
from saltcalc.unit_spellings import spelled_out

OF_CHARGE = {"CaCO3", "CaO"}  # these have a unit of their own
MASS = "[mass] / [length] ** 3"
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
        number = float(f"{value / convert(1.0, self.unit, self):.6g}")
        return np.format_float_positional(number, trim="-")

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


class QuantityError(ValueError):
    """A quantity that cannot be read; the message says why, for the sender."""

    def __init__(self, message: str, /, **told: Any) -> None:
        super().__init__(message)
        self.message = say(message, **told)


MOST_UNITS = 1000
"""Unit texts that are remembered; the registry remembers a few results for each."""

# One term is letters with at most a one-digit exponent, so that nothing here computes.
_TERM = r"[A-Za-zµμ°%_]+(?:(?:\*\*|\^)?-?[1-3]|[²³])?"
_UNIT = re.compile(rf"{_TERM}(?:(?:\s*[/*·⋅]\s*|\s+){_TERM}){{0,6}}")


_REMARK = re.compile(r"[^()]*\((?P<remark>[^()]*)\)?")
_BARE_SIEMENS = re.compile(r"(?P<prefix>[mµμu])S", re.IGNORECASE)


@lru_cache(maxsize=MOST_UNITS)
def parse_unit(text: str) -> Any:
    """Return the unit that a text names."""
    _keep_registry_small()
    plain = spelled_out(text)
    if not _UNIT.fullmatch(plain):
        raise _unknown(text)
    try:
        unit = registry.parse_units(plain)
        _check_no_hidden_factor(unit, text)
        return unit
    except (pint.errors.PintError, ValueError, TypeError, AttributeError, KeyError) as error:
        raise _unknown(text) from error


def _unknown(unit: str) -> QuantityError:
    """Return why a unit is not known; a remark in brackets is asked to be left out."""
    if remark := _REMARK.fullmatch(unit.strip()):
        return QuantityError("unit.remark", remark=remark["remark"][:40])
    return QuantityError("unit.unknown", unit=unit.strip()[:40])


def _check_no_hidden_factor(unit: Any, text: str) -> None:
    """Refuse a unit with a factor that has no dimension: ``grad dH`` is no product of an angle."""
    parts = [*unit._units]
    if len(parts) > 1 and any(registry.Unit(each).dimensionless for each in parts):
        raise _unknown(text)


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
        if len(found) > 4 * MOST_UNITS:
            found.clear()


def convert(number: float, unit: str, kind: Kind) -> float:
    """Return a number in the internal unit of its kind."""
    slope, offset = _scale(unit, kind)
    return slope * number + offset


@lru_cache(maxsize=MOST_UNITS)
def _scale(unit: str, kind: Kind) -> tuple[float, float]:
    """Return the slope and the offset from a unit to the internal one of a kind."""
    if kind is EC and (bare := _BARE_SIEMENS.fullmatch(unit)):
        meant = f"{bare['prefix'].lower()}S/cm"
        raise QuantityError("unit.conductance", unit=unit, meant=meant)
    none, one = (registry.Quantity(number, parse_unit(unit)) for number in (0.0, 1.0))
    if kind.no_mass and (one.check("[mass]/[volume]") or one.units == registry.ppm):
        raise QuantityError("unit.no_fit_because", unit=unit.strip(), why=say(kind.no_mass))
    formula, charge = kind.formula, 0
    if kind.ion:
        formula, charge = reported_ions()[kind.ion].reported_as, reported_ions()[kind.ion].charge
    ion = ("ion",) if formula else ()
    facts: dict[str, Any] = {}
    if formula:
        facts["molar_mass"] = molar_mass(formula) * _GRAM_PER_MOLE
        facts["charge"] = (abs(charge) or math.nan) * _CHARGE_PER_MOLE
    try:
        offset, top = (
            float(each.to(kind.internal, *ion, **facts).magnitude) for each in (none, one)
        )
    except (pint.errors.DimensionalityError, pint.errors.OffsetUnitCalculusError) as error:
        if kind.internal == "L" and one.check("[length]"):
            why = say("unit.length_is_no_volume")
            raise QuantityError("unit.no_fit_because", unit=unit.strip(), why=why) from error
        if kind.charges and (one.check("[mass]/[volume]") or one.units == registry.ppm):
            why = say("unit.mass_of_which_form", unit=unit.strip())
            raise QuantityError("unit.no_fit_because", unit=unit.strip(), why=why) from error
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
        float(registry.Quantity(number, parse_unit(unit)).to(parse_unit(other)).magnitude)
        for number in (0.0, 1.0)
    )
    return one - none, none
