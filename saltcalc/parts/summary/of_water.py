"""What is said first of the water: where it is too much for a crop, or was given alone."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.data.water_classes import ClassScale, class_scales
from saltcalc.message import Message, say
from saltcalc.parts.shown import row_of
from saltcalc.parts.summary.rows import LeadingCause
from saltcalc.parts.water import OF_EC
from saltcalc.science._arrays import Flags
from saltcalc.science.water_classes import classify

if TYPE_CHECKING:
    from saltcalc.parts.answer import Answer
    from saltcalc.parts.assessment import Assessment

_GRADES = ("slight_to_moderate", "severe")
"""Degrees of restriction on a water, the hardest last."""


def water_is_too_much(assessment: Assessment) -> Flags:
    """Return in which samples the water holds more than a crop, container or any use tolerates.

    Parameters
    ----------
    assessment : Assessment
        Of the batch.
    """
    water = assessment.water
    above: Flags = np.asarray(water.ec > water.highest_ec)
    for ion in water.above.values():
        above = above | ion
    found = classify(assessment.water_ec, _scale()) == _scale().names.index(_GRADES[-1])
    np.logical_or.at(found, assessment.batch.plantings.sample, above)
    return np.asarray(found | assessment.alkaline_water.too_much)


def _scale() -> ClassScale:
    return class_scales()[OF_EC]


def with_water(answer: Answer, leading: LeadingCause) -> LeadingCause:
    """Say of the water what comes first.

    It stands before all else where it was given alone, and where it is too much for a crop and
    nothing stands out in the medium.
    """
    alone = not answer.assessment.medium_is_told[answer.sample]
    excess = _excess(answer)
    told: Message
    if alone:
        told = _alone(answer, excess)
    elif excess and leading.cause is None:
        told = excess
    else:
        return leading
    if leading.cause:
        told = say("summary.water_and_cause", water=told, cause=leading.sentence)
    elif not alone:
        of_medium = _OF_THE_MEDIUM.get(leading.sentence.id, leading.sentence.id)
        rest = replace(leading.sentence, id=of_medium)
        told = say("summary.water_and_cause", water=told, cause=rest)
    return replace(leading, sentence=told)


_OF_THE_MEDIUM = {
    "summary.nothing_unlikely": "summary.medium_explains_nothing",
    "summary.in_range_unlikely": "summary.medium_explains_nothing",
    "summary.in_range_hinted": "summary.hinted",
}
"""What is said of the medium alone, for what is said where the water is in order."""


def _excess(answer: Answer) -> Message | None:
    """Say what of the water is more than which crops tolerate."""
    assessment = answer.assessment
    rows = assessment.plantings_of(answer.sample)
    waters = {row: row_of(assessment.water, row) for row in rows}
    crops = {
        row: ["salt"] * bool(water.exceeds) + list(water.ions_above)
        for row, water in waters.items()
    }
    what = dict.fromkeys(each for found in crops.values() for each in found)
    if not what:
        water = answer.water
        severe = water and water.class_ == _GRADES[-1]
        if water and severe:
            return say("summary.water_is_severe", ec=water.ec_25c)
        alkaline = assessment.alkaline_water
        if alkaline.too_much[answer.sample]:
            found = float(alkaline.found[answer.sample])
            return say("summary.water_is_alkaline", found=found)
        return None
    return say(
        "summary.water_too_much",
        what=[say("summary.salt") if each == "salt" else say(f"ion.{each}") for each in what],
        crops=list(dict.fromkeys(assessment.crop_of(row).name for row in rows if crops[row])),
    )


def _alone(answer: Answer, excess: Message | None) -> Message:
    """Say how a water comes out of which alone something is known: by its worst figure."""
    if excess and excess.id == "summary.water_too_much":
        return say("summary.water_alone", water=excess)
    water, sodicity = answer.water, answer.sodicity and answer.sodicity.water
    grade = _grade(water.class_) if water and water.class_ else -1
    of_ions = {
        each.ion: _grade(each.class_)
        for each in (sodicity.hazards if sodicity else [])
        if each.ion != "sodium" and each.class_
    }
    worst = max(of_ions.values(), default=-1)
    if worst > grade and worst >= 0:
        ions = [say(f"ion.{ion}") for ion, found in of_ions.items() if found == worst]
        return say(f"summary.water_ions_{_GRADES[worst]}", ions=ions)
    if water and water.class_:
        return say(f"summary.water_{water.class_}", ec=water.ec_25c)
    return say("summary.water_without_ec")


def _grade(class_: str) -> int:
    return _GRADES.index(class_) if class_ in _GRADES else -1
