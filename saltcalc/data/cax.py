"""Calcium left in solution near the soil surface (Ca_x), by water EC and HCO3/Ca ratio."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import ClassVar

import marshmallow as ma
import numpy as np
from numpy.typing import NDArray

from saltcalc.data.sources import SourcedSchema
from saltcalc.data.tables import DATA_DIR, TableError, read_table

ECW_DS_M = (0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0)


@dataclass(frozen=True)
class CaxTable:
    """Ca_x [mmol_c/L], shape (ratios, ECw), with its two axes."""

    ratio: NDArray[np.float64]
    ecw: NDArray[np.float64]
    cax: NDArray[np.float64]
    source: str
    provenance: str


def _column(ec: float) -> str:
    return f"ec_{ec:.1f}".replace(".", "_")


class _CaxSchema(SourcedSchema):
    ratio = ma.fields.Float(required=True)

    class Meta:
        unknown = ma.RAISE
        include: ClassVar = {_column(ec): ma.fields.Float(required=True) for ec in ECW_DS_M}


@cache
def cax_table() -> CaxTable:
    """Return the Ca_x table.

    Raises
    ------
    TableError
        If the table does not fall along the ratio and rise along ECw.
    """
    rows = read_table(DATA_DIR / "cax.csv", _CaxSchema())
    ratio = np.array([row["ratio"] for row in rows])
    cax = np.array([[row[_column(ec)] for ec in ECW_DS_M] for row in rows])
    if np.any(np.diff(ratio) <= 0) or np.any(np.diff(cax, axis=0) >= 0):
        raise TableError("cax.csv: Ca_x must fall as the ratio HCO3/Ca rises")
    if np.any(np.diff(cax, axis=1) < 0):
        raise TableError("cax.csv: Ca_x must not fall as ECw rises")
    return CaxTable(
        ratio=ratio,
        ecw=np.array(ECW_DS_M),
        cax=cax,
        source=rows[0]["source"],
        provenance=rows[0]["provenance"],
    )
