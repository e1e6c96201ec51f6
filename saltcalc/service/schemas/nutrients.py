"""What goes out about nutrients."""

from __future__ import annotations

import marshmallow as ma

from saltcalc.service.schemas.common import AnswerSchema, RangeSchema, quantity, source_keys

STATUS = {"description": "low, in range, high, or cannot tell."}


class OtherRangeSchema(AnswerSchema):
    """What another published range says of the same figure."""

    applies_to = ma.fields.String()
    method = ma.fields.String()
    range = ma.fields.Nested(RangeSchema)
    status = ma.fields.String(metadata=STATUS)
    sources = source_keys()


class ElementSchema(AnswerSchema):
    """One element, or pH, against its range."""

    nutrient = ma.fields.String()
    name = ma.fields.String()
    value = quantity("As reported; mg/L of the element, or pH.")
    status = ma.fields.String(metadata=STATUS)
    status_range = ma.fields.List(
        ma.fields.String(), metadata={"description": "Statuses over the interval of the figure."}
    )
    range = ma.fields.Nested(
        RangeSchema, allow_none=True, metadata={"description": "The range that governs."}
    )
    range_method = ma.fields.String(
        allow_none=True, metadata={"description": "The extract that the range is for."}
    )
    on_range_method = quantity("The figure scaled to that extract, where it is another one.")
    share_of_salts = quantity("Share of the total soluble salts, by mass.")
    share_range = ma.fields.Nested(RangeSchema, allow_none=True)
    share_status = ma.fields.String(allow_none=True, metadata=STATUS)
    other_ranges = ma.fields.List(ma.fields.Nested(OtherRangeSchema))
    note = ma.fields.String()
    sources = source_keys()


class NitrogenSchema(AnswerSchema):
    """How long the nitrogen of a container lasts one plant."""

    container = ma.fields.String(allow_none=True)
    stage = ma.fields.String()
    nitrogen_held = quantity("Mineral nitrogen in the water one container holds.")
    weeks = quantity("A rough count; nothing fed, leached or set free.")
    sentence = ma.fields.String(metadata={"description": "What the weeks count, and do not."})
    sources = source_keys()


class RemedySchema(AnswerSchema):
    """What usually helps, in generic terms."""

    id = ma.fields.String()
    nutrients = ma.fields.List(ma.fields.String(), data_key="for", attribute="for")
    sentence = ma.fields.String()
    rate = quantity("To mix in, by volume of medium.")
    wait = quantity("Before sowing.")
    sources = source_keys()


class NutrientsSchema(AnswerSchema):
    """Nutrient context."""

    elements = ma.fields.List(ma.fields.Nested(ElementSchema))
    nitrogen = ma.fields.List(ma.fields.Nested(NitrogenSchema), allow_none=True)
    remedies = ma.fields.List(ma.fields.Nested(RemedySchema))
