"""A plan in short: for a medium that is flushed in another way, or with another water."""

from __future__ import annotations

import numpy as np

from saltcalc.message import Message
from saltcalc.parts.flush.case import DRIPPER_FLOW
from saltcalc.parts.flush.plan import FlushResult
from saltcalc.parts.flush.pouring import turns_of
from saltcalc.parts.shown import part, shown
from saltcalc.science.application import dripper_hours
from saltcalc.science.flush_advice import Advice


@part
class ShortPlan:
    """The plan for a medium in a vessel that drains."""

    ec_water: float = shown("EC of the water to pour, rain mixed in where it is needed.", "dS/m")
    water_per_container: float = shown("Water to pour through the medium of one container.", "L")
    passes: int = shown("Number of passes.")
    applied_each: float = shown("Water of one pass.", "L")
    rest: float = shown("Rest between passes.", "min")
    check_reading: float = shown(
        "Done when, after a rest, the medium reads this or less by its own extraction method.",
        "dS/m",
    )
    wait: float = shown("Rest before that reading.", "h")
    time_needed: float = shown("Time, rests and nights included.", "h")


def say_turns(advice: Advice) -> Message:
    """Say how a dripper of the usual flow brings the litres of a plan."""
    return turns_of(advice, float(dripper_hours(advice.instruction.litres, DRIPPER_FLOW)))


def short_plan(flush: FlushResult, advice: Advice, ec_water: float) -> ShortPlan:
    """Return what is shown of a plan with a water [dS/m]."""
    told = advice.instruction
    return ShortPlan(
        ec_water=ec_water,
        water_per_container=float(told.litres),
        passes=int(told.passes),
        applied_each=flush.case.flush.pass_volume,
        rest=60 * float(np.asarray(advice.timing.rest)),
        check_reading=float(told.check_ec) / float(flush.case.settled_over_reading),
        wait=float(told.wait),
        time_needed=float(told.hours),
    )
