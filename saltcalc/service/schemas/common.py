"""What the schemas of all answers share."""

from __future__ import annotations

from typing import Any

import marshmallow as ma

from saltcalc.parts.notes import Assumption, CitedSource, Finding, NotComputed, Range
from saltcalc.service.contract import AnswerSchema, QuantityAnswerSchema, schema_of

__all__ = ["AnswerSchema", "ClosingSchema", "QuantityAnswerSchema", "RangeSchema", "SourceSchema"]

RangeSchema = schema_of(Range)


class ClosingSchema(AnswerSchema):
    """What every answer ends with."""

    warnings = ma.fields.List(ma.fields.Nested(schema_of(Finding)))
    assumptions = ma.fields.List(ma.fields.Nested(schema_of(Assumption)))
    not_computed = ma.fields.List(ma.fields.Nested(schema_of(NotComputed)))
    sources = ma.fields.Dict(
        keys=ma.fields.String(), values=ma.fields.Nested(schema_of(CitedSource))
    )


SourceSchema = schema_of(CitedSource)


def source_keys() -> ma.fields.List[Any]:
    """Return a field for the keys into ``sources``."""
    return ma.fields.List(
        ma.fields.String(), metadata={"description": "Keys into the answer's `sources`."}
    )


def quantity(description: str = "", **options: Any) -> ma.fields.Nested:
    """Return a field for a quantity that may be null."""
    return ma.fields.Nested(
        QuantityAnswerSchema, allow_none=True, metadata={"description": description}, **options
    )
