"""Ways in which a laboratory figure is commonly read in the wrong form or unit."""

from __future__ import annotations

from functools import cache
from typing import Any

import marshmallow as ma

from saltcalc.data.sources import known_source
from saltcalc.data.tables import DATA_DIR, SourcedSchema, read_table


class _SlipSchema(SourcedSchema):
    slip = ma.fields.String(required=True)
    ion = ma.fields.String(required=True)
    factor = ma.fields.Float(required=True)


@cache
def reporting_slips() -> dict[str, dict[str, float]]:
    """Return for each slip what brings each ion's figure from as read to as meant, a factor."""
    slips: dict[str, dict[str, float]] = {}
    row: dict[str, Any]
    for row in read_table(DATA_DIR / "reporting_slips.csv", _SlipSchema()):
        known_source(row["source"])
        slips.setdefault(row["slip"], {})[row["ion"]] = row["factor"]
    return slips
