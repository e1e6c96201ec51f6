"""Nutrient ranges of growing media by extraction method, and what goes with them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import nan
from typing import Any

import marshmallow as ma

from saltcalc.data.extraction import method_codes
from saltcalc.data.sources import SourcedSchema
from saltcalc.data.tables import TableError, read_keyed, read_records

NUTRIENTS = (
    "ph",
    "nitrate_n",
    "ammonium_n",
    "phosphorus",
    "potassium",
    "calcium",
    "magnesium",
    "sulfate_s",
    "sodium",
    "chloride",
    "boron",
    "iron",
    "manganese",
    "zinc",
    "copper",
)
"""What a range may be given for, in report order; all but pH are in mg/L of the element."""

DTPA = "dtpa"
"""The DTPA extract of micronutrients: a method of this table alone, never beside water extracts."""

REFERENCE_METHOD = "saturated_media_extract"
"""The method with the fullest set of published ranges."""

_HARDLY_DILUTED = frozenset({"saturated_paste", "pour_through", "press", "pore_water_sensor"})
_HELD_BY_NOTHING = frozenset({"nitrate_n", "chloride", "sodium"})

MICRONUTRIENTS = ("boron", "iron", "manganese", "zinc", "copper")
"""The nutrients that laboratories also extract with DTPA."""


@dataclass(frozen=True)
class NutrientRange:
    """A published sufficiency range; `low` or `high` is NaN where the source gives no such limit.

    In mg/L of the element in the extract, but for pH.
    """

    method: str
    nutrient: str
    plants: str
    governing: bool
    low: float
    high: float
    applies_to: str
    source: str
    provenance: str
    note: str


@dataclass(frozen=True)
class SaltShare:
    """The share of the total soluble salts [-] that one nutrient should have."""

    nutrient: str
    low: float
    high: float
    source: str
    provenance: str
    note: str


@dataclass(frozen=True)
class NitrogenUptake:
    """One plant at a stage: dry mass [g], relative growth [1/week], tissue nitrogen [mg/g]."""

    stage: str
    dry_mass_low: float
    dry_mass: float
    dry_mass_high: float
    growth_low: float
    growth: float
    growth_high: float
    tissue_n_low: float
    tissue_n: float
    tissue_n_high: float
    source: str
    provenance: str
    note: str


@dataclass(frozen=True)
class AmendmentFigure:
    """One published figure about a remedy, as a range in `unit`."""

    amendment: str
    quantity: str
    low: float
    high: float
    unit: str
    source: str
    provenance: str
    note: str


def _number(**options: Any) -> ma.fields.Float:
    return ma.fields.Float(load_default=nan, validate=ma.validate.Range(min=0), **options)


class _RangeSchema(SourcedSchema):
    method = ma.fields.String(required=True)
    nutrient = ma.fields.String(required=True, validate=ma.validate.OneOf(NUTRIENTS))
    plants = ma.fields.String(required=True)
    governing = ma.fields.Boolean(required=True)
    low = _number()
    high = _number()
    applies_to = ma.fields.String(required=True)


class _ShareSchema(SourcedSchema):
    nutrient = ma.fields.String(required=True, validate=ma.validate.OneOf(NUTRIENTS))
    low = _number(data_key="share_low")
    high = _number(data_key="share_high")


class _UptakeSchema(SourcedSchema):
    stage = ma.fields.String(required=True)
    dry_mass_low = _number()
    dry_mass = _number()
    dry_mass_high = _number()
    growth_low = _number()
    growth = _number()
    growth_high = _number()
    tissue_n_low = _number()
    tissue_n = _number()
    tissue_n_high = _number()


class _AmendmentSchema(SourcedSchema):
    amendment = ma.fields.String(required=True)
    quantity = ma.fields.String(required=True)
    low = _number()
    high = _number()
    unit = ma.fields.String(required=True)


@cache
def nutrient_ranges() -> tuple[NutrientRange, ...]:
    """Return every published range.

    Raises
    ------
    TableError
        If a method is unknown, a range is upside down, or two rows govern one nutrient.
    """
    ranges = read_records("nutrient_ranges.csv", _RangeSchema(), NutrientRange)
    governed = [(each.method, each.nutrient) for each in ranges if each.governing]
    if len(governed) != len(set(governed)):
        raise TableError("nutrient_ranges.csv: two rows govern one nutrient by one method")
    for each in ranges:
        if each.method not in method_codes() and each.method != DTPA:
            raise TableError(f"nutrient_ranges.csv: unknown method {each.method!r}")
        if each.low > each.high:
            raise TableError(f"nutrient_ranges.csv: {each.nutrient} {each.low} > {each.high}")
    return ranges


@cache
def governing_range(method: str, nutrient: str) -> NutrientRange | None:
    """Return the range that a figure by this method is judged by, or None where there is none."""
    for each in nutrient_ranges():
        if each.governing and (each.method, each.nutrient) == (method, nutrient):
            return each
    return None


def hardly_diluted(method: str) -> bool:
    """Tell whether an extract is about as strong as the water in the medium."""
    return method == REFERENCE_METHOD or method in _HARDLY_DILUTED


def comparable_with_reference(method: str, nutrient: str) -> bool:
    """Tell whether a figure by a method may be scaled to the saturated media extract by EC.

    Press water and pour-through are hardly diluted, and their figures for all major nutrients
    rise in a straight line with those of the saturated media extract [1]_.
    In extracts with much added water only what the medium does not hold back thins out like the
    salts as a whole: nitrate and chloride, and nearly so sodium. Potassium, calcium, magnesium,
    ammonium and phosphorus come off the medium as water is added; they are not scaled (a
    judgement). pH differs little between the methods [2]_.

    References
    ----------
    .. [1] Cavins, T.J., Whipker, B.E. & Fonteno, W.C. Calibration of pour-through nutrient values
       with the saturated media extract. HortScience, conference abstract.
    .. [2] Kent County Cooperative Extension (2008). Greenhouse and nursery: testing media for
       nutrients.
    """
    if method == REFERENCE_METHOD or nutrient == "ph":
        return True
    if nutrient in MICRONUTRIENTS:
        return False
    return method in _HARDLY_DILUTED or nutrient in _HELD_BY_NOTHING


@cache
def salt_shares() -> Mapping[str, SaltShare]:
    """Return the wanted share of the total soluble salts, by nutrient."""
    return read_keyed("nutrient_balance.csv", _ShareSchema(), SaltShare, lambda row: row.nutrient)


@cache
def nitrogen_uptake() -> Mapping[str, NitrogenUptake]:
    """Return growth and tissue nitrogen, by stage."""
    return read_keyed("nitrogen_uptake.csv", _UptakeSchema(), NitrogenUptake, lambda row: row.stage)


@cache
def amendments() -> Mapping[tuple[str, str], tuple[AmendmentFigure, ...]]:
    """Return the published figures by remedy and quantity."""
    rows: dict[tuple[str, str], list[AmendmentFigure]] = {}
    for row in read_records("amendments.csv", _AmendmentSchema(), AmendmentFigure):
        rows.setdefault((row.amendment, row.quantity), []).append(row)
    return {key: tuple(figures) for key, figures in rows.items()}


def amendment_figures(amendment: str, quantity: str) -> tuple[AmendmentFigure, ...]:
    """Return the published figures for one quantity of a remedy.

    Raises
    ------
    KeyError
        If the table has none.
    """
    return amendments()[amendment, quantity]
