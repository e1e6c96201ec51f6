"""What to do first, and what else."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import zip_longest
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from saltcalc.case.vocabulary import BY_HAND
from saltcalc.message import Message, say
from saltcalc.parts.acting import is_of_salt
from saltcalc.parts.causes.first_of_all import AMMONIUM
from saltcalc.parts.causes.next_measurement import SALTS
from saltcalc.parts.causes.show import CAUSES, WeighedCause
from saltcalc.parts.flush.calcium import before_flush
from saltcalc.parts.flush.case import DRIPPER_FLOW
from saltcalc.parts.flush.held_back import is_leached
from saltcalc.parts.flush.ion_aim import IONS, NO_ION
from saltcalc.parts.flush.pouring import in_turns, say_when
from saltcalc.parts.flush.show import FlushPlan
from saltcalc.parts.shown import Amount, Text
from saltcalc.parts.summary.rows import CHANGE_WATER, Action
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


class IonFlush(NamedTuple):
    """The single ion that the containers of a sample are flushed for."""

    name: str
    brings: Message | None
    """That the water brings it, where it does."""


def ion_flush(assessment: Assessment, sample: int, causes: list[WeighedCause]) -> IonFlush | None:
    """Return the ion for which a sample is flushed.

    One that leads, or that sets the target, or that the water brings.
    """
    aims, rows = assessment.ion_aims, assessment.containers_of(sample)
    if aims.ion[sample] == NO_ION or not rows:
        return None
    supported = [each.cause for each in causes if each.verdict == "supported"]
    leads = [ion for ion in IONS if supported[:1] == [f"{ion}_toxicity"]]
    asked = aims.other_water[sample] or np.any(assessment.flush_case.for_ion[rows])
    if not leads and not asked:
        return None
    asks = IONS[aims.ion[sample]]
    told = {"found": float(aims.found[sample]), "ion": say(f"ion.{asks}")}
    brings = say("summary.other_water_first", **told) if aims.other_water[sample] else None
    return IonFlush(next(iter(leads), asks), brings)


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
    so_salty : (m,) ndarray of bool
        Where another medium is the easier way than a flush of many pourings.
    """

    flush: Flags
    other: Flags
    litres: Floats
    reading: Floats
    least: Floats
    so_salty: Flags


def ways_of(assessment: Assessment) -> Ways:
    """Find what is done for the salt."""
    plan, owner = assessment.flush_plan, assessment.batch.containers.sample
    of_salt_ = is_of_salt(assessment)
    led = assessment.ion_aims.ion != NO_ION
    flush: Flags = plan.leads & (of_salt_ | led)[owner]
    if not flush.any():
        nothing = np.full(owner.size, np.nan)
        others = plan.has_other_ways & of_salt_[owner]
        return Ways(flush, others, nothing, nothing, nothing, plan.so_salty)
    kept = assessment.upkeep
    lasts = ~np.isnan(kept.lasting_days)
    return Ways(
        flush,
        plan.has_other_ways & ~flush & of_salt_[owner],
        np.where(flush, np.where(lasts, kept.lasting_plan.litres, plan.told.litres), np.nan),
        np.where(flush, np.where(lasts, kept.lasting_check, plan.check_own), np.nan),
        np.where(flush, plan.told.litres, np.nan),
        plan.so_salty & ~assessment.rooted[owner],
    )


def to_do(
    ways: Ways,
    rows: list[int],
    causes: list[WeighedCause],
    plans: list[FlushPlan],
    upkeep: list[Upkeep],
    before: Flags,
    ion: IonFlush | None,
) -> Iterator[Action]:
    """Yield what to do for the first cause, and what is left of it for each container.

    Of those that come ``before`` any pouring, and that no plan was made beside, one is told first;
    its ammonia after the compost that gives it off. Where a flush is planned for an ion, another
    water comes before it where this one brings the ion, and a measurement after it.
    """
    poured = (ways.flush | ways.other)[rows].any()
    supported = [each for each in causes if each.verdict == "supported"]
    early = [each for each in causes if before[CAUSES.index(each.cause)] and not poured]
    early.sort(key=lambda each: each.cause == AMMONIUM)
    first = next(iter(early or supported), None)
    remedies = [first] if first and not (poured and first.cause == SALTS) else []
    yield from (_remedy(each) for each in remedies if not is_leached(each.cause))
    flushed = bool(ways.flush[rows].any())
    if ion and ion.brings and flushed:
        yield Action(CHANGE_WATER, None, None, None, ion.brings)
    for row, plan, kept in zip_longest(rows if plans else (), plans, upkeep):
        if ways.flush[row]:
            litres, reading, least = (
                float(each[row]) for each in (ways.litres, ways.reading, ways.least)
            )
            by_dripper = "summary.mix_or_drip" if ways.so_salty[row] else "summary.drip"
            yield _flush(plan, kept, litres, reading, least, by_dripper)
        elif ways.other[row]:
            option = plan.options[0]
            yield Action(option.id, plan.container, None, None, option.sentence)
    if ion and flushed:
        after = say(f"summary.after_{ion.name}")
        yield Action(f"remedy_{ion.name}_toxicity", None, None, None, after)
        remedies = [each for each in remedies if each.cause != f"{ion.name}_toxicity"]
    yield from (_remedy(each) for each in remedies if is_leached(each.cause))


def _flush(
    plan: FlushPlan,
    kept: Upkeep | None,
    litres: float,
    reading: float,
    least: float,
    by_dripper: str,
) -> Action:
    """Return the flush that lasts or, where the one to the limit does or none will, that one."""
    check, lasting = plan.rested_check, kept.extended_flush if kept else None
    assert check is not None
    done = lasting or check
    amount = Amount(litres, "L") if lasting else Amount.of(plan.water_per_container, "L")
    passes = lasting.passes if lasting else plan.passes
    way = plan.pouring.way if plan.pouring else None
    spread = way == "dripper" or (way in BY_HAND and passes > PRACTICAL_POURINGS)
    if lasting is None and not spread:
        sentence: Text | str = plan.in_short or plan.sentence
    else:
        again = say(
            "summary.pour_again",
            more=_more(plan, float(done.more_water)),
            rounds=say("times", count=done.most_rounds),
        )
        told = {
            "pour": say_how_to_pour(plan, litres, passes, by_dripper),
            "reading": reading,
            "when": say_when(float(done.wait)),
            "if_not": again if done.most_rounds else say("summary.no_more_rounds"),
        }
        if kept and lasting:
            told["weeks"] = say("weeks", count=int(lasting.days // 7))
            told["least"] = _least(least, litres, kept)
        which = "flush_that_lasts" if lasting else "flush_to_limit"
        sentence = (*before_flush(plan.calcium_first), say(f"summary.{which}", **told))
    return Action("flush", plan.container, amount, Amount(reading, "dS/m"), sentence)


def _more(plan: FlushPlan, litres: float) -> Message:
    """Say how much more to pour on each, as it is counted by what is at hand."""
    if plan.pouring and plan.pouring.way == "overhead":
        return say("flush.depth", depth=plan.pouring.depth(litres, plan.applied_each))
    return say("flush.litres", litres=litres)


def _least(least: float, litres: float, kept: Upkeep) -> Message | str:
    """Say what a flush just to the limit takes, where that is less and may not hold as long."""
    if f"{least:.2g}" == f"{litres:.2g}":
        return ""
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
    if pouring.way == "dripper":
        hours = pouring.dripper_hours * part_of_plan
        turns = in_turns(hours, passes, per_day, rest)
        return say("summary.run_drippers", turns=turns, **told)
    if pouring.way == "rain":
        return say("summary.by_rain", depth=pouring.rain * part_of_plan, **told)
    if pouring.way == "overhead":
        depth = pouring.depth(water, plan.applied_each)
        which = "over_bed" if pouring.means == "sprinkler" else "by_depth"
        return say(f"summary.{which}", depth=depth, **told)
    if passes <= PRACTICAL_POURINGS:
        return say("summary.pour", **told)
    turns = in_turns(float(dripper_hours(water, DRIPPER_FLOW)), passes, per_day, rest)
    return say(by_dripper, flow=DRIPPER_FLOW, turns=turns, **told)


def _remedy(cause: WeighedCause) -> Action:
    return Action(f"remedy_{cause.cause}", None, None, None, cause.usual_remedy or "")
