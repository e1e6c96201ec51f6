"""The crop table, everything that is published of one crop, and the ranges by stage."""

from __future__ import annotations

import math

from saltcalc.answer.crop_limits import BORON_UNIT, CHLORIDE_UNIT, SLOPE_UNIT
from saltcalc.answer.quantities import EC_UNIT, Json, quantity
from saltcalc.data.crops import Catalogue, Crop, Figure
from saltcalc.data.stage_limits import StageLimit, stage_limits
from saltcalc.parts.notes import Notes
from saltcalc.science.crop_response import ec_at_yield

YIELD_COLUMNS = (100.0, 90.0, 75.0, 50.0, 0.0)
"""Relative yields [%] for which a crop's EC is listed, as in FAO 29, Table 4."""

MOST_NEAR = 10

ION_UNIT = "mmol_c/L"


def crop_listing(
    catalogue: Catalogue, name: str = "", group: str = "", rating: str = ""
) -> list[Json]:
    """Return the crops that fit, or, where no name fits, those with a name like it.

    Parameters
    ----------
    catalogue : Catalogue
        The crops.
    name, group, rating : str, optional
        Filters.
    """
    if catalogue.select(name):
        return [_line(crop, near=False) for crop in catalogue.select(name, group, rating)]
    return [
        _line(crop, near=True)
        for crop in catalogue.near(name, limit=len(catalogue.crops))
        if (not group or crop.group == group) and (not rating or crop.rating == rating)
    ][:MOST_NEAR]


def crop_detail(crop: Crop) -> Json:
    """Return everything that is published of a crop, with the sources."""
    notes = Notes({crop.local_source.key: crop.local_source} if crop.local_source else None)
    notes.cite(*crop.source_keys)
    return {
        **_line(crop, near=False),
        "look_up_to": quantity(crop.look_low, EC_UNIT, crop.look_low, crop.look_high),
        "yields": _yields(crop),
        "emergence": _emergence(crop),
        "stage_limits": [
            {
                "stage": cap.stage,
                "ec": quantity(cap.ec_low, EC_UNIT, cap.ec_low, cap.ec_high),
                **_origin(cap),
            }
            for cap in crop.stage_caps
        ],
        "chloride": [
            {
                "variety": row.variety,
                "threshold": quantity(row.threshold, CHLORIDE_UNIT),
                "slope": quantity(row.slope, f"%/({CHLORIDE_UNIT})"),
                **_origin(row),
            }
            for row in crop.chloride
        ],
        "boron": [
            {
                "variety": row.variety,
                "threshold": quantity(
                    row.threshold_high, BORON_UNIT, row.threshold_low, row.threshold_high
                ),
                "slope": quantity(row.slope, f"%/({BORON_UNIT})"),
                "rating": row.rating or None,
                **_origin(row),
            }
            for row in crop.boron
        ],
        "exchangeable_sodium": {
            "limit": _bounded(crop.sodium.esp_limit, "%"),
            **_origin(crop.sodium),
        }
        if crop.sodium
        else None,
        "foliar": {
            "from": _bounded(crop.foliar.sodium_or_chloride_low, ION_UNIT),
            "to": _bounded(crop.foliar.sodium_or_chloride_high, ION_UNIT),
            **_origin(crop.foliar),
        }
        if crop.foliar
        else None,
        "second_figures": [
            {
                "threshold": quantity(row.threshold, EC_UNIT),
                "slope": quantity(row.slope, SLOPE_UNIT),
                "rating": row.rating or None,
                **_origin(row),
            }
            for row in crop.second_figures
        ],
        "sources": notes.sources,
    }


def stage_limit_listing(stage: str = "", extraction: str = "") -> list[Json]:
    """Return the published ranges for container media that fit, in table order.

    Parameters
    ----------
    stage, extraction : str, optional
        Filters; ranges for plants of any stage fit every stage.
    """
    return [
        stage_limit_members(limit)
        | {"kind": limit.kind, "source": limit.source, "note": limit.note}
        for limit in stage_limits()
        if (not stage or limit.stage in {stage, "any"})
        and (not extraction or limit.extraction == extraction)
    ]


def stage_limit_members(limit: StageLimit) -> Json:
    """Return what a range for container media is for, and its ends; null where open."""
    return {
        "plants": limit.plants,
        "stage": limit.stage,
        "extraction": limit.extraction or None,
        "ec_low": quantity(limit.ec_low, EC_UNIT) if limit.ec_low > 0 else None,
        "ec_high": quantity(limit.ec_high, EC_UNIT) if math.isfinite(limit.ec_high) else None,
        "meaning": limit.meaning,
        "provenance": limit.provenance,
    }


def _line(crop: Crop, *, near: bool) -> Json:
    return {
        "id": crop.id,
        "name": crop.name,
        "botanical": crop.botanical,
        "synonyms": list(crop.synonyms),
        "group": crop.group,
        "woody": crop.woody,
        "basis": crop.basis,
        "threshold": quantity(crop.threshold, EC_UNIT),
        "slope": quantity(crop.slope, SLOPE_UNIT),
        "rating": crop.rating or None,
        "rating_estimated": crop.rating_estimated,
        "local": crop.local,
        "near_match": near,
        **_origin(crop),
    }


def _origin(figure: Figure) -> Json:
    return {"source": figure.source, "provenance": figure.provenance, "note": figure.note}


def _bounded(value: float, unit: str) -> Json | None:
    """Return a quantity, or None at the open end of a range."""
    return quantity(value, unit) if 0 < value < math.inf else None


def _yields(crop: Crop) -> list[Json]:
    ec = ec_at_yield(YIELD_COLUMNS, crop.threshold, crop.slope)
    return [
        {"relative_yield": quantity(wanted, "%"), "ec_saturated_extract": quantity(value, EC_UNIT)}
        for wanted, value in zip(YIELD_COLUMNS, ec.tolist(), strict=True)
        if not math.isnan(value)
    ]


def _emergence(crop: Crop) -> Json | None:
    figures = crop.emergence
    if figures is None:
        return None
    low, high = figures.ec50_emergence_low, figures.ec50_emergence_high
    return {
        "half_emergence": quantity((low + high) / 2, EC_UNIT, low, high),
        "half_yield": quantity(figures.ec50_yield, EC_UNIT),
        **_origin(figures),
    }
