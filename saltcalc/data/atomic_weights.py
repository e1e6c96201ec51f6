"""Standard atomic weights, and the molar mass of a formula: every conversion by mass uses these."""

from __future__ import annotations

import re
from functools import cache

import marshmallow as ma

from saltcalc.data.sources import SourcedSchema
from saltcalc.data.tables import DATA_DIR, keyed, read_table

_GROUP = re.compile(r"\(([A-Za-z0-9]+)\)(\d+)")
_ELEMENT = re.compile(r"([A-Z][a-z]?)(\d*)")


class _WeightSchema(SourcedSchema):
    symbol = ma.fields.String(required=True)
    weight = ma.fields.Float(required=True)


@cache
def atomic_weights() -> dict[str, float]:
    """Return the standard atomic weights [g/mol] by symbol."""
    rows = read_table(DATA_DIR / "atomic_weights.csv", _WeightSchema())
    by_symbol = keyed("atomic_weights.csv", rows, lambda row: str(row["symbol"]))
    return {symbol: row["weight"] for symbol, row in by_symbol.items()}


@cache
def molar_mass(formula: str) -> float:
    """Return the molar mass of a formula.

    Parameters
    ----------
    formula : str
        Elements and counts, with groups in parentheses, for example ``(NH4)2SO4``.

    Returns
    -------
    float
        Molar mass [g/mol].

    Raises
    ------
    ValueError
        If the formula cannot be read or has an element that the table lacks.
    """
    flat = _GROUP.sub(lambda group: group[1] * int(group[2]), formula)
    if not re.fullmatch(rf"(?:{_ELEMENT.pattern})+", flat):
        raise ValueError(f"{formula!r} is not a formula")
    try:
        return sum(
            atomic_weights()[symbol] * int(count or 1) for symbol, count in _ELEMENT.findall(flat)
        )
    except KeyError as error:
        raise ValueError(f"{formula!r}: the atomic weight of {error} is not in the table") from None
