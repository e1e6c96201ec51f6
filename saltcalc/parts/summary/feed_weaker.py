"""What to do for a grown crop in substrate that salt touches before it is above its soil limit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from saltcalc.case.vocabulary import STAGES
from saltcalc.message import say
from saltcalc.parts.plantings import NO_CROP
from saltcalc.parts.summary.rows import FEED_WEAKER, Action

if TYPE_CHECKING:
    from saltcalc.parts.answer import Answer


def feed_weaker(answer: Answer) -> list[Action]:
    """Return what to do where salt is suspected and trials in substrate bear it out.

    Yield limits come from soil. A solution at the roots above what those trials found to cost
    yield is brought down by the feed, and not flushed out with it.

    Parameters
    ----------
    answer : Answer
        Of a sample whose first cause is too much salt, and for which nothing is to be done.
    """
    assessment, sample = answer.assessment, answer.sample
    row = int(assessment.causes.stalled[sample])
    if row == NO_CROP or assessment.mineral_soil[sample]:
        return []
    trials = assessment.crop_of(row).substrate
    grown = STAGES[assessment.batch.plantings.stage[row]] == "established"
    pore = float(assessment.salinity.pore_water.value[sample])
    if trials is None or not grown or not pore > trials.threshold_high:
        return []
    answer.notes.rest_on(trials)
    told = {"ec": pore, "low": trials.threshold_low, "high": trials.threshold_high}
    return [Action(FEED_WEAKER, None, None, None, say("summary.feed_weaker", **told))]
