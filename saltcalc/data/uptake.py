"""What crops take up with each litre of water they use."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import marshmallow as ma

from saltcalc.data.sources import Sourced
from saltcalc.data.tables import Uncertain, column, read_keyed

UPTAKE_IONS = ("nitrogen", "potassium", "calcium", "magnesium", "sodium", "chloride")


@dataclass(frozen=True, kw_only=True)
class UptakeConcentration(Sourced):
    """One ion taken up by one crop, over the water it uses."""

    crop: str
    ion: str = column(validate=ma.validate.OneOf(UPTAKE_IONS))
    uptake: Uncertain = column(validate=ma.validate.Range(0))
    """[mmol/L]"""


@cache
def uptake_concentrations() -> Mapping[tuple[str, str], UptakeConcentration]:
    """Return what is published of uptake, by crop and ion.

    Raises
    ------
    TableError
        If a pair occurs twice.
    """
    return read_keyed(
        "uptake_concentrations.csv", UptakeConcentration, lambda row: (row.crop, row.ion)
    )
