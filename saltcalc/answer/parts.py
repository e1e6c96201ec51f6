"""Single parts of an answer, for those who need no more."""

from __future__ import annotations

from saltcalc.answer.assessment import Readings
from saltcalc.answer.quantities import Json
from saltcalc.case.batch import FloatArray
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.assumptions import (
    ALL,
    OF_IONS,
    OF_MEDIUM,
    OF_PLANTINGS,
    state_defaults,
    state_reading_temperatures,
    state_readings,
)
from saltcalc.parts.conversion import show_conversion
from saltcalc.parts.crops.ranking import show_ranking
from saltcalc.parts.flush.case import say_intervals
from saltcalc.parts.flush.progress import PassesDone, show_progress
from saltcalc.parts.flush.show import FlushPlansAlone, show_flush_plan
from saltcalc.parts.ions.show import IonsAlone, find_gypsum, show_ions
from saltcalc.parts.leaching import show_leaching
from saltcalc.parts.notes import Notes
from saltcalc.parts.readings import EcReadings
from saltcalc.parts.shown import Joined, say
from saltcalc.parts.sodicity import SodicityAlone, show_sodicity


def sodicity_alone(assessment: Assessment, readings: Readings) -> Joined:
    """Return the sodium hazard of the medium and the water of a one-sample assessment."""
    notes = _ledger(assessment, readings)
    return notes.close(SodicityAlone(show_sodicity(assessment, 0, notes)))


def ions_alone(assessment: Assessment, readings: Readings) -> Joined:
    """Return which salts are in the medium and the water of a one-sample assessment."""
    notes = _ledger(assessment, readings)
    state_defaults(assessment, 0, OF_MEDIUM | OF_IONS | {"water_temperature"}, notes)
    return notes.close(IonsAlone(show_ions(assessment, 0, notes)))


def leaching_alone(assessment: Assessment, readings: Readings) -> Json:
    """Return the leaching requirements of a one-sample assessment."""
    notes = _ledger(assessment, readings)
    state_defaults(assessment, 0, OF_PLANTINGS | OF_IONS | {"water_temperature"}, notes)
    return {"leaching": show_leaching(assessment, 0, notes)} | notes.closing()


def flush_plan_alone(assessment: Assessment, readings: Readings) -> Joined:
    """Return the flush plans of a one-sample assessment."""
    notes = _ledger(assessment, readings)
    state_defaults(assessment, 0, ALL - {"upkeep"}, notes)
    plans = show_flush_plan(assessment, 0, notes)
    find_gypsum(assessment, 0, notes)
    return notes.close(FlushPlansAlone(plans, (say("intervals"), say_intervals())))


def progress_alone(
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
    readings : list of (str, str)
        Of the request.
    applied, drained : (passes,) ndarray
        Of each pass [L]; drained NaN where it was not measured.
    drainage : EcReadings
        EC of the drainage of each pass.
    """
    notes = _ledger(assessment, readings)
    state_reading_temperatures(drainage, "readings", "temperature", notes)
    state_defaults(assessment, 0, ALL - {"upkeep", "water_use"}, notes)
    done = PassesDone(applied, drained, drainage.ec)
    return notes.close(show_progress(assessment, done, notes))


def ranking_alone(
    assessment: Assessment, readings: Readings, stage: str, group: str = "", rating: str = ""
) -> Joined:
    """Rank the crops, or those of a group or a rating, in the medium of a one-sample assessment."""
    notes = _ledger(assessment, readings)
    state_defaults(assessment, 0, OF_MEDIUM | OF_IONS | OF_PLANTINGS, notes)
    return notes.close(show_ranking(assessment, stage, group, rating, notes))


def conversion_alone(assessment: Assessment, to: str, readings: Readings) -> Joined:
    """Return the reading of a one-sample assessment as another method would show it."""
    inner, outer = _ledger(assessment, readings), assessment.notes()
    state_defaults(assessment, 0, OF_MEDIUM | OF_IONS, inner)
    found = show_conversion(assessment, to, inner)
    outer.adopt(inner, {"/medium": ""})
    return outer.close(found)


def _ledger(assessment: Assessment, readings: Readings) -> Notes:
    notes = assessment.notes()
    state_readings(readings, notes)
    return notes
