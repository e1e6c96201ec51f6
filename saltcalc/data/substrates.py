"""The growing media: how much water and air each holds, from a curve or a stated capacity."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

import marshmallow as ma

from saltcalc.data.extraction import MEDIUM_KINDS
from saltcalc.data.sources import SourcedSchema, source_key
from saltcalc.data.tables import read_keyed

MEDIUM_CLASSES = ("peat", "bark", "coir", "compost", "mineral", "mix")


@dataclass(frozen=True)
class Substrate:
    """One medium. A figure that its source does not give is NaN."""

    id: str
    name: str
    medium_class: str
    texture: str
    """Kind of medium for conversions of EC: soilless, or the texture group of a mineral soil."""
    basis: str
    """``curve``: a published retention curve. ``container-capacity``: the water held at a stated
    height, with the shape of the curve borrowed."""
    theta_s: float
    """Water content at saturation. [L/L]"""
    theta_r: float
    """Residual water content. [L/L]"""
    alpha: float
    """Inverse of the air-entry suction. [1/cm]"""
    n: float
    """Steepness of the curve. [-]"""
    container_capacity: float
    """Water held after drainage at ``capacity_height``. [L/L]"""
    capacity_height: float
    """Height of the container it was measured in. [cm]"""
    total_porosity: float
    """Water held when full. [L/L]"""
    shape_source: str
    """Source of the residual water content and the shape of the curve."""
    source: str
    provenance: str
    note: str


def _share() -> ma.fields.Float:
    return ma.fields.Float(load_default=math.nan, validate=ma.validate.Range(0, 1))


def _positive() -> ma.fields.Float:
    return ma.fields.Float(
        load_default=math.nan,
        validate=ma.validate.Range(0, min_inclusive=False),
    )


class _SubstrateSchema(SourcedSchema):
    id = ma.fields.String(required=True, validate=ma.validate.Regexp(r"^[a-z0-9]+(-[a-z0-9]+)*$"))
    name = ma.fields.String(required=True)
    medium_class = ma.fields.String(required=True, validate=ma.validate.OneOf(MEDIUM_CLASSES))
    texture = ma.fields.String(required=True, validate=ma.validate.OneOf(MEDIUM_KINDS))
    basis = ma.fields.String(
        required=True, validate=ma.validate.OneOf(["curve", "container-capacity"])
    )
    theta_s = _share()
    theta_r = _share()
    alpha = _positive()
    n = ma.fields.Float(required=True, validate=ma.validate.Range(1, min_inclusive=False))
    container_capacity = _share()
    capacity_height = _positive()
    total_porosity = _share()
    shape_source = source_key()

    @ma.validates_schema
    def _basis_has_its_figures(self, row: dict[str, Any], **_: Any) -> None:
        needed = {
            "curve": ("theta_s", "theta_r", "alpha"),
            "container-capacity": ("container_capacity", "capacity_height", "total_porosity"),
        }[row["basis"]]
        for column in needed:
            if math.isnan(row[column]):
                raise ma.ValidationError("missing for this basis", column)


@cache
def substrates() -> Mapping[str, Substrate]:
    """Return the media by id, in table order.

    Raises
    ------
    TableError
        If an id stands twice.
    """
    return read_keyed(
        "substrates.csv", _SubstrateSchema(), Substrate, lambda substrate: substrate.id
    )
