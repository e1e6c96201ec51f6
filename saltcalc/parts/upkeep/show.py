"""Keeping salt down between flushes: where the medium's EC goes with this water, and how soon.

The figures without uptake by the crop govern: what is warned of, how much must drain, and how long
a flush lasts. Those with uptake stand beside them.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from saltcalc.message import say
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import Amount, row_of
from saltcalc.parts.upkeep.arrays import Upkeep
from saltcalc.parts.upkeep.told import RATHER, say_span
from saltcalc.science.root_zone import MOST_UPTAKE

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment


def show_upkeep(
    assessment: Assessment, sample: int, notes: Notes, flushed: Assessment
) -> list[Upkeep] | None:
    """Return the salt between flushes of each container of a sample, or None without one.

    Parameters
    ----------
    assessment : Assessment
        Flushed to the limit.
    sample : int
        Which sample.
    notes : Notes
        What is said beside it.
    flushed : Assessment
        With the flushes that are told, after which the build-up is told.
    """
    rows = assessment.containers_of(sample)
    missing = [] if rows else ["/containers"]
    if math.isnan(assessment.salinity.ec_25c[sample]) or assessment.ec_is_lower_bound[sample]:
        missing.append("/medium/ec")
    if missing:
        notes.missing("upkeep", *missing)
        return None
    return [_show(assessment, row, place, notes, flushed) for place, row in enumerate(rows)]


def _show(
    assessment: Assessment, row: int, place: int, notes: Notes, flushed: Assessment
) -> Upkeep:
    supposed = any(each.id == "irrigation" for each in notes.assumptions)
    sources = notes.cite("fao29", "ku_hershey_1991", "ucanr_soluble_salts", "judgement")
    upkeep: Upkeep = row_of(assessment.upkeep, row, supposed=supposed, sources=sources)
    if flushed is not assessment:
        after: Upkeep = row_of(flushed.upkeep, row)
        upkeep = replace(upkeep, course=after.course, course_with_uptake=after.course_with_uptake)
    field, told = f"upkeep/{place}", {"ec": upkeep.ec_applied, "limit": upkeep.limit}
    if math.isnan(upkeep.leaching_fraction_needed) and not upkeep.sealed:
        if upkeep.rule == "root_zone":
            which = "weaker_feed" if upkeep.feed_leads else "better_water"
            needed = say(f"upkeep.{which}")
            notes.find("water_cannot_hold_limit", "caution", field, needed=needed, **told)
    elif not upkeep.sealed and _crosses(upkeep):
        within = upkeep.fed > 0 and upkeep.steady_with_uptake <= upkeep.limit
        notes.find(
            "salt_builds_up_unless_taken_up" if within else "salt_builds_up",
            "note" if within else "caution",
            field,
            days=say_span(upkeep.days_to_limit),
            **told,
        )
    _assume(assessment, upkeep, notes)
    return upkeep


def _crosses(upkeep: Upkeep) -> bool:
    """Whether the middle container, or more of such containers than not, goes above the limit."""
    if upkeep.steady_state_ec.value > upkeep.limit:
        return True
    return bool(upkeep.start_is_below and upkeep.crossing >= RATHER)


def _assume(assessment: Assessment, upkeep: Upkeep, notes: Notes) -> None:
    """List what the build-up rests on: where water is used, and what is taken up."""
    notes.assume(
        "water_use_by_depth", "40-30-20-10", say("assumption.water_use_by_depth"), "", "fao29"
    )
    if upkeep.fed > 0:
        share = Amount(MOST_UPTAKE, "1", 0.0, MOST_UPTAKE)
        notes.assume(
            "uptake_of_feed",
            share,
            say("assumption.uptake_of_feed"),
            "",
            "ku_hershey_1991",
            "judgement",
        )
