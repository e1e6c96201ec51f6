"""The whole answer to one sample."""

from __future__ import annotations

from collections.abc import Iterable

from saltcalc.answer.quantities import Json
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.assumptions import state_defaults, state_mean_height, state_readings, uses_of
from saltcalc.parts.causes.show import show_causes, show_next_measurement
from saltcalc.parts.crops.show import show_crops
from saltcalc.parts.flush.case import say_intervals
from saltcalc.parts.flush.show import show_flush_plan
from saltcalc.parts.ions.show import find_gypsum, show_ions
from saltcalc.parts.leaching import show_leaching
from saltcalc.parts.nutrients.show import show_nutrients
from saltcalc.parts.salinity import show_salinity
from saltcalc.parts.shown import say
from saltcalc.parts.sodicity import show_sodicity
from saltcalc.parts.upkeep import show_upkeep
from saltcalc.parts.water import show_water

Readings = Iterable[tuple[str, str]]
"""Pointers to fields whose text left something open, and how each was read."""


def answer_assessment(assessment: Assessment, readings: Readings, sample: int = 0) -> Json:
    """Return the answer to one sample of an assessment."""
    notes = assessment.notes()
    state_readings(readings, notes)
    state_defaults(assessment, sample, uses_of(assessment, sample), notes)
    state_mean_height(assessment, sample, notes)
    answer = {
        "salinity": show_salinity(assessment, sample, notes),
        "sodicity": show_sodicity(assessment, sample, notes),
        "ions": show_ions(assessment, sample, notes),
        "water": show_water(assessment, sample, notes),
        "leaching": show_leaching(assessment, sample, notes),
        "flush_plan": show_flush_plan(assessment, sample, notes),
        "upkeep": show_upkeep(assessment, sample, notes),
        "crops": show_crops(assessment, sample, notes),
        "nutrients": show_nutrients(assessment, sample, notes),
        "causes": show_causes(assessment, sample, notes),
        "next_measurement": show_next_measurement(assessment, sample, notes),
        "intervals": (say("intervals"), say_intervals()),
    }
    find_gypsum(assessment, sample, notes)
    return answer | notes.closing()
