"""What goes out: the parts of an answer."""

from __future__ import annotations

import marshmallow as ma

from saltcalc.parts.causes.show import NextMeasurement, WeighedCause
from saltcalc.parts.crops.show import CropAnswer
from saltcalc.parts.flush.show import FlushPlan
from saltcalc.parts.ions.show import IonAnalyses
from saltcalc.parts.leaching import Leaching
from saltcalc.parts.nutrients.show import Nutrients
from saltcalc.parts.salinity import Salinity
from saltcalc.parts.sodicity import Sodicity
from saltcalc.parts.upkeep import Upkeep
from saltcalc.parts.water import IrrigationWater
from saltcalc.service.contract import schema_of
from saltcalc.service.schemas.common import (
    ClosingSchema,
)


class AssessmentSchema(ClosingSchema):
    """The whole answer."""

    intervals = ma.fields.String(metadata={"description": "How low and high are made."})
    salinity = ma.fields.Nested(schema_of(Salinity), allow_none=True)
    sodicity = ma.fields.Nested(schema_of(Sodicity), allow_none=True)
    ions = ma.fields.Nested(schema_of(IonAnalyses), allow_none=True)
    water = ma.fields.Nested(schema_of(IrrigationWater), allow_none=True)
    leaching = ma.fields.List(ma.fields.Nested(schema_of(Leaching)), allow_none=True)
    flush_plan = ma.fields.List(ma.fields.Nested(schema_of(FlushPlan)), allow_none=True)
    upkeep = ma.fields.List(ma.fields.Nested(schema_of(Upkeep)), allow_none=True)
    crops = ma.fields.List(ma.fields.Nested(schema_of(CropAnswer)), allow_none=True)
    nutrients = ma.fields.Nested(schema_of(Nutrients), allow_none=True)
    causes = ma.fields.List(ma.fields.Nested(schema_of(WeighedCause)))
    next_measurement = ma.fields.Nested(schema_of(NextMeasurement), allow_none=True)

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

    leaching = ma.fields.List(ma.fields.Nested(schema_of(Leaching)), allow_none=True)
