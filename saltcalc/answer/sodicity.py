"""The sodium hazard in words and quantities."""

from __future__ import annotations

import math
from collections.abc import Callable

from saltcalc.answer.quantities import SAR_UNIT, Json, quantity
from saltcalc.case.batch import Solutions
from saltcalc.data.cax import cax_table
from saltcalc.data.water_classes import ClassScale, class_scales, infiltration_bands
from saltcalc.parts.notes import Notes
from saltcalc.parts.sodicity import Sodicity
from saltcalc.science.water_classes import (
    INFILTRATION_CLASSES,
    NO_CLASS,
    SODIUM_HAZARD_CLASSES,
    SOIL_GROUPS,
    classify,
    soil_group_hb60,
)

_CHARGE_UNIT = "mmol_c/L"
_SODIC_SAR = 13.0
_HARMLESS_SAR = 3.0  # FAO 29 Table 1, no restriction below
_TOO_PURE = 0.2  # dS/m, the least EC of FAO 29 Table 1
_MEDIUM_SCALE = ("sssa", "sar_saturation_extract")
_WATER_SCALE = ("fao29", "sodium_surface")
_RSC_SCALE = ("hb60", "rsc")
_SAR_IONS = ("sodium", "calcium", "magnesium")
_ION_SCALES = (
    ("chloride", ("fao29", "chloride_surface"), _CHARGE_UNIT),
    ("boron", ("fao29", "boron"), "mg/L"),
)


def answer_medium_sodicity(
    result: Sodicity,
    solutions: Solutions,
    ec: float,
    extract_ec: float,
    row: int,
    notes: Notes,
) -> Json | None:
    """Return the sodium hazard of a medium's extract, or None where no ion of it was reported.

    Parameters
    ----------
    result : Sodicity
        Of the media.
    solutions : Solutions
        Their extracts.
    ec : float
        EC of this extract at 25 °C [dS/m].
    extract_ec : float
        The same as saturated extract [dS/m].
    row : int
        Which sample.
    notes : Notes
        Where to note what it rests on.
    """
    figures = _figures(result, solutions, ec, row, "medium", notes)
    if figures is None:
        return None
    ratio = float(result.sar[row])
    if not math.isnan(ratio):
        notes.warn(
            "esp-is-indicative",
            "note",
            "The exchangeable sodium is estimated by a regression on mineral soils; peat, bark, "
            "coir and compost hold sodium differently.",
            "sodicity/medium/esp",
        )
    if ratio >= _SODIC_SAR:
        notes.warn(
            "sodic-medium",
            "caution",
            "Sodium outweighs calcium and magnesium. Rain water alone takes the salt out but "
            "leaves the sodium on the medium: flush with water that brings calcium, and look at "
            "the structure.",
            "sodicity/medium/sar",
        )
    scale = class_scales()[_MEDIUM_SCALE]
    return figures | {
        "class": _class_name(ratio, scale),
        "esp": quantity(float(result.esp[row]), "%"),
        "soil_group": _named(int(soil_group_hb60(extract_ec, result.esp[row])), SOIL_GROUPS),
        "sources": notes.cite(scale.source, "hb60", *figures["sources"]),
    }


def answer_water_sodicity(
    result: Sodicity, solutions: Solutions, ec: float, row: int, notes: Notes
) -> Json | None:
    """Return the sodium hazard of a water, or None where no ion of it was reported.

    Parameters
    ----------
    result : Sodicity
        Of the waters.
    solutions : Solutions
        The waters.
    ec : float
        EC of this water at 25 °C [dS/m]; NaN where it is not known.
    row : int
        Which sample.
    notes : Notes
        Where to note what it rests on.
    """
    figures = _figures(result, solutions, ec, row, "water", notes)
    if figures is None:
        return None
    if figures["infiltration_hazard"] == "severe":
        cause = (
            "it is so pure that fine particles slake"
            if result.sar[row] < _HARMLESS_SAR
            else "its sodium is high for so little other salt"
        )
        notes.warn(
            "infiltration-hazard",
            "caution",
            f"This water may seal media that hold clay or fine compost: {cause}.",
            "sodicity/water/infiltration_hazard",
        )
    scale = class_scales()[_WATER_SCALE]
    return figures | {
        "class": _class_name(float(result.sar[row]), scale),
        "hazard_class": _named(int(result.hazard_class[row]), SODIUM_HAZARD_CLASSES),
        "sources": notes.cite(scale.source, "hb60", *figures["sources"]),
    }


def _figures(
    result: Sodicity, solutions: Solutions, ec: float, row: int, owner: str, notes: Notes
) -> Json | None:
    """Return what medium and water have in common."""
    reported = {ion: float(values[row]) for ion, values in solutions.ions.items()}
    if all(math.isnan(amount) for amount in reported.values()):
        notes.miss(
            f"sodicity/{owner}",
            [f"/{owner}/ions/{ion}" for ion in _SAR_IONS],
            "SAR needs sodium, calcium and magnesium; a missing one is not taken as zero.",
        )
        return None

    def need(part: str, ions: tuple[str, ...], sentence: str) -> None:
        missing = [f"/{owner}/ions/{ion}" for ion in ions if math.isnan(reported[ion])]
        if part in {"adjusted_sar", "infiltration_hazard"} and math.isnan(ec):
            missing.append(f"/{owner}/ec")
        if missing:
            notes.miss(f"sodicity/{owner}/{part}", missing, sentence)

    _say_what_is_missing(need, reported, owner, notes)
    code = int(result.infiltration.code[row])
    rsc = float(result.rsc[row])
    rsc_scale = class_scales()[_RSC_SCALE]
    adjusted = result.adjusted
    return {
        "sar": quantity(float(result.sar[row]), SAR_UNIT),
        "adjusted_sar": _adjusted(result, row, owner, notes),
        "rsc": quantity(rsc, _CHARGE_UNIT),
        "rsc_class": _class_name(rsc, rsc_scale),
        "cross": quantity(float(result.cross[row]), SAR_UNIT),
        "mcar": quantity(float(result.mcar[row]), SAR_UNIT),
        "par": quantity(float(result.par[row]), SAR_UNIT),
        "infiltration_hazard": None if code == NO_CLASS else INFILTRATION_CLASSES[code],
        "infiltration_at_least": bool(result.infiltration.at_least[row]),
        "hazards": _hazards(result, reported, row, owner, notes),
        "reading": _reading(float(result.sar[row]), ec, code),
        "sources": notes.cite(
            infiltration_bands()[0].source,
            rsc_scale.source,
            "rengasamy-marchuk-2011",
            "smiles-smith-2004",
            *([] if math.isnan(adjusted.sar[row]) else [cax_table().source, "suarez-1981"]),
        ),
    }


def _say_what_is_missing(
    need: Callable[[str, tuple[str, ...], str], None],
    reported: dict[str, float],
    owner: str,
    notes: Notes,
) -> None:
    need("sar", _SAR_IONS, "SAR needs all three; a missing one is not taken as zero.")
    need(
        "adjusted_sar",
        (*_SAR_IONS, "bicarbonate"),
        "How much calcium stays in solution depends on bicarbonate and EC.",
    )
    need(
        "rsc",
        ("calcium", "magnesium", "bicarbonate"),
        "RSC is bicarbonate less calcium and magnesium.",
    )
    need("cross", (*_SAR_IONS, "potassium"), "These ratios count potassium too.")
    need(
        "infiltration_hazard",
        _SAR_IONS,
        "How well water soaks in depends on its EC as much as on its SAR.",
    )
    if reported["calcium"] + reported["magnesium"] == 0:
        notes.miss(
            f"sodicity/{owner}/sar",
            [f"/{owner}/ions/calcium", f"/{owner}/ions/magnesium"],
            "SAR has no meaning without any calcium or magnesium; check whether both are really "
            "zero or were below the laboratory's limit.",
        )


def _adjusted(result: Sodicity, row: int, owner: str, notes: Notes) -> Json | None:
    adjusted = result.adjusted
    value = quantity(float(adjusted.sar[row]), SAR_UNIT)
    if value is None:
        return None
    if adjusted.clamped[row]:
        notes.warn(
            "adjusted-sar-outside-table",
            "note",
            "EC or the ratio of bicarbonate to calcium lies outside the published table; its edge "
            "was used for the adjusted SAR.",
            f"sodicity/{owner}/adjusted_sar",
        )
    return value | {
        "calcium_used": quantity(float(adjusted.calcium[row]), _CHARGE_UNIT),
        "clamped": bool(adjusted.clamped[row]),
        "would_dissolve_lime": bool(adjusted.dissolves[row]),
    }


def _hazards(
    result: Sodicity, reported: dict[str, float], row: int, owner: str, notes: Notes
) -> list[Json]:
    sodium = _MEDIUM_SCALE if owner == "medium" else _WATER_SCALE
    rows = [("sodium", sodium, SAR_UNIT, float(result.sar[row]))]
    rows += [(ion, key, unit, reported[ion]) for ion, key, unit in _ION_SCALES]
    hazards = []
    for ion, key, unit, value in rows:
        scale = class_scales()[key]
        code = int(classify(value, scale))
        if code == NO_CLASS and ion != "sodium":
            notes.miss(
                f"sodicity/{owner}/hazards/{ion}",
                [f"/{owner}/ions/{ion}"],
                f"The hazard of {ion} needs its figure.",
            )
        low, high = (None, None) if code == NO_CLASS else scale.range_of(code)
        note = scale.note
        if owner == "medium" and ion != "sodium":
            note = "classed as an irrigation water of this strength; see crops for a crop's limit"
        hazards.append(
            {
                "ion": ion,
                "value": quantity(value, unit),
                "class": None if code == NO_CLASS else scale.names[code],
                "class_range": {"low": low, "high": high, "unit": scale.unit},
                "scheme": f"{scale.scheme} {scale.parameter}",
                "note": note,
                "sources": notes.cite(scale.source),
            }
        )
    return hazards


def _reading(ratio: float, ec: float, infiltration: int) -> str | None:
    """Say in one sentence what SAR and EC mean together."""
    if math.isnan(ratio) or infiltration == NO_CLASS:
        return None
    severe = INFILTRATION_CLASSES[infiltration] == "severe"
    if ratio >= _SODIC_SAR:
        if severe:
            return (
                "Much sodium and little other salt: where there is clay or fine compost, it "
                "swells, seals and stays wet."
            )
        return (
            "Much sodium, but the salt around it still keeps the pores open; they close when the "
            "salt is flushed out without calcium."
        )
    if severe and ec < _TOO_PURE:
        return "So little salt that fine particles may slake and seal the surface."
    if severe:
        return "The sodium is high for so little other salt; water soaks in badly."
    if INFILTRATION_CLASSES[infiltration] != "none" and ratio < _HARMLESS_SAR:
        return "So little salt that fine particles may slake a little; sodium itself is low."
    if INFILTRATION_CLASSES[infiltration] != "none":
        return (
            "The sodium is rather high for so little other salt: where there is clay or fine "
            "compost, it may swell and water soak in slowly."
        )
    if ratio >= _HARMLESS_SAR:
        return (
            "More sodium than suits sensitive plants, but with enough other salt to keep the "
            "pores open."
        )
    return "Sodium is no problem for the structure here."


def _named(code: int, names: tuple[str, ...]) -> str | None:
    return None if code == NO_CLASS else names[code]


def _class_name(value: float, scale: ClassScale) -> str | None:
    code = int(classify(value, scale))
    return None if code == NO_CLASS else scale.names[code]
