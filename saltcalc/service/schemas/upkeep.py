"""What goes out of keeping salt down: between flushes, and the leaching fraction."""

from __future__ import annotations

import marshmallow as ma

from saltcalc.service.schemas.common import AnswerSchema, ClosingSchema, quantity, source_keys


class SteadyStateSchema(AnswerSchema):
    """The steady state at one leaching fraction."""

    leaching_fraction = ma.fields.Float()
    ec = quantity("Pore water.")


class BuildUpSchema(AnswerSchema):
    """The pore water on one day."""

    day = ma.fields.Integer()
    ec = quantity("Pore water.")


class LastingFlushSchema(AnswerSchema):
    """A flush, from now, that goes further than the one planned and so lasts longer."""

    days = quantity("How long it lasts until the limit is crossed, as watered now.")
    target_pore_water = quantity("Where it brings the pore water.")
    water_per_container = quantity("Water to pour through one container.")
    passes = ma.fields.Integer()
    stop_reading = quantity("Stop when the drainage of a pass reads this or less.")


class UpkeepSchema(AnswerSchema):
    """How salt builds up in one kind of container between flushes."""

    container = ma.fields.String(allow_none=True)
    ec_applied = quantity("Water and feed together, and what a slow release adds to them.")
    limit = quantity("Pore water not to go beyond.")
    irrigation = quantity("Water given to one container.")
    evapotranspiration = quantity("Water used by one container.")
    leaching_fraction = quantity("Share of the water that drains, as watered now.")
    leaching_fraction_needed = quantity("Share that holds the limit.")
    steady_state_ec = quantity("Pore water in the long run, as watered now; null if it only rises.")
    steady_state_by_leaching_fraction = ma.fields.List(ma.fields.Nested(SteadyStateSchema))
    ec_at_start = quantity("Pore water after the flush planned, or now where none is planned.")
    build_up = ma.fields.List(ma.fields.Nested(BuildUpSchema))
    days_to_limit = quantity("From there until the limit is crossed; null if it never is.")
    regular_flush = quantity("A flush of twice the container's volume; null where none can drain.")
    ec_after_regular_flush = quantity("Pore water after such a flush, given at the limit.")
    flush_interval = quantity(
        "Days from such a flush to the limit, so how often it is due; null where the limit is "
        "never crossed, or the flush does not get below it."
    )
    lasting_flush = ma.fields.Nested(
        LastingFlushSchema,
        allow_none=True,
        metadata={"description": "Null where the flush planned lasts as long, or none helps."},
    )
    sentence = ma.fields.String()
    sources = source_keys()


class PotLeachingFractionSchema(AnswerSchema):
    """The leaching fraction of one pot."""

    name = ma.fields.String(allow_none=True)
    from_volumes = quantity("Collected over applied.")
    from_ec = quantity("EC applied over EC of the drainage.")


class SpreadSchema(AnswerSchema):
    """Mean and scatter over the pots."""

    mean = quantity("Mean.")
    standard_deviation = quantity("Of the sample of pots; null for fewer than two.")
    pots = ma.fields.Integer()


class LeachingFractionAnswerSchema(ClosingSchema):
    """Leaching fractions of pots, with their mean and spread."""

    pots = ma.fields.List(ma.fields.Nested(PotLeachingFractionSchema))
    from_volumes = ma.fields.Nested(SpreadSchema)
    from_ec = ma.fields.Nested(SpreadSchema)
    sentence = ma.fields.String()
