"""Single parts of an answer, for those who need no more."""

from __future__ import annotations

from saltcalc.answer.assessment import (
    Labels,
    state_readings,
)
from saltcalc.answer.assumptions import OF_FLUSH, OF_UPKEEP, state_defaults
from saltcalc.answer.flush_assumptions import intervals_of_plan
from saltcalc.answer.flush_plan import answer_flush_plan
from saltcalc.answer.quantities import INTERVALS, Json
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.conversion import show_conversion
from saltcalc.parts.ions.show import IonsAlone, find_gypsum, show_ions
from saltcalc.parts.leaching import show_leaching
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import Joined
from saltcalc.parts.sodicity import SodicityAlone, show_sodicity

_OF_MEDIUM = frozenset({"medium-temperature", "extraction", "substrate"})
_OF_WATER = frozenset({"water-ec", "water-temperature"})
_OF_CONTAINERS = (
    frozenset({"container-height", "container-count", "container-drainage"}) | OF_FLUSH | OF_UPKEEP
)
_OF_PLANTINGS = frozenset({"stage"})


def sodicity_alone(assessment: Assessment, labels: Labels) -> Joined:
    """Return the sodium hazard of the medium and the water of a one-sample assessment."""
    notes = _ledger(assessment, labels)
    return notes.close(SodicityAlone(show_sodicity(assessment, 0, notes)))


def ions_alone(assessment: Assessment, labels: Labels) -> Joined:
    """Return which salts are in the medium and the water of a one-sample assessment."""
    notes = _ledger(assessment, labels)
    state_defaults(assessment, 0, _OF_CONTAINERS | _OF_PLANTINGS | {"water-ec"}, notes)
    return notes.close(IonsAlone(show_ions(assessment, 0, notes)))


def leaching_alone(assessment: Assessment, labels: Labels) -> Json:
    """Return the leaching requirements of a one-sample assessment."""
    notes = _ledger(assessment, labels)
    state_defaults(assessment, 0, _OF_MEDIUM | _OF_CONTAINERS | {"water-ec"}, notes)
    return {"leaching": show_leaching(assessment, 0, notes)} | notes.closing()


def flush_plan_alone(assessment: Assessment, labels: Labels) -> Json:
    """Return the flush plans of a one-sample assessment."""
    notes = _ledger(assessment, labels)
    state_defaults(assessment, 0, OF_UPKEEP - {"evapotranspiration"}, notes)
    plans = answer_flush_plan(assessment, labels.containers, 0, notes)
    find_gypsum(assessment, 0, notes)
    intervals = f"{INTERVALS} {intervals_of_plan()}"
    return {"flush_plan": plans, "intervals": intervals} | notes.closing()


def conversion_alone(assessment: Assessment, to: str, labels: Labels) -> Joined:
    """Return the reading of a one-sample assessment as another method would show it."""
    inner, outer = _ledger(assessment, labels), assessment.notes()
    state_defaults(assessment, 0, _OF_WATER | _OF_CONTAINERS | _OF_PLANTINGS, inner)
    found = show_conversion(assessment, to, inner)
    outer.adopt(inner, {"/medium": ""})
    return outer.close(found)


def _ledger(assessment: Assessment, labels: Labels) -> Notes:
    notes = assessment.notes()
    state_readings(labels, notes)
    return notes
