"""The range of pH that a crop wants: its own, or else that of its group, by method and basis."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from math import isnan, nan
from types import MappingProxyType
from typing import Any, Literal, TypeVar

import marshmallow as ma

from saltcalc.data.crop_names import other_crops
from saltcalc.data.crops import catalogue
from saltcalc.data.nutrients import REFERENCE_METHOD, NutrientRange, Own, governing_range
from saltcalc.data.sources import Sourced
from saltcalc.data.tables import TableError, column, read_table, words

MINERAL_OVER_SOILLESS = 0.5
"""How far a range for mineral soil is above that for a peat or bark medium [pH].

Handbooks of vegetables print ranges for soil; the half unit is the usual advice.
"""

IRON_EFFICIENT, IRON_INEFFICIENT = "iron_efficient", "iron_inefficient"
ACID_LOVING, CONIFERS = "acid_loving", "conifer_seedlings"

AMMONIUM_STOOD = 100.0
"""Ammonium-N that conifers and acid-loving plants are known to stand, as saturated extract [mg/L]
(Timmer & Parton 1984: red pine grew best with 35 to 95 mg/L)."""

ANY_METHOD, OF_A_CROP = "any", "crop"
"""What a range of pH by crop has for its method and for whom it applies to."""

_READ = {"seen", "seen_in_copy"}

Basis = Literal["soilless", "mineral"]
BASES: tuple[Basis, ...] = ("soilless", "mineral")


def _ph() -> Any:
    return column(nan, validate=ma.validate.Range(0, 14))


@dataclass(frozen=True, kw_only=True)
class PhRow(Sourced):
    """A range of pH; `low` or `high` is NaN where the source gives no such end."""

    ph_group: str
    low: float = _ph()
    high: float = _ph()
    basis: Basis
    """What it was published for."""
    method: str = ""
    """The extraction method that it is for; empty for any extract in water."""

    def check(self) -> None:
        """Refuse a range that is upside down."""
        if self.low > self.high:
            raise ma.ValidationError("the low end lies above the high end")

    def speaks(self, method: str, basis: str) -> bool:
        """Tell whether it gives a figure for this method and kind of medium."""
        has_figure = not (isnan(self.low) and isnan(self.high))
        return has_figure and self.basis == basis and self.method in {"", method}


@dataclass(frozen=True, kw_only=True)
class GroupPh(PhRow):
    """The range of a group."""

    high_in_soil: float = _ph()
    """Upper end in a mineral soil where the one that is printed is no limit: a list that ranks
    crops by the acid that they stand ends where liming is no longer worth it (common practice, no
    source). NaN where the printed end holds."""

    def in_soil(self) -> GroupPh:
        """Return the range for a mineral soil; known no better than its upper end."""
        if isnan(self.high_in_soil):
            return self
        return replace(
            self, high=self.high_in_soil, source="common_practice", provenance="common_practice"
        )


@dataclass(frozen=True, kw_only=True)
class CropPh(PhRow):
    """The range of a crop."""

    crops: tuple[str, ...] = column(read=words(";"))


Row = TypeVar("Row", bound=PhRow)


@cache
def _own() -> Mapping[str, tuple[CropPh, ...]]:
    found: dict[str, tuple[CropPh, ...]] = {}
    known = {*catalogue().crops, *other_crops()}
    for row in read_table("crop_ph.csv", CropPh):
        for crop in row.crops:
            if crop not in known:
                raise TableError(f"crop_ph.csv: {crop!r} is no crop")
            found[crop] = (*found.get(crop, ()), row)
    return MappingProxyType(found)


@cache
def _groups() -> tuple[GroupPh, ...]:
    return read_table("ph_groups.csv", GroupPh)


def ph_group(crop: str) -> str:
    """Return the group that a crop belongs to by its want of pH; empty where none is known."""
    return next((row.ph_group for row in _own().get(crop, ())), "")


def ammonium_stood(crop: str) -> float:
    """Return the ammonium-N that a crop is known to stand [mg/L], or NaN for the general range."""
    return AMMONIUM_STOOD if ph_group(crop) in (CONIFERS, ACID_LOVING) else nan


def crop_ph_range(crop: str, method: str, basis: Basis) -> NutrientRange | None:
    """Return the range of pH that a crop wants, or None where the general one is to be taken.

    Its own figure for the basis comes first, then that of its group, each by the method before any
    method. A figure for mineral soil alone is moved by `MINERAL_OVER_SOILLESS`, and never narrows
    the general range then, being reckoned. The range of a group is known no better than that the
    crop belongs to it.
    """
    # A grower may call a crop anything: what no table has is not kept.
    return _crop_ph_range(crop, method, basis) if crop in _own() else None


@cache
def _crop_ph_range(crop: str, method: str, basis: Basis) -> NutrientRange | None:
    own = _own()[crop]
    of_group = _of_group(own)
    for row in _by_method(own, method, basis):
        return _as_range(row, crop)
    for group in _by_method(of_group, method, basis):
        return _as_range(group.in_soil() if basis == "mineral" else group, group.ph_group)
    other: Basis = "mineral" if basis == "soilless" else "soilless"
    for each in (*_by_method(own, method, other), *_by_method(of_group, method, other)):
        return _moved(each, crop, method, basis)
    return None


def _of_group(own: tuple[CropPh, ...]) -> list[GroupPh]:
    """Return the ranges of the group that a crop is put into by the first of its rows."""
    rows = [row for row in _groups() if own and row.ph_group == own[0].ph_group]
    if not own or own[0].provenance != "memory":
        return rows
    return [replace(row, provenance="memory") if row.provenance in _READ else row for row in rows]


def ph_range(crop: str, method: str, basis: Basis, own: Own = ()) -> NutrientRange | None:
    """Return the range of pH that a crop is held to: its own, or else the general one.

    A laboratory's own range for the method goes before the general one.
    """
    of_lab = next((each for each in own if (each.method, each.nutrient) == (method, "ph")), None)
    return crop_ph_range(crop, method, basis) or of_lab or _general(method, basis)


def _general(method: str, basis: Basis) -> NutrientRange | None:
    """Return the range of pH for all crops, by the method or else by the reference method."""
    if basis == "mineral":
        return governing_range("saturated_paste", "ph")
    own = None if method == "saturated_paste" else governing_range(method, "ph")
    return own or governing_range(REFERENCE_METHOD, "ph")


def _by_method(rows: Iterable[Row], method: str, basis: str) -> Iterator[Row]:
    yield from sorted(
        (row for row in rows if row.speaks(method, basis)), key=lambda row: not row.method
    )


def _as_range(row: PhRow, plants: str, low: float = nan, high: float = nan) -> NutrientRange:
    return NutrientRange(
        method=row.method or ANY_METHOD,
        nutrient="ph",
        plants=plants,
        governing=True,
        low=row.low if isnan(low) else low,
        high=row.high if isnan(high) else high,
        applies_to=OF_A_CROP,
        source=row.source,
        provenance=row.provenance,
    )


def _moved(row: PhRow, crop: str, method: str, basis: Basis) -> NutrientRange:
    step = -MINERAL_OVER_SOILLESS if basis == "soilless" else MINERAL_OVER_SOILLESS
    general = _general(method, basis)
    if general is None:
        return _as_range(row, crop, low=row.low + step, high=row.high + step)
    return _as_range(
        row, crop, low=min(row.low + step, general.low), high=max(row.high + step, general.high)
    )
