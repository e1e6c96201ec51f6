"""How each class of medium lets go of its salt, and what it holds of each nutrient."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, cast

import marshmallow as ma

from saltcalc.data.sources import SourcedSchema
from saltcalc.data.substrates import MEDIUM_CLASSES
from saltcalc.data.tables import DATA_DIR, TableError, keyed, read_keyed, read_table

RETAINED_NUTRIENTS = (
    "nitrate_n",
    "ammonium_n",
    "potassium",
    "calcium",
    "magnesium",
    "phosphorus",
)


@dataclass(frozen=True)
class Uncertain:
    """A figure with its 80 % interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class WashoutDefaults:
    """Default washout parameters of one class of medium, each with its 80 % interval."""

    medium_class: str
    efficiency: Uncertain
    """Share of the drained water that moves solution. [L/L]"""
    immobile_share: Uncertain
    """Share of the held water that does not flow. [L/L]"""
    exchange_rate: Uncertain
    """Rate at which the immobile water follows the mobile. [1/h]"""
    store_ratio: Uncertain
    """Salt held on the medium over salt in its water. [-]"""
    source: str
    provenance: str
    note: str


@dataclass(frozen=True)
class NutrientRetention:
    """How much of a nutrient the medium itself holds, over what is in its water."""

    nutrient: str
    store_ratio: float
    """Held on the medium over dissolved, in balance. [-]"""
    source: str
    provenance: str
    note: str


_UNCERTAIN = ("efficiency", "immobile_share", "exchange_rate", "store_ratio")
_RANGES = {
    "efficiency": ma.validate.Range(0, 1, min_inclusive=False),
    "immobile_share": ma.validate.Range(0, 1, min_inclusive=False, max_inclusive=False),
    "exchange_rate": ma.validate.Range(0, min_inclusive=False),
    "store_ratio": ma.validate.Range(0, min_inclusive=False),
}


class _WashoutSchema(SourcedSchema):
    medium_class = ma.fields.String(required=True, validate=ma.validate.OneOf(MEDIUM_CLASSES))

    @ma.validates_schema
    def _intervals_are_in_order(self, row: dict[str, Any], **_: Any) -> None:
        for name in _UNCERTAIN:
            if not row[f"{name}_low"] < row[name] < row[f"{name}_high"]:
                raise ma.ValidationError("the value lies outside its interval", name)

    @ma.post_load
    def _make(self, row: dict[str, Any], **_: Any) -> WashoutDefaults:
        figures: dict[str, Any] = {
            name: Uncertain(row.pop(name), row.pop(f"{name}_low"), row.pop(f"{name}_high"))
            for name in _UNCERTAIN
        }
        return WashoutDefaults(**figures, **row)


_WASHOUT_SCHEMA = cast(
    type[_WashoutSchema],
    _WashoutSchema.from_dict(
        {
            f"{name}{end}": ma.fields.Float(required=True, validate=_RANGES[name])
            for name in _UNCERTAIN
            for end in ("", "_low", "_high")
        }
    ),
)


class _RetentionSchema(SourcedSchema):
    nutrient = ma.fields.String(required=True, validate=ma.validate.OneOf(RETAINED_NUTRIENTS))
    store_ratio = ma.fields.Float(required=True, validate=ma.validate.Range(0))


@cache
def washout_defaults() -> Mapping[str, WashoutDefaults]:
    """Return the default washout parameters by class of medium.

    Raises
    ------
    TableError
        If a class stands twice or is missing.
    """
    rows = read_table(DATA_DIR / "washout_defaults.csv", _WASHOUT_SCHEMA())
    table: Mapping[str, WashoutDefaults] = keyed(
        "washout_defaults.csv", rows, lambda row: str(row.medium_class)
    )
    if set(table) != set(MEDIUM_CLASSES):
        raise TableError("washout_defaults.csv: every class of medium must stand once")
    return table


@cache
def nutrient_retention() -> Mapping[str, NutrientRetention]:
    """Return what the medium holds of each nutrient, by nutrient.

    Raises
    ------
    TableError
        If a nutrient stands twice or is missing.
    """
    table = read_keyed(
        "nutrient_retention.csv", _RetentionSchema(), NutrientRetention, lambda row: row.nutrient
    )
    if set(table) != set(RETAINED_NUTRIENTS):
        raise TableError("nutrient_retention.csv: every nutrient must stand once")
    return table
