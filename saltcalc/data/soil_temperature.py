"""Soil temperatures at which the seed of a crop germinates."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import marshmallow as ma

from saltcalc.data.sources import SourcedSchema
from saltcalc.data.tables import read_keyed


@dataclass(frozen=True)
class SoilTemperature:
    """What the seed of a crop asks of the temperature of its soil.

    Attributes
    ----------
    crop : str
        Id of the crop.
    minimum : float
        Least temperature for germination [°C].
    optimum_low : float
        Lower end of the optimum range [°C].
    source, provenance, note : str
    """

    crop: str
    minimum: float
    optimum_low: float
    source: str
    provenance: str
    note: str


class _Schema(SourcedSchema):
    crop = ma.fields.String(required=True)
    minimum = ma.fields.Float(required=True)
    optimum_low = ma.fields.Float(required=True)

    @ma.validates_schema
    def _minimum_is_below(self, row: dict[str, float], **_: object) -> None:
        if row["minimum"] > row["optimum_low"]:
            raise ma.ValidationError("the minimum lies above the optimum")


@cache
def soil_temperatures() -> Mapping[str, SoilTemperature]:
    """Return the soil temperatures of crops by crop id.

    Raises
    ------
    TableError
        If a crop stands twice or a source is unknown.
    """
    return read_keyed("crop_soil_temperature.csv", _Schema(), SoilTemperature, lambda row: row.crop)
