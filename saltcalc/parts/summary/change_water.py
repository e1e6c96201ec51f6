"""What to do today about a water that brings harm to a medium which is well yet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from saltcalc.message import Message, say
from saltcalc.parts.causes.remedies import barred
from saltcalc.parts.shown import row_of
from saltcalc.parts.summary.rows import CHANGE_WATER, Action
from saltcalc.parts.water import say_blend

if TYPE_CHECKING:
    from collections.abc import Iterator

    from saltcalc.parts.answer import Answer

_SODIUM = "sodium_toxicity"


def change_water(answer: Answer, cause: str | None) -> Iterator[Action]:
    """Yield what to do about the water of a medium for which nothing else is to be done.

    Parameters
    ----------
    answer : Answer
        Whose water is looked at.
    cause : str or None
        The first cause.
    """
    told = next(_salts(answer, cause), None)
    if told:
        yield Action(CHANGE_WATER, None, None, None, told)
    alkaline, sample = answer.assessment.alkaline_water, answer.sample
    limit = alkaline.limit_of(sample)
    if limit and alkaline.too_much[sample]:
        answer.notes.cite(limit.source)
        found = float(alkaline.found[sample])
        said = say("summary.change_alkaline_water", found=found, most=limit.most)
        yield Action(CHANGE_WATER, None, None, None, said)


def _salts(answer: Answer, cause: str | None) -> Iterator[Message]:
    """Yield what salt or ion of the water is too much for a crop, the EC first."""
    assessment, sample = answer.assessment, answer.sample
    waters = [row_of(assessment.water, row) for row in assessment.plantings_of(sample)]
    above = [each for each in waters if each.exceeds]
    if above:
        strictest = min(above, key=lambda each: float(each.highest_ec))
        yield say("summary.change_salty_water", blend=say_blend(strictest))
    ions = list(dict.fromkeys(ion for each in waters for ion in each.ions_above))
    if ions:
        yield say("summary.change_water_for_ions", ions=[say(f"ion.{each}") for each in ions])
    if cause == _SODIUM and not barred(assessment, sample, "water_brings_sodium"):
        yield say("summary.change_sodium_water")
