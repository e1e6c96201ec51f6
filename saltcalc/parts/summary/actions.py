"""What to do first, and what else."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import zip_longest
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from saltcalc.case.vocabulary import BY_HAND, OVERHEAD
from saltcalc.message import Message, say
from saltcalc.parts.acting import SALTS, is_of_salt
from saltcalc.parts.causes.show import WeighedCause
from saltcalc.parts.flush.calcium import before_flush
from saltcalc.parts.flush.case import DRIPPER_FLOW
from saltcalc.parts.flush.held_back import DISEASE, is_leached
from saltcalc.parts.flush.pouring import in_turns, say_when
from saltcalc.parts.flush.show import FlushPlan
from saltcalc.parts.shown import Amount, Text
from saltcalc.parts.summary.rows import Action
from saltcalc.parts.upkeep.arrays import Upkeep
from saltcalc.science._arrays import Flags, Floats
from saltcalc.science.application import dripper_hours
from saltcalc.science.instruction import PRACTICAL_POURINGS

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

POURING = ("flush", f"remedy_{SALTS}")
"""Actions that wait where a flush had no effect."""


def of_salt(causes: list[WeighedCause]) -> WeighedCause:
    """Return the cause that is an excess of salts."""
    return next(each for each in causes if each.cause == SALTS)


class Ways(NamedTuple):
    """Where something is done with the containers for the salt, one row a container.

    Attributes
    ----------
    flush : (m,) ndarray of bool
        By a flush in place.
    other : (m,) ndarray of bool
        In another way.
    litres, reading : (m,) ndarray
        Water of that flush [L], and the reading by the medium's own method that ends it [dS/m]:
        of the one that lasts, where a flush to the limit would not hold.
    least : (m,) ndarray
        Water of the flush just to the limit [L].
    """

    flush: Flags
    other: Flags
    litres: Floats
    reading: Floats
    least: Floats


def ways_of(assessment: Assessment) -> Ways:
    """Find what is done for the salt."""
    plan, owner = assessment.flush_plan, assessment.batch.containers.sample
    of_salt_ = is_of_salt(assessment)
    flush: Flags = plan.leads & of_salt_[owner]
    if not flush.any():
        return Ways(flush, plan.has_other_ways & of_salt_[owner], *np.full((3, owner.size), np.nan))
    kept = assessment.upkeep
    lasts = ~np.isnan(kept.lasting_days)
    return Ways(
        flush,
        plan.has_other_ways & ~flush & of_salt_[owner],
        np.where(flush, np.where(lasts, kept.lasting_plan.litres, plan.told.litres), np.nan),
        np.where(flush, np.where(lasts, kept.lasting_check, plan.check_own), np.nan),
        np.where(flush, plan.told.litres, np.nan),
    )


def to_do(
    ways: Ways,
    rows: list[int],
    causes: list[WeighedCause],
    plans: list[FlushPlan],
    upkeep: list[Upkeep],
) -> Iterator[Action]:
    """Yield what to do for the first cause, and what is left of it for each container.

    Against a disease that no plan was made beside, first of all.
    """
    poured = (ways.flush | ways.other)[rows].any()
    supported = [each for each in causes if each.verdict == "supported"]
    sick = [each for each in supported if each.cause == DISEASE and not poured]
    first = next(iter(sick or supported), None)
    remedies = [first] if first and not (poured and first.cause == SALTS) else []
    yield from (_remedy(each) for each in remedies if not is_leached(each.cause))
    for row, plan, kept in zip_longest(rows if plans else (), plans, upkeep):
        if ways.flush[row]:
            told = (each.item(row) for each in (ways.litres, ways.reading, ways.least))
            yield _flush(plan, kept, *told)
        elif ways.other[row]:
            option = plan.options[0]
            yield Action(option.id, plan.container, None, None, option.sentence)
    yield from (_remedy(each) for each in remedies if is_leached(each.cause))


def _flush(
    plan: FlushPlan, kept: Upkeep | None, litres: float, reading: float, least: float
) -> Action:
    """Return the flush that lasts or, where the one to the limit does or none will, that one."""
    check, lasting = plan.rested_check, kept.extended_flush if kept else None
    assert check is not None
    done = lasting or check
    amount = Amount(litres, "L") if lasting else Amount.of(plan.water_per_container, "L")
    passes = lasting.passes if lasting else plan.passes
    means = plan.pouring.means if plan.pouring else None
    spread = means == "dripper" or (means in BY_HAND and passes > PRACTICAL_POURINGS)
    if lasting is None and not spread:
        sentence: Text | str = plan.in_short or plan.sentence
    else:
        again = say(
            "summary.pour_again",
            more=done.more_water,
            rounds=say("times", count=done.most_rounds),
        )
        told = {
            "pour": say_how_to_pour(plan, litres, passes),
            "reading": reading,
            "when": say_when(float(done.wait)),
            "if_not": again if done.most_rounds else say("summary.no_more_rounds"),
        }
        if kept and lasting:
            told["weeks"] = say("weeks", count=int(lasting.days // 7))
            told["least"] = _least(least, kept)
        which = "flush_that_lasts" if lasting else "flush_to_limit"
        sentence = (*before_flush(plan.calcium_first), say(f"summary.{which}", **told))
    return Action("flush", plan.container, amount, Amount(reading, "dS/m"), sentence)


def _least(least: float, kept: Upkeep) -> Message | str:
    """Say what a flush just to the limit takes, where that may not hold as long."""
    days, lasting = max(math.floor(kept.days_to_limit.low), 1), kept.extended_flush
    if lasting is None or days >= lasting.days:
        return ""
    return say("summary.least_would_do", least=least, days=say("days", count=days))


def say_how_to_pour(
    plan: FlushPlan, water: float, passes: int, by_dripper: str = "summary.drip"
) -> Message:
    """Say how the litres are brought; ``by_dripper`` where a can will not do."""
    pouring, part_of_plan = plan.pouring, water / float(plan.water_per_container.value)
    told = {"water": water, "passes": say("passes", count=passes)}
    if pouring is None:
        return say("summary.pour", **told)
    per_day, rest = plan.passes_a_day or 1, plan.rest / 60.0
    if pouring.means == "dripper":
        hours = pouring.dripper_hours * part_of_plan
        turns = in_turns(hours, passes, per_day, rest)
        return say("summary.run_drippers", turns=turns, **told)
    if pouring.means == "rain":
        return say("summary.by_rain", depth=pouring.rain * part_of_plan, **told)
    if pouring.means in OVERHEAD:
        depth = pouring.depth_a_pass * water / plan.applied_each
        which = "over_bed" if pouring.means == "sprinkler" else "by_depth"
        return say(f"summary.{which}", depth=depth, **told)
    if passes <= PRACTICAL_POURINGS:
        return say("summary.pour", **told)
    turns = in_turns(float(dripper_hours(water, DRIPPER_FLOW)), passes, per_day, rest)
    return say(by_dripper, flow=DRIPPER_FLOW, turns=turns, **told)


def _remedy(cause: WeighedCause) -> Action:
    return Action(f"remedy_{cause.cause}", None, None, None, cause.usual_remedy or "")
