"""Published classes of water and extracts by one figure, and the two-way infiltration table."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import groupby, pairwise
from typing import Any

import marshmallow as ma

from saltcalc.data.sources import SourcedSchema
from saltcalc.data.tables import DATA_DIR, TableError, read_records, read_table


@dataclass(frozen=True)
class ClassScale:
    """The classes one scheme gives to one parameter, from the lowest value to the highest.

    ``limits[k]`` parts ``names[k]`` from ``names[k + 1]``; a value on the limit belongs to the
    upper class where ``limit_in_upper[k]`` is true.
    """

    scheme: str
    parameter: str
    names: tuple[str, ...]
    limits: tuple[float, ...]
    limit_in_upper: tuple[bool, ...]
    unit: str
    source: str
    provenance: str
    note: str

    def range_of(self, code: int) -> tuple[float | None, float | None]:
        """Return the lower and upper limit of the class with this code, ``None`` where open."""
        low = self.limits[code - 1] if code > 0 else None
        high = self.limits[code] if code < len(self.limits) else None
        return low, high


@dataclass(frozen=True)
class InfiltrationBand:
    """One SAR band of FAO 29 Table 1 with its two limits of water EC [dS/m]."""

    sar_low: float
    sar_high: float
    severe_below: float
    none_above: float
    source: str
    provenance: str
    note: str


class _ClassSchema(SourcedSchema):
    scheme = ma.fields.String(required=True)
    parameter = ma.fields.String(required=True)
    name = ma.fields.String(required=True, data_key="class")
    low = ma.fields.Float(load_default=None)
    low_included = ma.fields.Boolean(load_default=None)
    high = ma.fields.Float(load_default=None)
    unit = ma.fields.String(required=True)


class _InfiltrationSchema(SourcedSchema):
    sar_low = ma.fields.Float(required=True)
    sar_high = ma.fields.Float(required=True)
    severe_below = ma.fields.Float(required=True)
    none_above = ma.fields.Float(required=True)


def _scale(key: tuple[str, str], rows: list[dict[str, Any]]) -> ClassScale:
    scheme, parameter = key
    if rows[0]["low"] is not None or rows[-1]["high"] is not None:
        raise TableError(f"water_class.csv: {scheme} {parameter} must be open at both ends")
    for below, above in pairwise(rows):
        if below["high"] is None or below["high"] != above["low"] or above["low_included"] is None:
            raise TableError(f"water_class.csv: {scheme} {parameter} has a gap or overlap")
    limits = tuple(float(row["low"]) for row in rows[1:])
    if list(limits) != sorted(set(limits)):
        raise TableError(f"water_class.csv: {scheme} {parameter} is out of order")
    first = rows[0]
    return ClassScale(
        scheme=scheme,
        parameter=parameter,
        names=tuple(row["name"] for row in rows),
        limits=limits,
        limit_in_upper=tuple(bool(row["low_included"]) for row in rows[1:]),
        unit=first["unit"],
        source=first["source"],
        provenance=first["provenance"],
        note=first["note"],
    )


@cache
def class_scales() -> dict[tuple[str, str], ClassScale]:
    """Return every class scale by ``(scheme, parameter)``.

    Raises
    ------
    TableError
        If the classes of a scale leave a gap, overlap, or stand in several places.
    """
    rows = read_table(DATA_DIR / "water_class.csv", _ClassSchema())
    scales: dict[tuple[str, str], ClassScale] = {}
    for key, group in groupby(rows, key=lambda row: (row["scheme"], row["parameter"])):
        if key in scales:
            raise TableError(f"water_class.csv: {key} stands in several places")
        scales[key] = _scale(key, list(group))
    return scales


@cache
def infiltration_bands() -> tuple[InfiltrationBand, ...]:
    """Return the SAR bands of the infiltration table, lowest SAR first.

    Raises
    ------
    TableError
        If the bands leave a gap or overlap.
    """
    bands = read_records("infiltration.csv", _InfiltrationSchema(), InfiltrationBand)
    if any(below.sar_high != above.sar_low for below, above in pairwise(bands)):
        raise TableError("infiltration.csv: the SAR bands leave a gap or overlap")
    return bands
