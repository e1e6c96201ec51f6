"""What goes out of the irrigation water."""

from __future__ import annotations

import marshmallow as ma

from saltcalc.service.schemas.common import (
    AnswerSchema,
    QuantityAnswerSchema,
    RangeSchema,
    quantity,
    source_keys,
)


class CropWaterSchema(AnswerSchema):
    """The water against one crop."""

    crop = ma.fields.String()
    stage = ma.fields.String()
    highest_ec = quantity("Saltiest water that can bring the medium to the crop's limit.")
    exceeds = ma.fields.Boolean(
        allow_none=True, metadata={"description": "Whether the water is saltier than that."}
    )
    ions_above = ma.fields.List(
        ma.fields.String(),
        metadata={"description": "Ions of the water that are by themselves above what it stands."},
    )
    least_rain = quantity("Share of rain water in a blend that just meets it.")
    comfortable_rain = quantity("Share of rain water in a blend of half that EC.")


class CarbonateFormSchema(AnswerSchema):
    """A form of dissolved carbonate."""

    form = ma.fields.String()
    share = quantity("Share of the dissolved carbonate at the water's pH.")


class IrrigationWaterSchema(AnswerSchema):
    """The irrigation water as a source of salt."""

    ec_25c = quantity("EC at 25 °C.")
    basis = ma.fields.String(
        allow_none=True,
        metadata={"description": "measured, or floor: the least that the reported ions allow."},
    )
    name = ma.fields.String(
        data_key="class",
        attribute="class",
        allow_none=True,
        metadata={"description": "Degree of restriction on use by EC (FAO 29)."},
    )
    class_range = ma.fields.Nested(RangeSchema)
    alkalinity = ma.fields.List(
        ma.fields.Nested(QuantityAnswerSchema), metadata={"description": "In every form."}
    )
    hardness = ma.fields.List(
        ma.fields.Nested(QuantityAnswerSchema), metadata={"description": "In every form."}
    )
    carbonate_hardness = ma.fields.List(
        ma.fields.Nested(QuantityAnswerSchema),
        metadata={"description": "The part that bicarbonate balances, in every form."},
    )
    carbonate_forms = ma.fields.List(
        ma.fields.Nested(CarbonateFormSchema),
        metadata={"description": "How carbonate is divided at the pH; empty without one."},
    )
    crops = ma.fields.List(ma.fields.Nested(CropWaterSchema))
    sources = source_keys()
