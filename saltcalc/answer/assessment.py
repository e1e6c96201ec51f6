"""The whole answer to one sample."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from saltcalc.answer.assumptions import OF_FLUSH, OF_UPKEEP, state_defaults
from saltcalc.answer.causes import answer_causes, answer_next_measurement
from saltcalc.answer.crops import answer_crops
from saltcalc.answer.flush_assumptions import intervals_of_plan
from saltcalc.answer.flush_plan import answer_flush_plan
from saltcalc.answer.nutrients import answer_nutrients
from saltcalc.answer.quantities import INTERVALS, Json, quantity
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.containers import mean_heights
from saltcalc.parts.ions.show import find_gypsum, show_ions
from saltcalc.parts.leaching import show_leaching
from saltcalc.parts.notes import Notes
from saltcalc.parts.salinity import show_salinity
from saltcalc.parts.sodicity import show_sodicity
from saltcalc.parts.upkeep import show_upkeep
from saltcalc.parts.water import show_water


@dataclass(frozen=True)
class Labels:
    """What an answer repeats of its request that no number needs.

    Attributes
    ----------
    containers : list of str or None
        Names of the containers.
    readings : list of (str, str)
        Pointer to a field, and how its text was read.
    """

    containers: list[str | None] = field(default_factory=list)
    readings: list[tuple[str, str]] = field(default_factory=list)


def answer_assessment(assessment: Assessment, labels: Labels, sample: int = 0) -> Json:
    """Return the answer to one sample of an assessment."""
    notes = assessment.notes()
    state_readings(labels, notes)
    state_defaults(assessment, sample, unused_defaults(assessment, sample), notes)
    _state_mean_height(assessment, sample, notes)
    answer = {
        "salinity": show_salinity(assessment, sample, notes),
        "sodicity": show_sodicity(assessment, sample, notes),
        "ions": show_ions(assessment, sample, notes),
        "water": show_water(assessment, sample, notes),
        "leaching": show_leaching(assessment, sample, notes),
        "flush_plan": answer_flush_plan(assessment, labels.containers, sample, notes),
        "upkeep": show_upkeep(assessment, sample, notes),
        "crops": _crops(assessment, sample, notes),
        "nutrients": answer_nutrients(assessment, labels.containers, sample, notes),
        "causes": answer_causes(assessment, sample, notes),
        "next_measurement": answer_next_measurement(assessment, sample, notes),
        "intervals": f"{INTERVALS} {intervals_of_plan()}",
    }
    find_gypsum(assessment, sample, notes)
    return answer | notes.closing()


def _state_mean_height(assessment: Assessment, sample: int, notes: Notes) -> None:
    """Say for which height the pore water of a medium in unlike containers is given."""
    containers = assessment.batch.containers
    if np.unique(containers.height[containers.sample == sample]).size > 1:
        notes.assume(
            "mean-height",
            quantity(float(mean_heights(assessment.batch)[sample]), "cm"),
            "The pore water of the medium is given for the mean height of its containers, by "
            "volume; each plan takes its own.",
            "/containers",
            "judgement",
        )


def state_readings(labels: Labels, notes: Notes) -> None:
    """List how texts were read where they left something open."""
    for pointer, sentence in labels.readings:
        notes.assume("reading-of-unit", sentence, "The text left it open.", pointer)


def unused_defaults(assessment: Assessment, sample: int) -> frozenset[str]:
    """Defaults that entered no part of this answer."""
    has_containers = bool(np.any(assessment.batch.containers.sample == sample))
    has_ec = not np.isnan(assessment.batch.samples.medium.ec[sample])
    has_water = bool(assessment.water_is_known[sample])
    unused = set()
    if not has_ec:
        unused |= {"medium-temperature", "extraction", "substrate"}
    if not (has_containers and has_ec):
        unused |= {"water-ec", "container-height", "container-count", "container-drainage"}
        unused |= OF_FLUSH | OF_UPKEEP
    if not has_water:
        unused.add("water-temperature")
    return frozenset(unused)


def _crops(assessment: Assessment, sample: int, notes: Notes) -> list[Json] | None:
    rows = assessment.plantings_of(sample)
    if not rows:
        notes.miss("crops", ["/crops"], "Name a crop and its stage to hear how it stands this.")
        return None
    if np.isnan(assessment.salinity.ec_25c[sample]):
        notes.miss("crops", ["/medium/ec"], "A crop's limit is held against the EC.")
        return None
    return answer_crops(assessment, rows, notes)
