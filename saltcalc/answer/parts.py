"""Single parts of an answer, for those who need no more."""

from __future__ import annotations

from saltcalc.answer.assessment import (
    Labels,
    ions_part,
    leaching_part,
    sodicity_part,
    state_readings,
)
from saltcalc.answer.assumptions import OF_FLUSH, OF_UPKEEP, state_defaults
from saltcalc.answer.flush_assumptions import intervals_of_plan
from saltcalc.answer.flush_plan import answer_flush_plan
from saltcalc.answer.gypsum import warn_of_gypsum
from saltcalc.answer.ledger import Ledger
from saltcalc.answer.quantities import EC_UNIT, INTERVALS, Json, quantity
from saltcalc.assessment.assess import Assessment
from saltcalc.assessment.batch import FloatArray
from saltcalc.data.extraction import MEDIUM_KINDS, EcConversion, ec_conversions, method_codes
from saltcalc.science.extraction import convert, on_basis
from saltcalc.science.temperature import ec25_linear
from saltcalc.science.uncertainty import Interval

_OF_MEDIUM = frozenset({"medium-temperature", "extraction", "substrate"})
_OF_WATER = frozenset({"water-ec", "water-temperature"})
_OF_CONTAINERS = (
    frozenset({"container-height", "container-count", "container-drainage"}) | OF_FLUSH | OF_UPKEEP
)
_OF_PLANTINGS = frozenset({"stage"})


def sodicity_alone(assessment: Assessment, labels: Labels) -> Json:
    """Return the sodium hazard of the medium and the water of a one-sample assessment."""
    ledger = _ledger(assessment, labels)
    return {"sodicity": sodicity_part(assessment, 0, ledger)} | ledger.closing()


def ions_alone(assessment: Assessment, labels: Labels) -> Json:
    """Return which salts are in the medium and the water of a one-sample assessment."""
    ledger = _ledger(assessment, labels)
    state_defaults(assessment, 0, _OF_CONTAINERS | _OF_PLANTINGS | {"water-ec"}, ledger)
    return {"ions": ions_part(assessment, 0, ledger)} | ledger.closing()


def leaching_alone(assessment: Assessment, labels: Labels) -> Json:
    """Return the leaching requirements of a one-sample assessment."""
    ledger = _ledger(assessment, labels)
    state_defaults(assessment, 0, _OF_MEDIUM | _OF_CONTAINERS | {"water-ec"}, ledger)
    return {"leaching": leaching_part(assessment, 0, ledger)} | ledger.closing()


def flush_plan_alone(assessment: Assessment, labels: Labels) -> Json:
    """Return the flush plans of a one-sample assessment."""
    ledger = _ledger(assessment, labels)
    state_defaults(assessment, 0, OF_UPKEEP - {"evapotranspiration"}, ledger)
    plans = answer_flush_plan(assessment, labels.containers, 0, ledger)
    warn_of_gypsum(assessment, 0, ledger)
    intervals = f"{INTERVALS} {intervals_of_plan()}"
    return {"flush_plan": plans, "intervals": intervals} | ledger.closing()


def conversion_alone(assessment: Assessment, to: str, labels: Labels) -> Json:
    """Return the reading of a one-sample assessment as another method would show it."""
    ledger = _ledger(assessment, labels)
    state_defaults(assessment, 0, _OF_WATER | _OF_CONTAINERS | _OF_PLANTINGS, ledger)
    for assumption in ledger.assumptions:
        assumption["field"] = assumption["field"].removeprefix("/medium")
    salinity, water = assessment.salinity, assessment.sample_water
    medium = assessment.batch.samples.medium
    method = int(assessment.batch.samples.extraction[0])
    converted = convert(
        salinity.ec_25c,
        method,
        method_codes()[to],
        salinity.medium_kind,
        total_porosity=water.total_porosity,
        container_capacity=water.container_capacity,
        water_content=assessment.batch.samples.water_content,
    )
    kind = MEDIUM_KINDS[salinity.medium_kind[0]]
    value, low, high = (float(part[0]) for part in converted)
    ids = list(method_codes())
    names = list(dict.fromkeys((ids[method], to)))
    return {
        "from": ids[method],
        "to": to,
        "medium_kind": kind,
        "ec_25c": quantity(float(salinity.ec_25c[0]), EC_UNIT),
        "ec_25c_linear": quantity(float(ec25_linear(medium.ec[0], medium.temperature[0])), EC_UNIT),
        "ec": quantity(value, EC_UNIT, low, high),
        "ec_saturated_extract": _interval(salinity.saturated_extract),
        "ec_pore_water": _interval(salinity.pore_water),
        "conversions": [
            _conversion(conversion, {ids[method]: salinity.ec_25c, to: converted.value}, ledger)
            for name in names
            for conversion in (ec_conversions(name, kind) if len(names) > 1 else ())
        ],
        "intervals": INTERVALS,
    } | ledger.closing()


def _interval(interval: Interval) -> Json | None:
    value, low, high = (float(part[0]) for part in interval)
    return quantity(value, EC_UNIT, low, high)


def _conversion(conversion: EcConversion, readings: dict[str, FloatArray], ledger: Ledger) -> Json:
    """Say what one published conversion makes of the reading by its method."""
    reading = float(readings[conversion.method][0])
    return {
        "method": conversion.method,
        "basis": conversion.to,
        "governing": conversion.governing,
        "ec": quantity(reading, EC_UNIT),
        "ec_on_basis": quantity(float(on_basis(reading, conversion)), EC_UNIT),
        "applies_to": conversion.applies_to,
        "provenance": conversion.provenance,
        "note": conversion.note,
        "sources": ledger.cite(conversion.source),
    }


def _ledger(assessment: Assessment, labels: Labels) -> Ledger:
    ledger = Ledger(assessment.local_sources)
    state_readings(labels, ledger)
    return ledger
