"""The whole answer to one sample."""

from __future__ import annotations

from collections.abc import Iterable

from saltcalc.answer.causes import answer_causes, answer_next_measurement
from saltcalc.answer.flush_assumptions import intervals_of_plan
from saltcalc.answer.flush_plan import answer_flush_plan
from saltcalc.answer.nutrients import answer_nutrients
from saltcalc.answer.quantities import INTERVALS, Json
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.assumptions import state_defaults, state_mean_height, state_readings, uses_of
from saltcalc.parts.crops.show import show_crops
from saltcalc.parts.ions.show import find_gypsum, show_ions
from saltcalc.parts.leaching import show_leaching
from saltcalc.parts.salinity import show_salinity
from saltcalc.parts.sodicity import show_sodicity
from saltcalc.parts.upkeep import show_upkeep
from saltcalc.parts.water import show_water

Readings = Iterable[tuple[str, str]]
"""Pointers to fields whose text left something open, and how each was read."""


def container_names(assessment: Assessment, sample: int) -> list[str | None]:
    """Return the names of a sample's containers."""
    return list(assessment.batch.containers.name[assessment.containers_of(sample)])


def answer_assessment(assessment: Assessment, readings: Readings, sample: int = 0) -> Json:
    """Return the answer to one sample of an assessment."""
    notes = assessment.notes()
    state_readings(readings, notes)
    state_defaults(assessment, sample, uses_of(assessment, sample), notes)
    state_mean_height(assessment, sample, notes)
    names = container_names(assessment, sample)
    answer = {
        "salinity": show_salinity(assessment, sample, notes),
        "sodicity": show_sodicity(assessment, sample, notes),
        "ions": show_ions(assessment, sample, notes),
        "water": show_water(assessment, sample, notes),
        "leaching": show_leaching(assessment, sample, notes),
        "flush_plan": answer_flush_plan(assessment, names, sample, notes),
        "upkeep": show_upkeep(assessment, sample, notes),
        "crops": show_crops(assessment, sample, notes),
        "nutrients": answer_nutrients(assessment, names, sample, notes),
        "causes": answer_causes(assessment, sample, notes),
        "next_measurement": answer_next_measurement(assessment, sample, notes),
        "intervals": f"{INTERVALS} {intervals_of_plan()}",
    }
    find_gypsum(assessment, sample, notes)
    return answer | notes.closing()
