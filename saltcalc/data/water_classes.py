"""Published classes of water and extracts, and the tables of infiltration and of calcium."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, make_dataclass
from functools import cache
from itertools import groupby, pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from saltcalc.data.sources import Noted, Sourced
from saltcalc.data.tables import TableError, column, read_table

CAX_ECW = (0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0)
"""EC of the water of the columns of ``cax.csv`` [dS/m]."""


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
    note_id: str

    def range_of(self, code: int) -> tuple[float | None, float | None]:
        """Return the lower and upper limit of the class with this code, ``None`` where open."""
        low = self.limits[code - 1] if code > 0 else None
        high = self.limits[code] if code < len(self.limits) else None
        return low, high


@dataclass(frozen=True, kw_only=True)
class WaterClass(Noted):
    """One class of a scheme for one parameter; an end is None where it is open."""

    scheme: str
    parameter: str
    name: str = column(data_key="class")
    low: float | None = None
    low_included: bool | None = None
    high: float | None = None
    unit: str


@dataclass(frozen=True, kw_only=True)
class InfiltrationBand(Sourced):
    """One SAR band of FAO 29 Table 1 with its two limits of water EC [dS/m]."""

    sar_low: float
    sar_high: float
    severe_below: float
    none_above: float


@dataclass(frozen=True)
class CaxTable:
    """Calcium left in solution near the soil surface (Ca_x), with its two axes.

    ``cax`` [mmol_c/L] has the shape (ratios HCO3/Ca, ECw [dS/m]).
    """

    ratio: NDArray[np.float64]
    ecw: NDArray[np.float64]
    cax: NDArray[np.float64]
    source: str
    provenance: str


_ECW = {f"ec_{ec:.1f}".replace(".", "_"): ec for ec in CAX_ECW}
_CaxRow = make_dataclass(
    "_CaxRow",
    [("ratio", float), *((name, float) for name in _ECW)],
    bases=(Sourced,),
    frozen=True,
    kw_only=True,
)


def _scale(rows: Sequence[WaterClass]) -> ClassScale:
    first = rows[0]
    name = f"water_class.csv: {first.scheme} {first.parameter}"
    if first.low is not None or rows[-1].high is not None:
        raise TableError(f"{name} must be open at both ends")
    for below, above in pairwise(rows):
        if below.high is None or below.high != above.low or above.low_included is None:
            raise TableError(f"{name} has a gap or overlap")
    limits = tuple(row.low for row in rows if row.low is not None)
    if list(limits) != sorted(set(limits)):
        raise TableError(f"{name} is out of order")
    return ClassScale(
        scheme=first.scheme,
        parameter=first.parameter,
        names=tuple(row.name for row in rows),
        limits=limits,
        limit_in_upper=tuple(bool(row.low_included) for row in rows[1:]),
        unit=first.unit,
        source=first.source,
        provenance=first.provenance,
        note_id=first.note_id,
    )


@cache
def class_scales() -> dict[tuple[str, str], ClassScale]:
    """Return every class scale by ``(scheme, parameter)``.

    Raises
    ------
    TableError
        If the classes of a scale leave a gap, overlap, or stand in several places.
    """
    rows = read_table("water_class.csv", WaterClass)
    scales: dict[tuple[str, str], ClassScale] = {}
    for key, group in groupby(rows, key=lambda row: (row.scheme, row.parameter)):
        if key in scales:
            raise TableError(f"water_class.csv: {key} occurs in several places")
        scales[key] = _scale(list(group))
    return scales


@cache
def infiltration_bands() -> tuple[InfiltrationBand, ...]:
    """Return the SAR bands of the infiltration table, lowest SAR first.

    Raises
    ------
    TableError
        If the bands leave a gap or overlap.
    """
    bands = read_table("infiltration.csv", InfiltrationBand)
    if any(below.sar_high != above.sar_low for below, above in pairwise(bands)):
        raise TableError("infiltration.csv: the SAR bands leave a gap or overlap")
    return bands


@cache
def cax_table() -> CaxTable:
    """Return the Ca_x table.

    Raises
    ------
    TableError
        If the table does not fall along the ratio and rise along ECw.
    """
    rows: tuple[Any, ...] = read_table("cax.csv", _CaxRow)
    ratio = np.array([row.ratio for row in rows])
    cax = np.array([[getattr(row, name) for name in _ECW] for row in rows])
    if np.any(np.diff(ratio) <= 0) or np.any(np.diff(cax, axis=0) >= 0):
        raise TableError("cax.csv: Ca_x must fall as the ratio HCO3/Ca rises")
    if np.any(np.diff(cax, axis=1) < 0):
        raise TableError("cax.csv: Ca_x must not fall as ECw rises")
    return CaxTable(ratio, np.array(CAX_ECW), cax, rows[0].source, rows[0].provenance)
