"""Items of the short words, each with how much it matters."""

from __future__ import annotations

from saltcalc.words.rendering import Json

MUST, SHOULD, MAY, SPARE = range(4)
"""How much an item matters: where there is not room for all, the last ones go first."""

Item = tuple[int, str]

POURING = ("flush", "flush_elsewhere", "drill_holes", "better_water")
"""Actions that pour water through."""


def found_in(answer: Json) -> dict[str, Json]:
    """Return the findings of an answer by their ids."""
    return {each["id"]: each for each in answer["warnings"]}
