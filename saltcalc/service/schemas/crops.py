"""What comes in and goes out about crops."""

from __future__ import annotations

import marshmallow as ma

from saltcalc.case.vocabulary import STAGES
from saltcalc.data.crops import GROUPS, RATINGS
from saltcalc.data.extraction import method_codes
from saltcalc.data.stage_limits import stage_limits
from saltcalc.service.catalogues import method_labels
from saltcalc.service.fields import Choice
from saltcalc.service.schemas.common import (
    AnswerSchema,
    ClosingSchema,
    SourceSchema,
    quantity,
    source_keys,
)
from saltcalc.service.schemas.listings import ListingSchema
from saltcalc.service.schemas.requests import MeasuredMediumSchema, RequestSchema

VERDICT = "stands it, reduced, fails, or cannot tell."


class StandingSchema(AnswerSchema):
    """How a crop stands a medium."""

    crop = ma.fields.String()
    name = ma.fields.String()
    relative_yield = quantity("Yield against that without salt.")
    emergence = quantity("Seeds that emerge, where their half-value is published.")
    verdict = ma.fields.String(metadata={"description": VERDICT})
    verdict_range = ma.fields.List(
        ma.fields.String(), metadata={"description": "Verdicts over the interval, kindest first."}
    )
    governing = ma.fields.String(
        allow_none=True, metadata={"description": "The limit that the verdict rests on."}
    )
    stands_up_to = quantity("Highest EC of the saturated extract at which it still stands it.")


class LimitSchema(AnswerSchema):
    """One limit that the crop is held against."""

    limit = ma.fields.String()
    verdict = ma.fields.String(metadata={"description": VERDICT})
    governs = ma.fields.Boolean()
    found = quantity("What the roots meet, on the basis of the limit.")
    allowed = quantity("Where the limit begins to bite; low and high where sources give a range.")
    basis = ma.fields.String(metadata={"description": "Extraction method, or what is compared."})
    sentence = ma.fields.String()
    sources = source_keys()


class FlushDownToSchema(AnswerSchema):
    """The EC to come down to for a share of the yield."""

    relative_yield = quantity()
    ec_saturated_extract = quantity("EC of the saturated extract.")
    reading = quantity("The same by the extraction method of the request.")
    reached = ma.fields.Boolean(metadata={"description": "Whether the medium is there already."})


class SecondFiguresSchema(AnswerSchema):
    """What another source says of the crop."""

    threshold = quantity("Saturated extract up to which nothing is lost.")
    slope = quantity("Loss above it.")
    rating = ma.fields.String(allow_none=True)
    relative_yield = quantity("What this source would leave of the yield.")
    provenance = ma.fields.String()
    note = ma.fields.String()
    sources = source_keys()


class StageLimitSchema(AnswerSchema):
    """A published range for container media at a stage."""

    plants = ma.fields.String()
    stage = ma.fields.String(
        metadata={"description": "germination, seedling, established, plug_1 to plug_4, or any."}
    )
    extraction = ma.fields.String(
        allow_none=True, metadata={"description": "Null where the source does not say."}
    )
    ec_low = quantity("Null where open.")
    ec_high = quantity("Null where open.")
    meaning = ma.fields.String()
    provenance = ma.fields.String()


class StageRangeSchema(StageLimitSchema):
    """A range that the reading is held beside."""

    within = ma.fields.Boolean(metadata={"description": "Whether the reading lies in it."})
    sources = source_keys()


class StageLimitListingSchema(StageLimitSchema):
    """A row of the table of ranges."""

    kind = ma.fields.String(
        metadata={"description": "short, suits, high, injures, or observed (a trial, no limit)."}
    )
    source = ma.fields.String()
    note = ma.fields.String()


class CropAnswerSchema(StandingSchema):
    """How a crop at a stage stands the medium."""

    stage = ma.fields.String()
    group = ma.fields.String()
    local = ma.fields.Boolean(metadata={"description": "Whether the row is the grower's own."})
    rating = ma.fields.String(allow_none=True, metadata={"description": "S, MS, MT or T."})
    threshold = quantity("Saturated extract up to which nothing is lost.")
    slope = quantity("Loss above it.")
    ec_saturated_extract = quantity("What the roots meet, as saturated extract.")
    osmotic_potential = quantity("Of the pore water at container capacity.")
    governing_reason = ma.fields.String()
    limits = ma.fields.List(ma.fields.Nested(LimitSchema))
    stage_ranges = ma.fields.List(
        ma.fields.Nested(StageRangeSchema),
        metadata={"description": "Published ranges for plants of this age, for comparison."},
    )
    flush_down_to = ma.fields.List(
        ma.fields.Nested(FlushDownToSchema),
        metadata={"description": "For 100, 90 and 50 % of the yield."},
    )
    second_figures = ma.fields.List(ma.fields.Nested(SecondFiguresSchema))
    alternatives = ma.fields.List(
        ma.fields.Nested(StandingSchema),
        metadata={
            "description": "Up to five crops of the same group that stand it, nearest first."
        },
    )
    remark = ma.fields.String(
        allow_none=True, metadata={"description": "What the crop's row in the table says beside."}
    )
    note = ma.fields.String()
    sources = source_keys()


class CropFilterSchema(RequestSchema):
    """Which crops to list."""

    name = ma.fields.String(
        validate=ma.validate.Length(1, 100),
        metadata={
            "description": "Part of an id, common name, synonym or botanical name. If none has it, "
            "crops of a like name come, marked `near_match`."
        },
    )
    group = Choice(GROUPS, "Group of crops.")
    rating = Choice(RATINGS, "Salt tolerance rating.")


class StageLimitFilterSchema(RequestSchema):
    """Which ranges to list."""

    stage = Choice(
        dict.fromkeys(limit.stage for limit in stage_limits() if limit.stage != "any"),
        "Age of the plants; ranges for plants of any age come with it.",
    )
    extraction = Choice(
        method_codes(), "Extraction method that the ranges are read by.", labels=method_labels()
    )


class CropListingSchema(ListingSchema):
    """A crop."""

    id = ma.fields.String()
    name = ma.fields.String()
    botanical = ma.fields.String()
    synonyms = ma.fields.List(ma.fields.String())
    group = ma.fields.String()
    woody = ma.fields.Boolean()
    basis = ma.fields.String(metadata={"description": "What was measured: yield or growth."})
    threshold = quantity("Saturated extract up to which nothing is lost.")
    slope = quantity("Loss above it.")
    rating = ma.fields.String(allow_none=True, metadata={"description": "S, MS, MT or T."})
    rating_estimated = ma.fields.Boolean()
    local = ma.fields.Boolean(metadata={"description": "Whether the row is the grower's own."})
    near_match = ma.fields.Boolean(
        metadata={"description": "Whether only a like name was found, not the one asked for."}
    )


class CropYieldSchema(AnswerSchema):
    """The EC at one relative yield."""

    relative_yield = quantity()
    ec_saturated_extract = quantity()


class CropEmergenceSchema(ListingSchema):
    """The EC that halves emergence and yield."""

    half_emergence = quantity("EC of the saturated extract.")
    half_yield = quantity("EC of the saturated extract.")


class CropStageLimitSchema(ListingSchema):
    """The most EC advised for the crop at one stage."""

    stage = ma.fields.String()
    ec = quantity("EC of the saturated extract.")


class CropIonLimitSchema(ListingSchema):
    """A limit of chloride in the saturated extract."""

    variety = ma.fields.String(metadata={"description": "Rootstock or cultivar; empty for any."})
    threshold = quantity()
    slope = quantity("Loss above it; null for a limit of leaf injury.")


class CropBoronSchema(CropIonLimitSchema):
    """A limit of boron in the pore water."""

    rating = ma.fields.String(allow_none=True)


class CropSodiumSchema(ListingSchema):
    """Exchangeable sodium that the crop stands."""

    limit = quantity("Null for a tolerant crop.")


class CropFoliarSchema(ListingSchema):
    """Sodium or chloride in water on the leaves that burns them."""

    lower = quantity(data_key="from", attribute="from")
    upper = quantity(data_key="to", attribute="to")


class CropSecondFiguresSchema(ListingSchema):
    """What another source says of the crop."""

    threshold = quantity()
    slope = quantity()
    rating = ma.fields.String(allow_none=True)


class CropDetailSchema(CropListingSchema):
    """Everything that is published of a crop."""

    look_up_to = quantity("Highest saturated extract at which an ornamental looks acceptable.")
    yields = ma.fields.List(ma.fields.Nested(CropYieldSchema))
    emergence = ma.fields.Nested(CropEmergenceSchema, allow_none=True)
    stage_limits = ma.fields.List(ma.fields.Nested(CropStageLimitSchema))
    chloride = ma.fields.List(ma.fields.Nested(CropIonLimitSchema))
    boron = ma.fields.List(ma.fields.Nested(CropBoronSchema))
    exchangeable_sodium = ma.fields.Nested(CropSodiumSchema, allow_none=True)
    foliar = ma.fields.Nested(CropFoliarSchema, allow_none=True)
    second_figures = ma.fields.List(ma.fields.Nested(CropSecondFiguresSchema))
    sources = ma.fields.Dict(keys=ma.fields.String(), values=ma.fields.Nested(SourceSchema))


class RankingRequestSchema(RequestSchema):
    """A medium, and which crops at which age to rank in it."""

    medium = ma.fields.Nested(MeasuredMediumSchema, required=True)
    stage = Choice(STAGES, "Age of the crops.", required=True)
    group = Choice(GROUPS, "Only crops of this group.")
    rating = Choice(RATINGS, "Only crops of this rating.")


class VerdictCountSchema(AnswerSchema):
    """How many crops have a verdict."""

    verdict = ma.fields.String(metadata={"description": VERDICT})
    crops = ma.fields.Integer()


class RankedCropSchema(StandingSchema):
    """A crop in its place."""

    rank = ma.fields.Integer()
    group = ma.fields.String()
    rating = ma.fields.String(allow_none=True, metadata={"description": "S, MS, MT or T."})
    local = ma.fields.Boolean(metadata={"description": "Whether the row is the grower's own."})
    sources = source_keys()


class RankingAnswerSchema(ClosingSchema):
    """The crops, from the one that stands the medium best."""

    stage = ma.fields.String()
    ec_saturated_extract = quantity("What the roots meet, as saturated extract.")
    counts = ma.fields.List(ma.fields.Nested(VerdictCountSchema), allow_none=True)
    ranking = ma.fields.List(ma.fields.Nested(RankedCropSchema), allow_none=True)
    intervals = ma.fields.String(metadata={"description": "How low and high are made."})
