"""How each class of medium gives off its salt, what it holds of each nutrient, what goes on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import marshmallow as ma

from saltcalc.data.sources import Sourced
from saltcalc.data.substrates import MEDIUM_CLASSES
from saltcalc.data.tables import TableError, Uncertain, column, read_complete, read_keyed

RETAINED_NUTRIENTS = (
    "nitrate_n",
    "ammonium_n",
    "potassium",
    "calcium",
    "magnesium",
    "phosphorus",
)

_ABOVE_ZERO = ma.validate.Range(0, min_inclusive=False)
_SHARE = ma.validate.Range(0, 1, min_inclusive=False)
_PART = ma.validate.Range(0, 1, min_inclusive=False, max_inclusive=False)


@dataclass(frozen=True, kw_only=True)
class WashoutDefaults(Sourced):
    """Default washout parameters of one class of medium, each with its 80 % interval."""

    medium_class: str = column(validate=ma.validate.OneOf(MEDIUM_CLASSES))
    efficiency: Uncertain = column(validate=_SHARE)
    """Share of the drained water that moves solution. [L/L]"""
    immobile_water_fraction: Uncertain = column(validate=_PART)
    """Share of the held water that does not flow. [L/L]"""
    mass_transfer_coefficient: Uncertain = column(validate=_ABOVE_ZERO)
    """Rate at which the immobile water follows the mobile. [1/h]"""
    sorbed_ratio: Uncertain = column(validate=_ABOVE_ZERO)
    """Salt held on the medium over salt in its water. [-]"""


@dataclass(frozen=True, kw_only=True)
class NutrientRetention(Sourced):
    """How much of a nutrient the medium itself holds, over what is in its water."""

    nutrient: str = column(validate=ma.validate.OneOf(RETAINED_NUTRIENTS))
    sorbed_ratio: float = column(validate=ma.validate.Range(0))
    """Held on the medium over dissolved, in balance. [-]"""


@dataclass(frozen=True, kw_only=True)
class SlowRelease(Sourced):
    """What goes on giving off salt in a medium after a flush, with the 80 % interval."""

    id: str
    rate: float = column(validate=_ABOVE_ZERO)
    """EC given off at container capacity. [dS/m per day]"""
    rate_low: float = column(validate=_ABOVE_ZERO)
    rate_high: float = column(validate=_ABOVE_ZERO)


@dataclass(frozen=True, kw_only=True)
class IonRetention(Sourced):
    """How much of an ion one class of medium holds, over what is in its water."""

    medium_class: str = column(validate=ma.validate.OneOf(MEDIUM_CLASSES))
    ion: str = column(validate=ma.validate.OneOf(["potassium", "sodium"]))
    sorbed_ratio: Uncertain = column(validate=_ABOVE_ZERO)
    """Held on the medium over dissolved, in balance. [-]"""


@cache
def ion_retention() -> Mapping[tuple[str, str], IonRetention]:
    """Return what bark and coir hold of potassium and sodium, by class of medium and ion.

    Where a pair has no row, :func:`nutrient_retention` and the store of the medium stand.

    Raises
    ------
    TableError
        If a pair occurs twice.
    """
    return read_keyed("ion_retention.csv", IonRetention, lambda row: (row.medium_class, row.ion))


@cache
def washout_defaults() -> Mapping[str, WashoutDefaults]:
    """Return the default washout parameters by class of medium.

    Raises
    ------
    TableError
        If a class occurs twice or is missing.
    """
    return read_complete(
        "washout_defaults.csv",
        WashoutDefaults,
        lambda row: row.medium_class,
        MEDIUM_CLASSES,
        "class of medium",
    )


@cache
def nutrient_retention() -> Mapping[str, NutrientRetention]:
    """Return what the medium holds of each nutrient, by nutrient.

    Raises
    ------
    TableError
        If a nutrient occurs twice or is missing.
    """
    return read_complete(
        "nutrient_retention.csv",
        NutrientRetention,
        lambda row: row.nutrient,
        RETAINED_NUTRIENTS,
        "nutrient",
    )


@cache
def slow_releases() -> Mapping[str, SlowRelease]:
    """Return the slow releases by id, in table order.

    Raises
    ------
    TableError
        If a rate lies outside its interval.
    """
    table = read_keyed("slow_release.csv", SlowRelease, lambda row: row.id)
    for row in table.values():
        if not row.rate_low < row.rate < row.rate_high:
            raise TableError(f"slow_release.csv: {row.id!r} has a rate outside its interval")
    return table
