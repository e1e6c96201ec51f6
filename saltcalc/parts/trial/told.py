"""How a trial calls its media, crops and figures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from saltcalc.data.trial_figures import EC, TrialFigure, trial_figures
from saltcalc.message import Message, say
from saltcalc.parts.shown import Amount
from saltcalc.parts.trial.reading import Reading

FIGURES = tuple(trial_figures())

MOST_NAMED = 4
"""Media that a sentence names."""


def crop_name(reading: Reading, crop: str) -> str:
    """Return the name of a crop."""
    return next(each.name for each in reading.assessment.catalogue if each.id == crop)


def figure_name(figure: TrialFigure) -> Message:
    """Return the name of a figure."""
    return say(f"trial_figures.name.{figure.id}")


def reading_name(figure: TrialFigure) -> Message:
    """Return the name of what a figure is read from, on whichever side it harms."""
    return figure_name(next(e for e in trial_figures().values() if e.reads == figure.reads))


def told(reading: Reading, place: int, figure: int) -> Any:
    """Return a figure of a medium for people."""
    one = reading.figures[figure]
    low, high = (float(ends[place, figure]) for ends in reading.values)
    if math.isnan(low):
        return say("trial.not_known")
    if one.takes in ("sign", "sealed"):
        return say("trial.seen" if low > 0 else "trial.not_seen")
    unit = "dS/m" if one.takes in EC else "1" if one.figure == "ph" else "mg/L"
    if one.takes in EC and reading.floors[place]:
        return Amount(low, unit, low, math.nan)
    return Amount(low, unit) if low == high else Amount((low + high) / 2, unit, low, high)


def how_it_fared(reading: Reading, places: Sequence[int], crop: str) -> Message:
    """Tell how a crop fared in these media; where they differ, that it failed or did well."""
    found = [each for place in places if (each := reading.media[place].of(crop))]
    grades = {each.grade for each in found}
    if len(grades) == 1:
        return say(f"trial.{grades.pop()}")
    return say("trial.did_well" if all(each.good for each in found) else "trial.failed")


def in_short(names: list[str | Message]) -> list[str | Message]:
    """Return the first of many names, and how many more there are."""
    if len(names) <= MOST_NAMED:
        return names
    return [*names[: MOST_NAMED - 1], say("trial.more_media", count=len(names) - MOST_NAMED + 1)]


def labels(reading: Reading, places: Sequence[int]) -> list[str | Message]:
    """Return what the media are called in a sentence."""
    return [reading.media[place].called for place in places]


def media_names(reading: Reading, places: Sequence[int]) -> list[str]:
    """Return the names of the media as the answer has them."""
    return [reading.media[place].name for place in places]


def once(reading: Reading, places: Sequence[int]) -> list[int]:
    """Return figures, of those with one name the first."""
    named: dict[str, int] = {}
    for at in places:
        named.setdefault(reading.figures[at].reads, at)
    return list(named.values())
