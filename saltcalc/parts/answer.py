"""What an endpoint answers: its parts, and what is said beside them."""

from __future__ import annotations

from collections.abc import Iterable

from saltcalc.case.batch import FloatArray
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.assumptions import (
    ALL,
    OF_IONS,
    OF_MEDIUM,
    OF_PLANTINGS,
    state_defaults,
    state_mean_height,
    state_reading_temperatures,
    state_readings,
    uses_of,
)
from saltcalc.parts.causes.show import (
    NextMeasurement,
    WeighedCause,
    show_causes,
    show_next_measurement,
)
from saltcalc.parts.conversion import show_conversion
from saltcalc.parts.crops.ranking import show_ranking
from saltcalc.parts.crops.show import CropAnswer, show_crops
from saltcalc.parts.flush.case import say_intervals
from saltcalc.parts.flush.progress import PassesDone, show_progress
from saltcalc.parts.flush.show import FlushPlan, FlushPlansAlone, show_flush_plan
from saltcalc.parts.ions.show import IonAnalyses, IonsAlone, find_gypsum, show_ions
from saltcalc.parts.leaching import Leaching, LeachingAlone, leaching_fractions, show_leaching
from saltcalc.parts.notes import Notes
from saltcalc.parts.nutrients.show import Nutrients, show_nutrients
from saltcalc.parts.readings import EcReadings
from saltcalc.parts.salinity import Salinity, show_salinity
from saltcalc.parts.shown import Joined, Text, part, say, shown
from saltcalc.parts.sodicity import Sodicity, SodicityAlone, show_sodicity
from saltcalc.parts.upkeep import Upkeep, show_upkeep
from saltcalc.parts.water import IrrigationWater, show_water

Readings = Iterable[tuple[str, str]]
"""Pointers to fields whose text left something open, and how each was read."""


@part
class AssessmentAnswer:
    """The whole answer."""

    salinity: Salinity | None = shown()
    sodicity: Sodicity | None = shown()
    ions: IonAnalyses | None = shown()
    water: IrrigationWater | None = shown()
    leaching: list[Leaching] | None = shown()
    flush_plan: list[FlushPlan] | None = shown()
    upkeep: list[Upkeep] | None = shown()
    crops: list[CropAnswer] | None = shown()
    nutrients: Nutrients | None = shown()
    causes: list[WeighedCause] = shown()
    next_measurement: NextMeasurement | None = shown()
    intervals: Text = shown("How low and high are made.")


def answer_assessment(assessment: Assessment, readings: Readings, sample: int = 0) -> Joined:
    """Return the answer to one sample of an assessment."""
    notes = _started(assessment, readings, sample, uses_of(assessment, sample))
    state_mean_height(assessment, sample, notes)
    answer = AssessmentAnswer(
        salinity=show_salinity(assessment, sample, notes),
        sodicity=show_sodicity(assessment, sample, notes),
        ions=show_ions(assessment, sample, notes),
        water=show_water(assessment, sample, notes),
        leaching=show_leaching(assessment, sample, notes),
        flush_plan=show_flush_plan(assessment, sample, notes),
        upkeep=show_upkeep(assessment, sample, notes),
        crops=show_crops(assessment, sample, notes),
        nutrients=show_nutrients(assessment, sample, notes),
        causes=show_causes(assessment, sample, notes),
        next_measurement=show_next_measurement(assessment, sample, notes),
        intervals=(say("intervals"), say_intervals()),
    )
    find_gypsum(assessment, sample, notes)
    return Joined((answer, notes.closing()))


def answer_sodicity(assessment: Assessment, readings: Readings) -> Joined:
    """Return the sodium hazard of the medium and the water of a one-sample assessment."""
    notes = _started(assessment, readings, 0, frozenset())
    return notes.close(SodicityAlone(show_sodicity(assessment, 0, notes)))


def answer_ions(assessment: Assessment, readings: Readings) -> Joined:
    """Return which salts are in the medium and the water of a one-sample assessment."""
    notes = _started(assessment, readings, 0, OF_MEDIUM | OF_IONS | {"water_temperature"})
    return notes.close(IonsAlone(show_ions(assessment, 0, notes)))


def answer_leaching(assessment: Assessment, readings: Readings) -> Joined:
    """Return the leaching requirements of a one-sample assessment."""
    notes = _started(assessment, readings, 0, OF_PLANTINGS | OF_IONS | {"water_temperature"})
    return notes.close(LeachingAlone(show_leaching(assessment, 0, notes)))


def answer_flush_plan(assessment: Assessment, readings: Readings) -> Joined:
    """Return the flush plans of a one-sample assessment."""
    notes = _started(assessment, readings, 0, ALL - {"upkeep"})
    plans = show_flush_plan(assessment, 0, notes)
    find_gypsum(assessment, 0, notes)
    return notes.close(FlushPlansAlone(plans, (say("intervals"), say_intervals())))


def answer_progress(
    assessment: Assessment,
    readings: Readings,
    applied: FloatArray,
    drained: FloatArray,
    drainage: EcReadings,
) -> Joined:
    """Return what the readings of a flush say, of a one-sample assessment with one container.

    Parameters
    ----------
    assessment : Assessment
        Of the medium before the flush.
    readings : iterable of (str, str)
        Of the request.
    applied, drained : (passes,) ndarray
        Of each pass [L]; drained NaN where it was not measured.
    drainage : EcReadings
        EC of the drainage of each pass.
    """
    notes = _started(assessment, readings, 0, frozenset())
    state_reading_temperatures(drainage, "readings", "temperature", notes)
    state_defaults(assessment, 0, ALL - {"upkeep", "water_use"}, notes)
    done = PassesDone(applied, drained, drainage.ec)
    return notes.close(show_progress(assessment, done, notes))


def answer_leaching_fractions(
    readings: Readings,
    names: list[str | None],
    applied: FloatArray,
    collected: FloatArray,
    water: EcReadings,
    drainage: EcReadings,
) -> Joined:
    """Return the leaching fractions of pots; see :func:`leaching_fractions`."""
    notes = Notes()
    state_readings(readings, notes)
    state_reading_temperatures(water, "pots", "temperature_applied", notes)
    state_reading_temperatures(drainage, "pots", "temperature_drainage", notes)
    return notes.close(leaching_fractions(names, applied, collected, water, drainage, notes))


def answer_ranking(
    assessment: Assessment, readings: Readings, stage: str, group: str = "", rating: str = ""
) -> Joined:
    """Rank the crops, or those of a group or a rating, in the medium of a one-sample assessment."""
    notes = _started(assessment, readings, 0, OF_MEDIUM | OF_IONS | OF_PLANTINGS)
    return notes.close(show_ranking(assessment, stage, group, rating, notes))


def answer_conversion(assessment: Assessment, to: str, readings: Readings) -> Joined:
    """Return the reading of a one-sample assessment as another method would show it."""
    inner, outer = _started(assessment, readings, 0, OF_MEDIUM | OF_IONS), assessment.notes()
    found = show_conversion(assessment, to, inner)
    outer.adopt(inner, {"/medium": ""})
    return outer.close(found)


def _started(
    assessment: Assessment, readings: Readings, sample: int, uses: frozenset[str]
) -> Notes:
    notes = assessment.notes()
    state_readings(readings, notes)
    state_defaults(assessment, sample, uses, notes)
    return notes
