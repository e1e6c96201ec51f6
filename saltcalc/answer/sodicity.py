"""The sodium hazard in words and quantities."""

from __future__ import annotations

import math

from saltcalc.answer.ledger import Ledger
from saltcalc.answer.quantities import SAR_UNIT, Json, quantity
from saltcalc.assessment.batch import Solutions
from saltcalc.assessment.sodicity import Sodicity
from saltcalc.data.water_classes import ClassScale, class_scales, infiltration_bands
from saltcalc.science.sodicity import INFILTRATION_CLASSES, NO_CLASS, classify

_NEEDED = ("sodium", "calcium", "magnesium")
_MEDIUM_SCALE = ("sssa", "sar_saturation_extract")
_WATER_SCALE = ("fao29", "sodium_surface")


def answer_medium_sodicity(
    result: Sodicity, solutions: Solutions, row: int, ledger: Ledger
) -> Json | None:
    """Return the sodium hazard of a medium's extract, or None where it cannot be computed."""
    if not _computable(solutions, row, "medium", ledger):
        return None
    scale = class_scales()[_MEDIUM_SCALE]
    esp = float(result.esp[row])
    ledger.warn(
        "esp-is-indicative",
        "note",
        "The exchangeable sodium is estimated by a regression on mineral soils; peat, bark, coir "
        "and compost hold sodium differently.",
        "sodicity/medium/esp",
    )
    return {
        "sar": quantity(float(result.sar[row]), SAR_UNIT),
        "class": _class_name(float(result.sar[row]), scale),
        "esp": quantity(esp, "%"),
        "sources": ledger.cite(scale.source, "hb60"),
    }


def answer_water_sodicity(
    result: Sodicity, solutions: Solutions, row: int, ledger: Ledger
) -> Json | None:
    """Return the sodium hazard of a water, or None where it cannot be computed."""
    if not _computable(solutions, row, "water", ledger):
        return None
    scale = class_scales()[_WATER_SCALE]
    code = int(result.infiltration.code[row])
    hazard = None if code == NO_CLASS else INFILTRATION_CLASSES[code]
    if hazard is None:
        ledger.miss(
            "sodicity/water/infiltration_hazard",
            ["/water/ec"],
            "How well the water soaks in depends on its EC as much as on its SAR.",
        )
    elif hazard == "severe":
        ledger.warn(
            "infiltration-hazard",
            "caution",
            "This water may seal media that hold clay or fine compost: its sodium is high for so "
            "little other salt.",
            "sodicity/water/infiltration_hazard",
        )
    return {
        "sar": quantity(float(result.sar[row]), SAR_UNIT),
        "class": _class_name(float(result.sar[row]), scale),
        "infiltration_hazard": hazard,
        "sources": ledger.cite(scale.source, infiltration_bands()[0].source),
    }


def _computable(solutions: Solutions, row: int, owner: str, ledger: Ledger) -> bool:
    reported = {ion: float(solutions.ions[ion][row]) for ion in _NEEDED}
    missing = [f"/{owner}/ions/{ion}" for ion, amount in reported.items() if math.isnan(amount)]
    if missing:
        ledger.miss(
            f"sodicity/{owner}",
            missing,
            "SAR needs sodium, calcium and magnesium; a missing one is not taken as zero.",
        )
    elif reported["calcium"] + reported["magnesium"] == 0:
        missing = [f"/{owner}/ions/calcium", f"/{owner}/ions/magnesium"]
        ledger.miss(
            f"sodicity/{owner}",
            missing,
            "SAR has no meaning without any calcium or magnesium; check whether both are really "
            "zero or were below the laboratory's limit.",
        )
    return not missing


def _class_name(value: float, scale: ClassScale) -> str | None:
    code = int(classify(value, scale))
    return None if code == NO_CLASS else scale.names[code]
