"""The sentences about salt that builds up, chosen by its figures."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from saltcalc.message import Message, say
from saltcalc.science.buildup import HORIZON
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.upkeep.arrays import Upkeep

RATHER = 0.5
"""Share of the cases from which it is more likely than not that the limit is crossed. [-]"""

RARELY = 0.2
"""Share of the cases up to which the limit is hardly ever crossed in a year (judgement)."""


def sentences(upkeep: Upkeep) -> Iterator[Message]:
    """Yield what to say of one container."""
    limit, days, start = upkeep.limit, upkeep.days_to_limit, upkeep.ec_at_start
    if upkeep.release > 0:
        yield say("upkeep.slow_release", release=upkeep.release)
    yield _draining(upkeep)
    begin = "after_flush" if upkeep.flushed else "from_now"
    told = {"start": start, "limit": limit, "time": say_span(days)}
    if not upkeep.start_is_below:
        yield say("upkeep.above_limit", **told)
    elif days.low > HORIZON - 1:
        yield say(f"upkeep.never_{begin}", **told)
    elif upkeep.crossing < RARELY:
        yield say(f"upkeep.hardly_{begin}", **told)
    elif upkeep.crossing < RATHER:
        share = round(float(upkeep.crossing), 1)
        yield say(f"upkeep.may_cross_{begin}", share=share, **told)
    else:
        yield say(f"upkeep.crosses_{begin}", **told)
    if with_uptake := upkeep.with_uptake:
        later = with_uptake.days_to_limit
        which = "never_with_uptake" if later.low > HORIZON - 1 else "with_uptake"
        if start <= limit and days.value < later.value - 1:
            yield say(f"upkeep.{which}", time=say_span(later))
    if lasting := upkeep.extended_flush:
        yield say(
            "upkeep.extended_flush",
            time=say("weeks", count=int(lasting.days // 7)),
            water=lasting.water_per_container,
            passes=say("passes", count=lasting.passes),
            reading=lasting.check_reading,
        )
    interval = upkeep.flush_interval
    if interval.low < 1:
        yield say("upkeep.flush_lasts_no_day")
    elif math.isfinite(interval.low):
        count = math.floor(interval.low)
        yield say("upkeep.periodic_leaching", water=upkeep.periodic_leaching, count=count)


def say_span(days: Interval) -> Message:
    """Tell days with their ends, after a verb."""
    if days.high < 1.5:
        return say("upkeep.about_a_day")
    if days.high > HORIZON - 1:
        return say("upkeep.days_open", low=max(days.low, 1.0), value=days.value)
    return say("upkeep.days_span", low=max(days.low, 1.0), high=days.high, value=days.value)


def _draining(upkeep: Upkeep) -> Message:
    needed, drains = upkeep.leaching_fraction_needed, upkeep.leaching_fraction
    if upkeep.sealed:
        return say("upkeep.nothing_drains")
    if math.isnan(needed):
        return say(f"upkeep.no_draining_helps{'_fed' if upkeep.feed_leads else ''}")
    which = "enough_drains" if drains >= needed else "more_must_drain"
    if drains >= needed and upkeep.start_is_below and upkeep.crossing >= RARELY:
        # The middle of such containers stays below the limit, and too many of them do not.
        which = "hardly_enough_drains"
    now = "as_assumed" if upkeep.supposed else "now"
    told = {"needed": needed, "now": say(f"upkeep.drains_{now}", drains=drains)}
    if upkeep.rule in ("chloride", "boron") and which != "hardly_enough_drains":
        return say(f"upkeep.{which}_ion", ion=say(f"ion.{upkeep.rule}"), **told)
    return say(f"upkeep.{which}", **told)
