"""What goes out: the parts of an answer."""

from __future__ import annotations

from typing import Any

import marshmallow as ma


class AnswerSchema(ma.Schema):
    """A part of an answer; a member that the schema does not know is an error, never dropped."""

    @ma.pre_dump
    def _nothing_is_lost(self, part: Any, **_: Any) -> Any:
        known = {field.attribute or name for name, field in self.fields.items()}
        if isinstance(part, dict) and (strangers := part.keys() - known):
            raise ValueError(f"{type(self).__name__} does not know {sorted(strangers)}")
        return part


class QuantityAnswerSchema(AnswerSchema):
    """A quantity; low and high bound an 80 % interval where it is uncertain."""

    value = ma.fields.Float(required=True)
    unit = ma.fields.String(required=True, metadata={"description": "'1' for a pure number."})
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
    class_scheme = ma.fields.String(allow_none=True)
    other_classes = ma.fields.List(ma.fields.Nested(OtherClassSchema))
    method = ma.fields.String()
    ec_25c = quantity("The reading, at 25 °C.")
    ec_saturated_extract = quantity("What the saturated extract would read.")
    ec_pore_water = quantity("The water in the pores at container capacity.")
    osmotic_potential = quantity("Of the pore water at container capacity.")
    sources = source_keys()


class MediumSodicitySchema(AnswerSchema):
    """Sodium hazard of the medium's extract."""

    sar = quantity("Sodium adsorption ratio.")
    name = ma.fields.String(data_key="class", attribute="class", allow_none=True)
    esp = quantity("Exchangeable sodium percentage, by regression.")
    sources = source_keys()


class WaterSodicitySchema(AnswerSchema):
    """Sodium hazard of the water."""

    sar = quantity("Sodium adsorption ratio.")
    name = ma.fields.String(data_key="class", attribute="class", allow_none=True)
    infiltration_hazard = ma.fields.String(allow_none=True)
    sources = source_keys()


class SodicitySchema(AnswerSchema):
    """Sodium hazard of medium and water."""

    medium = ma.fields.Nested(MediumSodicitySchema, allow_none=True)
    water = ma.fields.Nested(WaterSodicitySchema, allow_none=True)


class LeachingSchema(AnswerSchema):
    """What share of every watering must drain, season-long, to keep salt down."""

    crop = ma.fields.String()
    stage = ma.fields.String()
    requirement = quantity("After Rhoades: ECw / (5 ECe − ECw).")
    requirement_high_frequency = quantity("For frequent watering: ECw / (2 max ECe).")
    water_factor = quantity("Water applied for each litre used: 1 / (1 − LR).")
    sources = source_keys()


class PassSchema(AnswerSchema):
    """One pass of a flush."""

    applied = quantity("Water poured on.")
    drained = quantity("Water that comes out.")
    ec_medium = quantity("Pore water afterwards.")
    ec_drainage = quantity("Drainage at the end of the pass.")


class OptionSchema(AnswerSchema):
    """A way out that is not a flush in place."""

    id = ma.fields.String()
    sentence = ma.fields.String()
    salty_share = quantity("Share of the salty medium in a blend, by volume.")
    clean_parts = quantity("Parts of clean medium for one part of salty medium.")
    ec_clean = quantity("EC taken for the clean medium, as saturated extract.")
    sources = source_keys()


class FlushPlanSchema(AnswerSchema):
    """How to take one kind of container down once."""

    container = ma.fields.String(allow_none=True)
    drainage = ma.fields.String()
    water_held = quantity("Water in one container after drainage.")
    water_per_container = quantity("Water to pour through one container.")
    water_total = quantity("Water for all of them.")
    target_ec = quantity("Where to bring the medium, by its own extraction method.")
    stop_reading = quantity("Stop when the drainage reads this or less.")
    passes = ma.fields.List(ma.fields.Nested(PassSchema))
    options = ma.fields.List(ma.fields.Nested(OptionSchema))
    sources = source_keys()


class CropAnswerSchema(AnswerSchema):
    """How a crop at a stage stands the medium."""

    crop = ma.fields.String()
    name = ma.fields.String()
    stage = ma.fields.String()
    threshold = quantity("Saturated extract up to which nothing is lost.")
    slope = quantity("Loss above it.")
    relative_yield = quantity("Yield against that without salt.")
    verdict = ma.fields.String(
        metadata={"description": "stands it, reduced, fails, or cannot tell."}
    )
    verdict_range = ma.fields.List(
        ma.fields.String(), metadata={"description": "Verdicts at the ends of the interval."}
    )
    note = ma.fields.String()
    governing = ma.fields.String(
        allow_none=True, metadata={"description": "The limit that the verdict rests on."}
    )
    sources = source_keys()


class AssessmentSchema(ClosingSchema):
    """The whole answer."""

    intervals = ma.fields.String(metadata={"description": "How low and high are made."})
    salinity = ma.fields.Nested(SalinitySchema, allow_none=True)
    sodicity = ma.fields.Nested(SodicitySchema, allow_none=True)
    ions = ma.fields.Raw(allow_none=True)
    leaching = ma.fields.List(ma.fields.Nested(LeachingSchema), allow_none=True)
    flush_plan = ma.fields.List(ma.fields.Nested(FlushPlanSchema), allow_none=True)
    crops = ma.fields.List(ma.fields.Nested(CropAnswerSchema), allow_none=True)
    causes = ma.fields.Raw(allow_none=True)

    class Meta:
        fields = (
            "salinity",
            "sodicity",
            "ions",
            "leaching",
            "flush_plan",
            "crops",
            "causes",
            "intervals",
            "warnings",
            "assumptions",
            "not_computed",
            "sources",
        )


class SodicityAnswerSchema(ClosingSchema):
    """The sodium hazard alone."""

    sodicity = ma.fields.Nested(SodicitySchema)


class LeachingRequirementAnswerSchema(ClosingSchema):
    """The leaching requirement alone."""

    leaching = ma.fields.List(ma.fields.Nested(LeachingSchema), allow_none=True)


class FlushPlansAnswerSchema(ClosingSchema):
    """The flush plans alone."""

    flush_plan = ma.fields.List(ma.fields.Nested(FlushPlanSchema), allow_none=True)
    intervals = ma.fields.String()


class ConversionAnswerSchema(ClosingSchema):
    """An EC by another extraction method."""

    origin = ma.fields.String(data_key="from", attribute="from")
    to = ma.fields.String()
    ec_25c = quantity("The reading, at 25 °C.")
    ec = quantity("What the other method would read.")
    intervals = ma.fields.String()
