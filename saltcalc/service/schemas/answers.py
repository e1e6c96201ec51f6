"""What goes out: the parts of an answer."""

from __future__ import annotations

import marshmallow as ma

from saltcalc.service.schemas.causes import CauseAnswerSchema, NextMeasurementSchema
from saltcalc.service.schemas.common import (
    AnswerSchema,
    ClosingSchema,
    RangeSchema,
    quantity,
    source_keys,
)
from saltcalc.service.schemas.crops import CropAnswerSchema
from saltcalc.service.schemas.flush import FlushPlanSchema
from saltcalc.service.schemas.ions import IonAnalysesSchema
from saltcalc.service.schemas.irrigation_water import IrrigationWaterSchema
from saltcalc.service.schemas.nutrients import NutrientsSchema
from saltcalc.service.schemas.sodicity import SodicitySchema
from saltcalc.service.schemas.upkeep import UpkeepSchema


class OtherClassSchema(AnswerSchema):
    """What another published scheme calls the same reading."""

    scheme = ma.fields.String()
    name = ma.fields.String(data_key="class", attribute="class")
    class_range = ma.fields.Nested(RangeSchema)
    sources = source_keys()


class SalinitySchema(AnswerSchema):
    """How salty the medium is."""

    name = ma.fields.String(data_key="class", attribute="class", allow_none=True)
    meaning = ma.fields.String(allow_none=True)
    class_range = ma.fields.Nested(RangeSchema, allow_none=True)
    possible_classes = ma.fields.List(
        ma.fields.String(),
        metadata={"description": "Classes over the interval of a converted reading."},
    )
    class_scheme = ma.fields.String(allow_none=True)
    other_classes = ma.fields.List(ma.fields.Nested(OtherClassSchema))
    method = ma.fields.String()
    basis = ma.fields.String(
        metadata={"description": "measured, or floor: the least that the reported ions allow."}
    )
    ec_25c = quantity("The reading, at 25 °C.")
    ec_saturated_extract = quantity("What the saturated extract would read.")
    ec_pore_water = quantity("The water in the pores at container capacity.")
    osmotic_potential = quantity("Of the pore water at container capacity.")
    sources = source_keys()


class LeachingSchema(AnswerSchema):
    """What share of every watering must drain, season-long, to keep salt down."""

    crop = ma.fields.String()
    stage = ma.fields.String()
    requirement = quantity("After Rhoades: ECw / (5 ECe − ECw).")
    requirement_high_frequency = quantity("For frequent watering: ECw / (2 max ECe).")
    water_factor = quantity("Water applied for each litre used: 1 / (1 − LR).")
    sentence = ma.fields.String(allow_none=True)
    sources = source_keys()


class AssessmentSchema(ClosingSchema):
    """The whole answer."""

    intervals = ma.fields.String(metadata={"description": "How low and high are made."})
    salinity = ma.fields.Nested(SalinitySchema, allow_none=True)
    sodicity = ma.fields.Nested(SodicitySchema, allow_none=True)
    ions = ma.fields.Nested(IonAnalysesSchema, allow_none=True)
    water = ma.fields.Nested(IrrigationWaterSchema, allow_none=True)
    leaching = ma.fields.List(ma.fields.Nested(LeachingSchema), allow_none=True)
    flush_plan = ma.fields.List(ma.fields.Nested(FlushPlanSchema), allow_none=True)
    upkeep = ma.fields.List(ma.fields.Nested(UpkeepSchema), allow_none=True)
    crops = ma.fields.List(ma.fields.Nested(CropAnswerSchema), allow_none=True)
    nutrients = ma.fields.Nested(NutrientsSchema, allow_none=True)
    causes = ma.fields.List(ma.fields.Nested(CauseAnswerSchema))
    next_measurement = ma.fields.Nested(NextMeasurementSchema, allow_none=True)

    class Meta:
        fields = (
            "salinity",
            "sodicity",
            "ions",
            "water",
            "leaching",
            "flush_plan",
            "upkeep",
            "crops",
            "nutrients",
            "causes",
            "next_measurement",
            "intervals",
            "warnings",
            "assumptions",
            "not_computed",
            "sources",
        )


class LeachingRequirementAnswerSchema(ClosingSchema):
    """The leaching requirement alone."""

    leaching = ma.fields.List(ma.fields.Nested(LeachingSchema), allow_none=True)


class FlushPlansAnswerSchema(ClosingSchema):
    """The flush plans alone."""

    flush_plan = ma.fields.List(ma.fields.Nested(FlushPlanSchema), allow_none=True)
    intervals = ma.fields.String()


class ConversionStepSchema(AnswerSchema):
    """What one published conversion makes of a reading."""

    method = ma.fields.String()
    basis = ma.fields.String(metadata={"description": "saturated_extract or pore_water."})
    governing = ma.fields.Boolean(
        metadata={"description": "Whether the value rests on it; the others widen the interval."}
    )
    ec = quantity("The reading by the method.")
    ec_on_basis = quantity("What it stands for on the basis.")
    applies_to = ma.fields.String()
    provenance = ma.fields.String()
    note = ma.fields.String()
    sources = source_keys()


class ConversionAnswerSchema(ClosingSchema):
    """An EC by another extraction method."""

    origin = ma.fields.String(data_key="from", attribute="from")
    to = ma.fields.String()
    ec_25c = quantity("The reading, at 25 °C.")
    ec_25c_linear = quantity("The same by a constant 1.91 % a degree, as many meters correct.")
    medium_kind = ma.fields.String(
        metadata={"description": "Which conversions apply: soilless, sandy, loamy or clayey."}
    )
    ec = quantity("What the other method would read.")
    ec_saturated_extract = quantity("What the saturated extract would read.")
    ec_pore_water = quantity("The water in the pores at container capacity.")
    conversions = ma.fields.List(
        ma.fields.Nested(ConversionStepSchema),
        metadata={"description": "The published conversions that apply, side by side."},
    )
    intervals = ma.fields.String()
