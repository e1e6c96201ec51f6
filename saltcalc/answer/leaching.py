"""The leaching requirement in words and quantities."""

from __future__ import annotations

import math

from saltcalc.answer.ledger import Ledger
from saltcalc.answer.quantities import SHARE_UNIT, Json, quantity
from saltcalc.assessment.batch import FloatArray, Plantings
from saltcalc.assessment.leaching import Leaching
from saltcalc.assessment.vocabulary import STAGES
from saltcalc.data.crops import Crop


def answer_leaching(
    result: Leaching,
    plantings: Plantings,
    catalogue: tuple[Crop, ...],
    water_ec: FloatArray,
    rows: list[int],
    ledger: Ledger,
) -> list[Json]:
    """Return the leaching requirement of each planting in ``rows``."""
    return [
        _answer_one(result, plantings, catalogue, water_ec, row, position, ledger)
        for position, row in enumerate(rows)
    ]


def _answer_one(
    result: Leaching,
    plantings: Plantings,
    catalogue: tuple[Crop, ...],
    water_ec: FloatArray,
    row: int,
    position: int,
    ledger: Ledger,
) -> Json:
    crop = catalogue[plantings.crop[row]]
    part = f"leaching/{position}"
    ec = float(water_ec[plantings.sample[row]])
    if math.isnan(crop.threshold):
        ledger.miss(
            part,
            [],
            f"No threshold and slope are published for {crop.name}, so it has no leaching "
            "requirement.",
        )
    else:
        _warn_of_water(float(result.requirement[row]), crop, ec, part, ledger)
    return {
        "crop": crop.id,
        "stage": STAGES[plantings.stage[row]],
        "requirement": quantity(float(result.requirement[row]), SHARE_UNIT),
        "requirement_high_frequency": quantity(
            float(result.requirement_high_frequency[row]), SHARE_UNIT
        ),
        "water_factor": quantity(float(result.water_factor[row]), SHARE_UNIT),
        "sentence": _sentence(result, row),
        "sources": ledger.cite("rhoades-1974", "fao29", crop.source),
    }


def _sentence(result: Leaching, row: int) -> str | None:
    requirement = float(result.requirement[row])
    if math.isnan(requirement):
        return None
    return (
        f"In field soil {requirement:.0%} of every watering must drain: there roots take most of "
        "their water near the top, where little salt is, and the rule allows for that. A container "
        "mixes its salt; there follow the share that an assessment gives under upkeep, which keeps "
        "all of the medium under the limit."
    )


def _warn_of_water(requirement: float, crop: Crop, ec: float, part: str, ledger: Ledger) -> None:
    if math.isnan(requirement):
        ledger.warn(
            "water-too-saline",
            "stop",
            f"This water (EC {ec:.2g} dS/m) cannot hold the medium at what {crop.name} stands "
            f"({crop.threshold:.2g} dS/m), however much of it drains. Use or mix in a better "
            "water, or grow another crop.",
            f"{part}/requirement",
        )
    elif ec > crop.threshold:
        ledger.warn(
            "leaching-requirement-out-of-range",
            "caution",
            f"The water (EC {ec:.2g} dS/m) is itself above what {crop.name} stands without loss "
            f"({crop.threshold:.2g} dS/m). The equation asks for {requirement:.0%} of every "
            "watering to drain, at or beyond the range it was drawn up for (up to 30 to 40 %); a "
            "better water is the surer way.",
            f"{part}/requirement",
        )
