"""What goes out of a flush: the plan of each container, its cost, and the other ways out."""

from __future__ import annotations

import marshmallow as ma

from saltcalc.service.schemas.common import AnswerSchema, ClosingSchema, quantity, source_keys


class PassSchema(AnswerSchema):
    """One pass of a flush."""

    applied = quantity("Water poured on.")
    drained = quantity("Water that comes out.")
    ec_medium = quantity("Pore water that the medium settles to afterwards.")
    ec_drainage = quantity("All the drainage of the pass, mixed.")


class LayerSchema(AnswerSchema):
    """One layer of a drained container."""

    height = quantity("Middle of the layer above the base.")
    water = quantity("Water, share of the volume.")


class ContainerWaterSchema(AnswerSchema):
    """Water and air in the drained container; the wet layer at the base is the perched water."""

    basis = ma.fields.String(metadata={"description": "Where the figures come from."})
    container_capacity = quantity("Water held after drainage, share of the volume.")
    air_space = quantity("Air after drainage, share of the volume.")
    total_porosity = quantity("Pore space, share of the volume.")
    drainable_volume = quantity("Water that drains from the full medium of one container.")
    perched_height = quantity("Height of the zone above the base with less than 10 % air.")
    profile = ma.fields.List(ma.fields.Nested(LayerSchema))
    sources = source_keys()


class ComparisonSchema(AnswerSchema):
    """The litres beside the rule of the trade and the simplest model."""

    twice_the_pot = quantity("Twice the container's volume.")
    over_twice_the_pot = quantity("This plan's water over that.")
    well_mixed = quantity("Water if the container mixed at once.")
    sentence = ma.fields.String()
    sources = source_keys()


class NutrientCostSchema(AnswerSchema):
    """What the flush carries off of one nutrient."""

    nutrient = ma.fields.String()
    reported_as = ma.fields.String()
    lost_per_container = quantity("Carried off, less what the water brings.")
    lost_total = quantity("Of all containers.")
    share_lost = quantity("Of what was dissolved and held on the medium.")
    in_drainage = quantity("In all the drainage, mixed.")
    left_in_pore_water = quantity("In the pore water afterwards.")
    sources = source_keys()


class DrinkingWaterSchema(AnswerSchema):
    """The nitrate of the drainage against a limit for drinking water."""

    limit = quantity("Nitrate as nitrogen.")
    over_limit = quantity("Drainage over that limit.")
    sources = source_keys()


class NitrogenSourceSchema(AnswerSchema):
    """One generic source of nitrogen."""

    id = ma.fields.String()
    name = ma.fields.String()
    mass_per_container = quantity("Mass that holds the nitrogen.")
    note = ma.fields.String()
    sources = source_keys()


class FeedSchema(AnswerSchema):
    """Feed that brings nitrogen back."""

    nitrogen_wanted = quantity("Nitrate nitrogen wanted in the pore water.")
    nitrogen_per_container = quantity("To add.")
    nitrogen_total = quantity("To add to all containers.")
    ec_rise = quantity("What it adds to the EC of the pore water.")
    generic_sources = ma.fields.List(ma.fields.Nested(NitrogenSourceSchema))
    sentence = ma.fields.String()
    sources = source_keys()


class CostsSchema(AnswerSchema):
    """What the flush costs besides water."""

    nutrients = ma.fields.List(ma.fields.Nested(NutrientCostSchema))
    drainage_volume = quantity("Drainage of all containers, to be collected.")
    drainage_nitrate_n = quantity("Nitrate nitrogen in it.")
    drinking_water = ma.fields.List(ma.fields.Nested(DrinkingWaterSchema))
    ec_after = quantity("Pore water that the medium settles to.")
    feed = ma.fields.Nested(FeedSchema, allow_none=True)


class ReboundSchema(AnswerSchema):
    """What the EC does after the flush."""

    ec_settled = quantity("Once standing water and medium have evened out.")
    days = quantity("When to measure again.")
    ec_after_days = quantity("Expected then, slow release included.")
    sentence = ma.fields.String()
    sources = source_keys()


class ShortPlanSchema(AnswerSchema):
    """The plan for a medium in a vessel that drains."""

    ec_water = quantity("EC of the water to pour, rain mixed in where it is needed.")
    water_per_container = quantity("Water to pour through the medium of one container.")
    passes = ma.fields.Integer()
    applied_each = quantity("Water of one pass.")
    rest = quantity("Rest between passes.")
    stop_reading = quantity("Stop when the drainage of a pass reads this or less.")
    time_needed = quantity("Time, rests included.")


class MoistureSchema(AnswerSchema):
    """The pore water at one moisture."""

    moisture = quantity("Water over water held after drainage.")
    ec = quantity("Pore water then.")


class OptionSchema(AnswerSchema):
    """A way out that is not a flush in place."""

    optional = frozenset(
        {
            "clean_parts",
            "crops",
            "ec_blend",
            "ec_by_moisture",
            "ec_clean",
            "nitrate_n_blend",
            "plan",
            "rain_share",
            "salty_share",
            "weeks_at_latest",
            "weeks_at_soonest",
        }
    )

    id = ma.fields.String()
    sentence = ma.fields.String()
    salty_share = quantity("Share of the salty medium in a blend, by volume.")
    clean_parts = quantity("Parts of clean medium for one part of salty medium.")
    ec_clean = quantity("EC taken for the clean medium, as saturated extract.")
    ec_blend = quantity("EC of the blend, as saturated extract.")
    nitrate_n_blend = quantity("Nitrate nitrogen of the blend, by the medium's own extraction.")
    plan = ma.fields.Nested(ShortPlanSchema)
    rain_share = quantity("Share of rain water in the water for the flush.")
    ec_by_moisture = ma.fields.List(ma.fields.Nested(MoistureSchema))
    crops = ma.fields.List(ma.fields.String(), metadata={"description": "Names, best first."})
    weeks_at_soonest = quantity("Rough.")
    weeks_at_latest = quantity("Rough.")
    sources = source_keys()


class FlushPlanSchema(AnswerSchema):
    """How to take one kind of container down once."""

    container = ma.fields.String(allow_none=True)
    drainage = ma.fields.String()
    sentence = ma.fields.String(metadata={"description": "The plan in words."})
    water_in_container = ma.fields.Nested(ContainerWaterSchema)
    water_held = quantity("Water in one container after drainage.")
    water_per_container = quantity("Water to pour through one container.")
    water_total = quantity("Water for all of them.")
    drained_per_container = quantity("Drainage of one container.")
    drained_total = quantity("Drainage of all of them.")
    target_from = ma.fields.String(metadata={"description": "What sets the target."})
    target_ec = quantity("Where to bring the medium, by its own extraction method.")
    target_pore_water = quantity("The same as pore water at container capacity.")
    least_reachable_ec = quantity("Pore water that no flush with this water gets below.")
    reaches_target = ma.fields.Boolean()
    stop_reading = quantity("Stop when the drainage of a pass reads this or less.")
    stop_reading_own_method = quantity(
        "What the medium then reads by its own extraction method, once settled."
    )
    rest = quantity("Rest between passes.")
    time_needed = quantity("Time for one container, rests included.")
    passes = ma.fields.List(ma.fields.Nested(PassSchema))
    comparison = ma.fields.Nested(ComparisonSchema, allow_none=True)
    costs = ma.fields.Nested(CostsSchema, allow_none=True)
    rebound = ma.fields.Nested(ReboundSchema, allow_none=True)
    options = ma.fields.List(ma.fields.Nested(OptionSchema))
    sources = source_keys()


class ProgressSchema(AnswerSchema):
    """What the readings of a flush under way say; intervals are of 90 %."""

    container = ma.fields.String(allow_none=True)
    passes_done = ma.fields.Integer()
    applied_so_far = quantity("Water poured on one container.")
    efficiency = quantity("Share of the drainage that moves solution, re-estimated.")
    immobile_share = quantity("Share of the held water that does not flow, re-estimated.")
    ec_medium = quantity("Pore water that the medium would settle to now.")
    target_pore_water = quantity("Where it is to come down to.")
    remaining_per_container = quantity("Water still to pour through one container.")
    remaining_total = quantity("Of all of them.")
    remaining_passes = ma.fields.Integer(allow_none=True)
    applied_each = quantity("Water of one pass.")
    stop_reading = quantity("Stop when the drainage of a pass reads this or less.")
    reaches_target = ma.fields.Boolean()
    sentence = ma.fields.String()
    sources = source_keys()


class ProgressAnswerSchema(ClosingSchema):
    """A flush under way."""

    progress = ma.fields.Nested(ProgressSchema, allow_none=True)
    intervals = ma.fields.String()
