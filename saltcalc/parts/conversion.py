"""A reading by one extraction method, as another would show it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from saltcalc.data.extraction import MEDIUM_KINDS, EcConversion, ec_conversions, method_codes
from saltcalc.message import Message, say
from saltcalc.parts.choices import CONVERSION_BASES, CONVERSION_GROUPS, METHODS
from saltcalc.parts.notes import Notes
from saltcalc.parts.salinity import find_doubts
from saltcalc.parts.shown import Text, how_known, note_of, part, row_of, shown, source_keys
from saltcalc.science.extraction import convert, on_basis
from saltcalc.science.temperature import ec25_linear
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment


@part
class ConversionStep:
    """What one published conversion makes of a reading."""

    method: str = shown(choices=METHODS)
    basis: str = shown(choices=CONVERSION_BASES)
    governing: bool = shown("Whether the value rests on it; the others widen the interval.")
    ec: float = shown("The reading by the method.", "dS/m")
    ec_on_basis: float = shown("What it stands for on the basis.", "dS/m")
    applies_to: Message = shown()
    provenance: str = how_known()
    note: Message | str = shown()
    sources: list[str] = source_keys()


@part
class Conversion:
    """An EC by another extraction method."""

    from_: str = shown("Method of the reading that was sent.", choices=METHODS)
    to: str = shown("Method that it is converted to.", choices=METHODS)
    ec_25c: float = shown("The reading, at 25 °C.", "dS/m")
    ec_25c_linear: float = shown(
        "The same by a constant 1.91 % a degree, as many meters correct.", "dS/m"
    )
    medium_kind: str = shown("Which conversions apply.", choices=CONVERSION_GROUPS)
    ec: Interval = shown("What the other method would read.", "dS/m")
    ec_saturated_extract: Interval = shown("What the saturated extract would read.", "dS/m")
    ec_pore_water: Interval = shown("EC of the water in the pores at container capacity.", "dS/m")
    conversions: list[ConversionStep] = shown("The published conversions that apply, side by side.")
    intervals: Text = shown()


def show_conversion(assessment: Assessment, to: str, notes: Notes) -> Conversion:
    """Return the reading of a one-sample assessment as another method would show it."""
    salinity, samples = assessment.salinity, assessment.batch.samples
    method = int(samples.extraction[0])
    find_doubts(float(salinity.ec_25c[0]), float(samples.medium.temperature[0]), notes)
    converted = convert(
        salinity.ec_25c,
        method,
        method_codes()[to],
        assessment.medium_kind,
        assessment.sample_water.pores._replace(water_content=samples.water_content),
    )
    kind = MEDIUM_KINDS[assessment.medium_kind[0]]
    given = list(method_codes())[method]
    names = list(dict.fromkeys((given, to)))
    readings = {given: float(salinity.ec_25c[0]), to: float(converted.value[0])}
    return Conversion(
        from_=given,
        to=to,
        ec_25c=float(salinity.ec_25c[0]),
        ec_25c_linear=float(ec25_linear(samples.medium.ec[0], samples.medium.temperature[0])),
        medium_kind=kind,
        ec=row_of(converted, 0),
        ec_saturated_extract=row_of(salinity.saturated_extract, 0),
        ec_pore_water=row_of(salinity.pore_water, 0),
        conversions=[
            _step(conversion, readings[name], notes)
            for name in names
            for conversion in (ec_conversions(name, kind) if len(names) > 1 else ())
        ],
        intervals=say("intervals"),
    )


def _step(conversion: EcConversion, reading: float, notes: Notes) -> ConversionStep:
    """Say what one published conversion makes of the reading by its method."""
    return ConversionStep(
        method=conversion.method,
        basis=conversion.to,
        governing=conversion.governing,
        ec=reading,
        ec_on_basis=float(on_basis(reading, conversion)),
        applies_to=say(f"ec_conversions.applies_to.{conversion.applies_to}"),
        note=note_of("ec_conversions", conversion),
        **notes.rest_on(conversion),
    )
