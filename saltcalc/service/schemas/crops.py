"""What goes out about crops."""

from __future__ import annotations

import marshmallow as ma

from saltcalc.service.schemas.common import AnswerSchema, quantity, source_keys

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
    note = ma.fields.String()
    sources = source_keys()
