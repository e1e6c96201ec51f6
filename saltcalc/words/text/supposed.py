"""What was taken for granted, in a few words."""

from __future__ import annotations

from saltcalc.words.catalogue import Words
from saltcalc.words.figures import figure
from saltcalc.words.rendering import Json


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
