"""The growing media: how much water and air each holds, from a curve or a stated capacity."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

import marshmallow as ma

from saltcalc.data.extraction import MEDIUM_KINDS
from saltcalc.data.sources import Noted, source_column
from saltcalc.data.tables import column, read_keyed

MEDIUM_CLASSES = ("peat", "bark", "coir", "compost", "mineral", "mix")


_NEEDED = {
    "curve": ("theta_s", "theta_r", "alpha"),
    "container_capacity": ("container_capacity", "capacity_height", "total_porosity"),
}


def _share() -> Any:
    return column(math.nan, validate=ma.validate.Range(0, 1))


def _positive() -> Any:
    return column(math.nan, validate=ma.validate.Range(0, min_inclusive=False))


@dataclass(frozen=True, kw_only=True)
class Substrate(Noted):
    """One medium. A figure that its source does not give is NaN."""

    id: str = column(validate=ma.validate.Regexp(r"^[a-z0-9]+(_[a-z0-9]+)*$"))
    medium_class: str = column(validate=ma.validate.OneOf(MEDIUM_CLASSES))
    texture: str = column(validate=ma.validate.OneOf(MEDIUM_KINDS))
    """Kind of medium for conversions of EC: soilless, or the texture group of a mineral soil."""
    basis: str = column(validate=ma.validate.OneOf(list(_NEEDED)))
    """``curve``: a published retention curve. ``container-capacity``: the water held at a stated
    height, with the shape of the curve borrowed."""
    theta_s: float = _share()
    """Water content at saturation. [L/L]"""
    theta_r: float = _share()
    """Residual water content. [L/L]"""
    alpha: float = _positive()
    """Inverse of the air-entry suction. [1/cm]"""
    n: float = column(validate=ma.validate.Range(1, min_inclusive=False))
    """Steepness of the curve. [-]"""
    container_capacity: float = _share()
    """Water held after drainage at ``capacity_height``. [L/L]"""
    capacity_height: float = _positive()
    """Height of the container it was measured in. [cm]"""
    total_porosity: float = _share()
    """Water held when full. [L/L]"""
    shape_source: str = source_column()
    """Source of the residual water content and the shape of the curve."""
    contains_soil: bool | None = None
    """Whether field soil is in it; None where that is not known, as below."""
    contains_compost: bool | None = None
    """Whether compost, manure or clippings are in it."""
    composition_source: str = source_column(
        error_messages={
            "required": "The make-up is missing: say whether it contains soil and compost, each "
            "yes, no or empty where not known, and name the source."
        }
    )
    composition_note: str = ""

    def check(self) -> None:
        """Refuse a row that lacks a figure of its basis."""
        for name in _NEEDED[self.basis]:
            if math.isnan(getattr(self, name)):
                raise ma.ValidationError("missing for this basis", name)


@cache
def substrates() -> Mapping[str, Substrate]:
    """Return the media by id, in table order.

    Raises
    ------
    TableError
        If an id stands twice or the make-up of a medium is missing.
    """
    return read_keyed("substrates.csv", Substrate, lambda substrate: substrate.id)
