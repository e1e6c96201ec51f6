"""The growing media: how much water and air each holds, from a curve or a stated capacity."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Any

import marshmallow as ma

from saltcalc.data.extraction import MEDIUM_KINDS
from saltcalc.data.sources import known_source
from saltcalc.data.tables import DATA_DIR, SourcedSchema, TableError, read_table

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
    bulk_density: float
    """Dry mass by volume. [g/cm³]"""
    shape_source: str
    source: str
    provenance: str
    note: str


def _share() -> ma.fields.Float:
    return ma.fields.Float(load_default=None, allow_none=True, validate=ma.validate.Range(0, 1))


def _positive() -> ma.fields.Float:
    return ma.fields.Float(
        load_default=None,
        allow_none=True,
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
    bulk_density = _positive()
    shape_source = ma.fields.String(required=True, validate=known_source)
    source = ma.fields.String(required=True, validate=known_source)

    @ma.validates_schema
    def _basis_has_its_figures(self, row: dict[str, Any], **_: Any) -> None:
        needed = {
            "curve": ("theta_s", "theta_r", "alpha"),
            "container-capacity": ("container_capacity", "capacity_height", "total_porosity"),
        }[row["basis"]]
        for column in needed:
            if row[column] is None:
                raise ma.ValidationError("missing for this basis", column)

    @ma.post_load
    def _make(self, row: dict[str, Any], **_: Any) -> Substrate:
        row["note"] = row["note"] or ""
        cells: dict[str, Any] = {c: math.nan if cell is None else cell for c, cell in row.items()}
        return Substrate(**cells)


@cache
def substrates() -> dict[str, Substrate]:
    """Return the media by id, in table order.

    Raises
    ------
    TableError
        If an id stands twice.
    """
    table: dict[str, Substrate] = {}
    for substrate in read_table(DATA_DIR / "substrates.csv", _SubstrateSchema()):
        if substrate.id in table:
            raise TableError(f"substrates.csv: {substrate.id!r} stands twice")
        table[substrate.id] = substrate
    return table
