"""How a dripper brings a flush, in words that add up."""

import re

import pytest

from saltcalc.parts.flush.pouring import in_turns, say_time
from saltcalc.words.catalogue import words


@pytest.mark.parametrize(
    ("hours", "passes", "per_day", "rest"),
    [(11.0, 21, 6, 0.0), (23.25, 28, 3, 4.0), (0.5, 14, 1, 0.0), (40.0, 10, 2, 1.0)],
)
def test_turns_add_up_to_the_hours(hours, passes, per_day, rest):
    told = in_turns(hours, passes, per_day, rest)
    days = int(re.match(r"\d+", words().say(told.told["days"]))[0])
    assert told.id == "drip.in_turns"
    minutes = told.told["time"].told.get("minutes", 60 * told.told["time"].told.get("hours", 0))
    assert minutes * told.told["count"] * days == pytest.approx(60 * hours)


@pytest.mark.parametrize(
    ("hours", "passes", "per_day", "rest", "days"),
    [(350.0, 28, 5, 1.0, "15 days"), (30.0, 3, 3, 0.0, "2 days"), (44.0, 4, 2, 3.0, "2 days")],
)
def test_a_dripper_that_no_day_is_long_enough_for_runs_day_and_night(
    hours, passes, per_day, rest, days
):
    told = words().say(in_turns(hours, passes, per_day, rest))
    assert told == f"day and night for {days}"


@pytest.mark.parametrize(
    ("hours", "told"), [(0.075, "4.5 minutes"), (1.9, "110 minutes"), (5.4, "5.4 hours")]
)
def test_a_short_time_is_told_in_minutes(hours, told):
    assert words().say(say_time(hours)) == told
