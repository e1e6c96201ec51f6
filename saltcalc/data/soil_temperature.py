"""Soil temperatures at which the seed of a crop germinates."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

import marshmallow as ma

from saltcalc.data.sources import known_source
from saltcalc.data.tables import DATA_DIR, SourcedSchema, TableError, read_table


@dataclass(frozen=True)
class SoilTemperature:
    """What the seed of a crop asks of the temperature of its soil.

    Attributes
    ----------
    crop : str
        Id of the crop.
    minimum : float
        Least temperature for germination [°C].
    optimum_low, optimum_high : float
        Ends of the optimum range [°C].
    source, provenance, note : str
    """

    crop: str
    minimum: float
    optimum_low: float
    optimum_high: float
    source: str
    provenance: str
    note: str


class _Schema(SourcedSchema):
    crop = ma.fields.String(required=True)
    minimum = ma.fields.Float(required=True)
    optimum_low = ma.fields.Float(required=True)
    optimum_high = ma.fields.Float(required=True)

    @ma.validates_schema
    def _rising(self, row: dict[str, float], **_: object) -> None:
        if not row["minimum"] <= row["optimum_low"] < row["optimum_high"]:
            raise ma.ValidationError("minimum and optimum range must rise")


@cache
def soil_temperatures() -> MappingProxyType[str, SoilTemperature]:
    """Return the soil temperatures of crops by crop id.

    Raises
    ------
    TableError
        If a crop stands twice or a source is unknown.
    """
    rows: dict[str, SoilTemperature] = {}
    for row in read_table(DATA_DIR / "crop_soil_temperature.csv", _Schema()):
        if row["crop"] in rows:
            raise TableError(f"crop_soil_temperature.csv: {row['crop']!r} stands twice")
        known_source(row["source"])
        rows[row["crop"]] = SoilTemperature(**row | {"note": row["note"] or ""})
    return MappingProxyType(rows)
