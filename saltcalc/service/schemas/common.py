"""What the schemas of all answers share."""

from __future__ import annotations

from typing import Any, ClassVar

import marshmallow as ma


class AnswerSchema(ma.Schema):
    """A part of an answer; a member that the schema does not know is an error, never dropped.

    Every member is always there, null where it is not known, but for those named ``optional``.
    """

    optional: ClassVar[frozenset[str]] = frozenset()

    def on_bind_field(self, field_name: str, field_obj: ma.fields.Field[Any]) -> None:
        """Say so in the document of the interface."""
        field_obj.required = field_name not in self.optional

    @ma.pre_dump
    def _nothing_is_lost(self, part: Any, **_: Any) -> Any:
        known = {field.attribute or name for name, field in self.fields.items()}
        if isinstance(part, dict) and (strangers := part.keys() - known):
            raise ValueError(f"{type(self).__name__} does not know {sorted(strangers)}")
        return part


class QuantityAnswerSchema(AnswerSchema):
    """A quantity; low and high bound an 80 % interval where it is uncertain.

    Where only one of them is there, the other end is open.
    """

    optional = frozenset({"low", "high"})

    value = ma.fields.Float()
    unit = ma.fields.String(metadata={"description": "'1' for a pure number."})
    low = ma.fields.Float()
    high = ma.fields.Float()


def quantity(description: str = "", **options: Any) -> ma.fields.Nested:
    """Return a field for a quantity that may be null."""
    return ma.fields.Nested(
        QuantityAnswerSchema, allow_none=True, metadata={"description": description}, **options
    )


def source_keys() -> ma.fields.List[Any]:
    """Return a field for the keys into ``sources``."""
    return ma.fields.List(
        ma.fields.String(), metadata={"description": "Keys into the answer's `sources`."}
    )


class RangeSchema(AnswerSchema):
    """A range; null where it is open."""

    low = ma.fields.Float(allow_none=True)
    high = ma.fields.Float(allow_none=True)
    unit = ma.fields.String()


class WarningSchema(AnswerSchema):
    """What the reader must know before acting."""

    id = ma.fields.String(metadata={"description": "Stable kebab-case id."})
    severity = ma.fields.String(validate=ma.validate.OneOf(["note", "caution", "stop"]))
    sentence = ma.fields.String()
    cause = ma.fields.String(
        metadata={"description": "Pointer to the field, or path of the figure, that caused it."}
    )


class AssumptionSchema(AnswerSchema):
    """A default that entered the answer."""

    id = ma.fields.String()
    value = ma.fields.Raw(metadata={"description": "A quantity, a number or an id."})
    reason = ma.fields.String()
    field = ma.fields.String(metadata={"description": "Pointer to the field that overrides it."})
    sources = source_keys()


class NotComputedSchema(AnswerSchema):
    """A part that could not be computed."""

    part = ma.fields.String(metadata={"description": "Path of the part in the answer."})
    missing = ma.fields.List(
        ma.fields.String(), metadata={"description": "Pointers to the fields that would allow it."}
    )
    sentence = ma.fields.String()


class SourceSchema(AnswerSchema):
    """A source."""

    citation = ma.fields.String()
    kind = ma.fields.String(
        metadata={"description": "published, common-practice, judgement, computed or local."}
    )
    note = ma.fields.String()


class ClosingSchema(AnswerSchema):
    """What every answer ends with."""

    warnings = ma.fields.List(ma.fields.Nested(WarningSchema))
    assumptions = ma.fields.List(ma.fields.Nested(AssumptionSchema))
    not_computed = ma.fields.List(ma.fields.Nested(NotComputedSchema))
    sources = ma.fields.Dict(keys=ma.fields.String(), values=ma.fields.Nested(SourceSchema))
