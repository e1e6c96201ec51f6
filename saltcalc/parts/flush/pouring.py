"""A flush as it is poured: by what is at hand, with the check that ends it, and in words."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.batch import SMALL_CELL
from saltcalc.case.vocabulary import MEANS
from saltcalc.data.extraction import extraction_methods
from saltcalc.message import Message, say
from saltcalc.parts.flush.case import dripper_flow
from saltcalc.parts.flush.plan import FlushResult
from saltcalc.parts.shown import Text, part, row_of, shown
from saltcalc.science.application import depth_of, dripper_hours, hose_seconds, tray_water
from saltcalc.science.flush_advice import Advice
from saltcalc.science.instruction import NIGHT, PRACTICAL_POURINGS
from saltcalc.science.wetting import LOT_REST, wetting_lots

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

WORTH_TELLING = 0.05
"""Share of the water that rests save, from which it is told (judgement)."""

BUCKET = 10.0
"""Volume of a bucket that people have at hand [L] (common practice, no source)."""

_LONGEST_RUN = 24.0
"""Hours of a day."""

_SHORT = 2.0
"""Hours below which people count in minutes."""


@part
class Wetting:
    """Water that wets a dry medium before any of it washes; part of the litres."""

    water_on_one: float = shown("Water of the wetting on one container.", "L")
    lots: int = shown("How many small lots.")
    water_of_lot: float = shown("Water of one lot.", "L")
    rest: float = shown("Rest between the lots.", "min")


@part
class Pouring:
    """The litres as they are counted by what is at hand; what does not apply is left out."""

    means: str = shown("What the water is poured with.", choices=MEANS)
    seconds_a_pass: float = shown("Seconds to hold the hose on one container.", "s", optional=True)
    dripper_hours: float = shown("Hours for the drippers to run in all.", "h", optional=True)
    depth_a_pass: float = shown(
        "Water of a pass as depth on the bench, litres on a square metre.", "mm", optional=True
    )
    boom_runs_a_pass: int | None = shown("Runs of the boom that make one pass.", optional=True)
    litres_a_tray: float = shown("Water of a pass on one tray.", "L", optional=True)
    rain: float = shown("Rain that brings the litres, as a gauge shows it.", "mm", optional=True)
    sentence: Text | None = shown(
        "How a pass is given by it, or how long drippers run; left out of rain.", optional=True
    )

    @property
    def way(self) -> str:
        """How the water is counted: as depth over all, or by what it is poured with."""
        return "overhead" if math.isfinite(self.depth_a_pass) else self.means

    def depth(self, litres: float, each: float) -> float:
        """Return an amount of water on one container as depth over all [mm], by that of a pass."""
        return self.depth_a_pass * litres / each


@part
class RestedCheck:
    """The reading that ends the flush, taken after a rest."""

    wait: float = shown("From the last pass to the reading.", "h")
    own_method: float = shown(
        "Done at or below this, by the extraction method of the medium's reading.", "dS/m"
    )
    pour_through: float = shown("The same check by pour-through.", "dS/m")
    pots_read: int = shown(
        "How many containers to read; it is done if none of them reads more than the figure."
    )
    more_water: float = shown("To pour on each where it reads more, before a further check.", "L")
    most_rounds: int = shown(
        "How many times at most that is to be poured; after them stop, and take another way."
    )
    sentence: Text
    """In words; the plan says them."""


def show_wetting(flush: FlushResult) -> Wetting | None:
    """Return how a dry medium is wetted, or None where it is moist."""
    told = flush.told
    if not told.wetting > 0:
        return None
    lots = wetting_lots(told.wetting, flush.case.flush.deficit, flush.case.flush.pass_volume)
    return Wetting(
        water_on_one=told.wetting,
        lots=int(lots.number),
        water_of_lot=float(lots.lot),
        rest=60.0 * LOT_REST,
    )


def show_pouring(assessment: Assessment, row: int) -> Pouring:
    """Return the litres of a plan as they are counted by what is at hand."""
    flush = assessment.flush_of(row)
    samples = row_of(assessment.batch.samples, int(flush.case.owner))
    by, each = MEANS[flush.case.by], flush.case.flush.pass_volume
    poured = flush.told.litres
    seconds = hours = depth = tray = rain = math.nan
    runs = None
    # Nobody waters cells one by one: what is at hand goes over all of them.
    cells = flush.case.volume <= SMALL_CELL and by in ("can", "hose", "dripper")
    match "boom" if cells else by:
        case "hose":
            seconds = float(hose_seconds(each, samples.flow / 60.0))
        case "dripper":
            flow = dripper_flow(assessment.batch)[int(flush.case.owner)]
            hours = float(dripper_hours(poured, flow))
        case "boom":
            cells, ribs = samples.cells_per_tray, samples.tray_length * samples.tray_width
            if cells > 0 and ribs > 0:
                on_tray = tray_water(each, cells, ribs, samples.run_depth)
                depth, tray = float(on_tray.depth), float(on_tray.litres_a_tray)
            else:
                depth = float(depth_of(each, flush.case.area))
            if by == "boom" and samples.run_depth > 0:
                runs = math.ceil(depth / samples.run_depth - 1e-9)
        case "sprinkler":
            depth = float(depth_of(each, flush.case.area))
        case "rain":
            rain = float(depth_of(poured, flush.case.area))
    pouring = Pouring(by, seconds, hours, depth, runs, tray, rain, None)
    return replace(pouring, sentence=tuple(_at_a_time(flush, pouring)) or None)


def _at_a_time(flush: FlushResult, pouring: Pouring) -> Iterator[Message]:
    """Say how one pass is given, or how long the drippers run for all of them."""
    each = flush.case.flush.pass_volume
    match pouring.way:
        case "rain":
            return
        case "dripper":
            yield _by_dripper(flush, pouring)
        case "overhead":
            yield say("flush.depth_at_a_time", depth=pouring.depth_a_pass)
            yield from _by_runs_and_trays(pouring)
        case "hose" if math.isfinite(pouring.seconds_a_pass):
            yield say("flush.seconds_at_a_time", seconds=pouring.seconds_a_pass, each=each)
        case _:
            yield say("flush.litres_at_a_time", each=each)
    if pouring.way == "hose" and math.isnan(pouring.seconds_a_pass):
        yield _time_the_hose(each)


def say_more(
    assessment: Assessment, row: int, litres: float, passes: Message, likely: Message
) -> Message:
    """Say how much more to pour in a flush under way, as it is counted by what is at hand."""
    flush, pouring = assessment.flush_of(row), show_pouring(assessment, row)
    told = {"passes": passes, "litres": litres, "likely": likely}
    told["each"] = flush.case.flush.pass_volume
    if pouring.way in ("rain", "overhead"):
        told["depth"] = _amount(flush, pouring, litres)
        return say(f"progress.go_on_{pouring.way}", **told)
    if pouring.way == "dripper":
        hours = pouring.dripper_hours * litres / flush.told.litres
        return say("progress.go_on_dripper", time=say_time(hours), **told)
    return say("progress.go_on", **told)


def _time_the_hose(each: float) -> Message:
    """Say how a hose of which no flow is known is measured out."""
    return say("flush.time_the_hose", each=each, share=each / BUCKET)


def _by_dripper(flush: FlushResult, pouring: Pouring) -> Message:
    hours = pouring.dripper_hours
    turns = turns_of(flush.advice, hours)
    which = "by_dripper" if turns.id == "drip.at_once" else "by_dripper_in_turns"
    return say(f"flush.{which}", time=say_time(hours), flow=flush.told.litres / hours, turns=turns)


def turns_of(advice: Advice, hours: float) -> Message:
    """Say how a dripper brings the passes of a plan in so many hours in all."""
    per_day, rest = (np.asarray(each) for each in (advice.timing.passes_a_day, advice.timing.rest))
    return in_turns(hours, int(advice.instruction.passes), int(per_day), float(rest))


def _by_runs_and_trays(pouring: Pouring) -> Iterator[Message]:
    if pouring.boom_runs_a_pass:
        yield say("flush.boom_runs", count=pouring.boom_runs_a_pass)
    if math.isfinite(pouring.litres_a_tray):
        yield say("flush.litres_a_tray", litres=pouring.litres_a_tray)


def show_check(assessment: Assessment, row: int, pouring: Pouring) -> RestedCheck:
    """Return the reading that ends a flush."""
    flush = assessment.flush_of(row)
    told, pots = flush.told, int(flush.case.reading.samples)
    which = "check_by_pour_through" if flush.case.read_by_pour_through else "check"
    reading = say(
        f"flush.{which}",
        when=say_when(told.wait),
        own=flush.check_own,
        method=say(f"extraction_methods.name.{_method(assessment, row)}"),
        poured=flush.check_pour_through,
        pots=_pots(flush),
    )
    if_not = say_if_not(flush.advice, _amount(flush, pouring, told.more))
    return RestedCheck(
        wait=told.wait,
        own_method=flush.check_own,
        pour_through=flush.check_pour_through,
        pots_read=pots,
        more_water=told.more if told.rounds else math.nan,
        most_rounds=int(told.rounds),
        sentence=(reading, if_not),
    )


def say_if_not(advice: Advice, more: Message) -> Message:
    """Say what to do where the check reads more than the figure that ends the flush."""
    if not advice.instruction.rounds:
        return say("flush.no_more_rounds")
    return say("flush.pour_more", more=more, rounds=_rounds(advice))


def _rounds(advice: Advice) -> Message:
    return say("times", count=int(advice.instruction.rounds))


def say_end(flush: FlushResult, advice: Advice) -> tuple[Message, ...]:
    """Say how a plan by hand is spread over time, and which check ends it."""
    told = advice.instruction
    rests = (say_rests(advice),) if 1 < told.passes <= PRACTICAL_POURINGS else ()
    pots = say("flush.pots", count=int(flush.case.reading.samples))
    if not told.rounds:
        return (*rests, say("flush.read_pots", pots=pots), say("flush.no_more_rounds"))
    more = say("flush.litres", litres=float(told.more))
    check = say("flush.read_and_pour_more", pots=pots, more=more, rounds=_rounds(advice))
    return (*rests, check)


def _pots(flush: FlushResult) -> Message:
    """Say which containers to read; a pour-through sees by itself where water runs past."""
    which = "pots" if flush.case.read_by_pour_through else "pots_with_fastest"
    return say(f"flush.{which}", count=int(flush.case.reading.samples))


def _amount(flush: FlushResult, pouring: Pouring, litres: float) -> Message:
    """Say an amount of water on one container: overhead as depth, since nobody counts by cells."""
    if pouring.way == "overhead":
        return say("flush.depth", depth=pouring.depth(litres, flush.case.flush.pass_volume))
    if pouring.way == "rain":
        return say("flush.depth", depth=depth_of(litres, flush.case.area))
    return say("flush.litres", litres=litres)


def _method(assessment: Assessment, row: int) -> str:
    """Return the extraction method of the reading of a container's medium."""
    code = assessment.batch.samples.extraction[assessment.flush_case.owner[row]]
    return extraction_methods()[int(code)].id


def in_short(flush: FlushResult, pouring: Pouring, check: RestedCheck, name: str | None) -> Message:
    """Say the plan in one line: the litres, the figure that ends it, and what if not."""
    which = "in_short_rain" if pouring.means == "rain" else "in_short"
    return say(
        f"flush.{which}" if check.most_rounds else f"flush.{which}_once",
        **say_amount(flush, pouring, name),
        when=say_when(check.wait),
        own=check.own_method,
        more=_amount(flush, pouring, flush.told.more),
    )


def say_amount(flush: FlushResult, pouring: Pouring, name: str | None) -> dict[str, Message]:
    """Say how much water a plan brings, and on what."""
    each = "named_container" if name else "container"
    over = "bed" if pouring.means == "sprinkler" else "trays"
    where = over if pouring.way == "overhead" else each
    return {
        "amount": _amount(flush, pouring, flush.told.litres),
        "where": say(f"flush.each_{where}", name=name),
    }


def say_when(wait: float) -> Message:
    """Say when to read the medium."""
    days = round((wait - NIGHT) / 24.0)
    return say("flush.next_morning") if days <= 0 else say("flush.later_morning", days=days + 1)


def in_turns(hours: float, passes: int, per_day: int, rest: float) -> Message:
    """Say how a dripper brings the passes of a plan: at once, without a pause, or with its rests.

    A dripper that would take more of a day than there is runs on day and night.
    """
    days = math.ceil(passes / per_day)
    if rest <= 0 and days == 1 and hours <= _LONGEST_RUN:
        return say("drip.at_once", time=say_time(hours))
    turns = per_day if rest > 0 else 1
    each = hours / (days * turns)
    if turns * (each + max(rest, 0.0)) > _LONGEST_RUN:
        days = max(math.ceil(hours / 24.0), days)
        return say("drip.day_and_night", days=say("days", count=days))
    return say("drip.in_turns", time=say_time(each), count=turns, days=say("days", count=days))


def say_time(hours: float) -> Message:
    """Say a time in hours, a short one in minutes."""
    if hours < _SHORT:
        return say("time.minutes", minutes=60.0 * hours)
    return say("time.hours", hours=hours)


def plan_in_steps(
    flush: FlushResult,
    pouring: Pouring,
    wetting: Wetting | None,
    check: RestedCheck,
    count: int,
    daily_use: float,
    *,
    weak_feed: bool,
) -> list[tuple[Message, ...]]:
    """Say the plan after the line in short, step by step: what to heed, how to pour, the check.

    ``weak_feed`` is whether a weak feed is poured and not water.
    """
    wet = [say("flush.wet_first")] if flush.case.repelling else []
    if wetting:
        wet.append(
            say(
                "flush.wet_in_lots",
                water=wetting.water_on_one,
                lots=wetting.lots,
                lot=wetting.water_of_lot,
                rest=wetting.rest,
            )
        )
    pour = [*_how_to_pour(flush, pouring)]
    if daily_use > 0:
        # What plants and air take drains nothing, and is no part of the litres.
        pour.append(say("flush.daily_use", use=_amount(flush, pouring, daily_use)))
    if count > 1:
        pour.append(say("flush.for_all", number=count, litres=flush.told.litres * count))
    likely, confidence = _likely(flush, pouring), flush.case.confidence
    pour.append(say("flush.likely_to_take", likely=likely, confidence=confidence))
    way_mark = say("flush.way_mark", low=flush.told.way_mark_low, high=flush.told.way_mark_high)
    reading = check.sentence if isinstance(check.sentence, tuple) else (check.sentence,)
    steps = [
        (say("flush.heed"),),
        tuple(wet),
        tuple(pour),
        (way_mark, *reading[:1]),
        reading[1:],
        (say(f"flush.feed_after{'_at_full_strength' if weak_feed else ''}"),),
    ]
    return [each for each in steps if each]


def _likely(flush: FlushResult, pouring: Pouring) -> Message:
    """Say what the middle container takes, and how far others stray."""
    told = flush.told
    ends = {"likely": told.likely, "low": told.low, "high": told.high}
    amounts = {
        name: _amount(flush, pouring, end) for name, end in ends.items() if math.isfinite(end)
    }
    return say(f"flush.likely{'' if 'high' in amounts else '_or_more'}", **amounts)


def _how_to_pour(flush: FlushResult, pouring: Pouring) -> Iterator[Message]:
    """Say how the water is given by what is at hand, and how it is spread over time."""
    told, case = flush.told, flush.case
    count, each = int(told.passes), case.flush.pass_volume
    match pouring.way:
        case "dripper":
            yield _by_dripper(flush, pouring)
            return
        case "rain":
            yield say("flush.by_rain", rain=pouring.rain)
            return
        case "overhead":
            yield say("flush.by_boom", depth=pouring.depth_a_pass, count=count)
            yield from _by_runs_and_trays(pouring)
        case "hose" if math.isfinite(pouring.seconds_a_pass):
            seconds = pouring.seconds_a_pass
            yield say("flush.by_hose", seconds=seconds, each=each, count=count)
        case _:
            yield say("flush.pour", each=each, count=count)
            if pouring.way == "hose":
                yield _time_the_hose(each)
    if count > 1:
        yield say_rests(flush.advice)


def say_rests(advice: Advice) -> Message:
    """Say how the passes of a plan are spread over time."""
    rest, per_day = (float(np.asarray(each)) for each in advice.timing[1:3])
    days = int(advice.instruction.days)
    if per_day == 1:
        saved = float(advice.rest_saves)
        return say(
            f"flush.one_a_day{'_saves' if saved >= WORTH_TELLING else ''}", count=days, saved=saved
        )
    spaced = say("flush.with_rests", rest=60 * rest) if rest > 0 else say("flush.without_rests")
    return say("flush.spaced", spaced=spaced, days=say("days", count=days))
