"""Items of the short words, each with how much it matters, and what was taken for granted."""

from __future__ import annotations

from saltcalc.words.catalogue import Words
from saltcalc.words.figures import figure
from saltcalc.words.rendering import Json

MUST, SURE, SHOULD, MAY, SPARE = range(5)
"""How much an item matters: where there is not room for all, the last ones go first.

``SURE`` is the check that settles a doubt, with what it shows: without that it is of no use.
"""

Item = tuple[int, str]

POURING = ("flush", "flush_elsewhere", "drill_holes", "better_water")
"""Actions that pour water through."""


def found_in(answer: Json) -> dict[str, Json]:
    """Return the findings of an answer by their ids."""
    return {each["id"]: each for each in answer["warnings"]}


def supposed(row: Json, language: Words) -> str:
    """Say what an assumption assumes."""
    value = row["value"]
    match row["id"]:
        case "extraction":
            value = language.tell(f"extraction_methods.name.{value}")
        case "substrate":
            value = language.tell(f"substrates.name.{value}")
        case "stage":
            value = language.tell(f"stage.{value}")
        case _ if isinstance(value, dict) and value["unit"] == "1":
            value = value["value"]
        case _ if isinstance(value, dict):
            value = f"{figure(value['value'])} {value['unit']}"
    return language.tell(f"supposed.{row['id']}", value=value)
