"""A weak feed in place of water: how a crop that is fed with its water is flushed in substrate."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.vocabulary import MEANS, STAGES
from saltcalc.parts.notes import Notes
from saltcalc.parts.watering import feed_leads

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

WEAK_FEED = "flush_with_weak_feed"
"""Id of the finding that a flush is poured with a weak feed."""

SHARE_OF_FEED = 1 / 3
"""Strength of a weak feed over the usual one (common practice, no source). [-]"""

SHARE_OF_TARGET = 0.5
"""Most EC of what is poured over that aimed at in the pore water (judgement). [-]

A feed near the target would take the salt down no further.
"""

WORTH_FEEDING = 0.2
"""Least EC that a weak feed adds to the water, below which it feeds nothing (judgement). [dS/m]"""


def ec_of_weak_feed(assessment: Assessment, row: int) -> float:
    """Return the EC of the weak feed that a container is flushed with [dS/m].

    NaN where water alone is poured: without a flush, in soil, before the plants stand, and where
    not most of what is poured is feed. The rain that falls is no feed.
    """
    case, sample = assessment.flush_case, int(assessment.flush_case.owner[row])
    batch = assessment.batch
    stands = batch.plantings.stage[assessment.plantings_of(sample)] == STAGES.index("established")
    fed = (
        bool(assessment.flush_plan.flushed[row])
        and case.by[row] != MEANS.index("rain")
        and not assessment.mineral_soil[sample]
        and bool(np.any(stands))
        and bool(feed_leads(assessment.watering)[row])
    )
    water = float(np.asarray(case.flush.ec_water)[row])
    most = SHARE_OF_TARGET * float(np.asarray(case.target_pore_water)[row])
    ec = min(water + SHARE_OF_FEED * float(batch.samples.feed_ec[sample]), most)
    return ec if fed and ec >= water + WORTH_FEEDING else math.nan


def find_weak_feed(assessment: Assessment, rows: list[int], notes: Notes) -> None:
    """Say that a fed crop is flushed with a weak feed, how weak, and what that takes more.

    The water more is that of a well-mixed container, for the one that takes most.
    """
    feeds = [(ec_of_weak_feed(assessment, row), row) for row in rows]
    known = [(ec, row) for ec, row in feeds if not math.isnan(ec)]
    if not known:
        return
    ec, row = min(known)
    case = assessment.flush_case
    found, target, water = (
        float(np.asarray(part)[row])
        for part in (case.flush.ec_medium, case.target_pore_water, case.flush.ec_water)
    )
    more = math.log((found - ec) / (target - ec)) / math.log((found - water) / (target - water))
    notes.find(WEAK_FEED, "caution", "/feed_ec", ec=ec, more=more - 1)
