"""Single parts of an answer, for those who need no more."""

from __future__ import annotations

from saltcalc.answer.assessment import Readings, container_names
from saltcalc.answer.flush_assumptions import intervals_of_plan
from saltcalc.answer.flush_plan import answer_flush_plan
from saltcalc.answer.quantities import INTERVALS, Json
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.assumptions import (
    ALL,
    OF_IONS,
    OF_MEDIUM,
    OF_PLANTINGS,
    state_defaults,
    state_readings,
)
from saltcalc.parts.conversion import show_conversion
from saltcalc.parts.crops.ranking import show_ranking
from saltcalc.parts.ions.show import IonsAlone, find_gypsum, show_ions
from saltcalc.parts.leaching import show_leaching
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import Joined
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


def flush_plan_alone(assessment: Assessment, readings: Readings) -> Json:
    """Return the flush plans of a one-sample assessment."""
    notes = _ledger(assessment, readings)
    state_defaults(assessment, 0, ALL - {"upkeep"}, notes)
    plans = answer_flush_plan(assessment, container_names(assessment, 0), 0, notes)
    find_gypsum(assessment, 0, notes)
    intervals = f"{INTERVALS} {intervals_of_plan()}"
    return {"flush_plan": plans, "intervals": intervals} | notes.closing()


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
