"""What comes in and goes out when media are compared."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import marshmallow as ma

from saltcalc.parts.crops.verdicts import VERDICT
from saltcalc.service.fields import BoundedList
from saltcalc.service.schemas.common import AnswerSchema, ClosingSchema, quantity
from saltcalc.service.schemas.requests import (
    AssessmentRequestSchema,
    ContainerSchema,
    JudgedMediumSchema,
    PlantingSchema,
)

MOST_FILLED = 200
"""Media times kinds of container in one comparison: each pair is a flush to work out."""


class ComparedMediumSchema(JudgedMediumSchema):
    """One of the media."""

    name = ma.fields.String(
        validate=ma.validate.Length(1, 100), metadata={"description": "Any name for it."}
    )


class ComparisonRequestSchema(AssessmentRequestSchema):
    """Media to compare, with the same water, containers and crops."""

    class Meta(AssessmentRequestSchema.Meta):
        exclude = ("medium", "observations", "not_seen")

    media = BoundedList(
        ma.fields.Nested(ComparedMediumSchema), required=True, validate=ma.validate.Length(2, 50)
    )
    containers = BoundedList(ma.fields.Nested(ContainerSchema), validate=ma.validate.Length(max=20))
    crops = BoundedList(ma.fields.Nested(PlantingSchema), validate=ma.validate.Length(max=20))

    @ma.validates_schema(skip_on_field_errors=True)
    def _not_too_many(self, request: Mapping[str, Any], **_: Any) -> None:
        media, containers = len(request["media"]), len(request.get("containers", []))
        if media * containers > MOST_FILLED:
            raise ma.ValidationError(
                f"{media} media in {containers} kinds of container are more than {MOST_FILLED} "
                "together. Ask in several requests.",
                "containers",
            )

    @ma.validates_schema(skip_on_field_errors=True)
    def _names_differ(self, request: Mapping[str, Any], **_: Any) -> None:
        seen: set[str] = set()
        for position, name in enumerate(media_names(request["media"])):
            if name in seen:
                raise ma.ValidationError(
                    {"media": {position: {"name": ["Two media have this name."]}}}
                )
            seen.add(name)


def media_names(media: Sequence[Mapping[str, Any]]) -> list[str]:
    """Return the names of media as given, or by their place."""
    return [medium.get("name", f"medium {place}") for place, medium in enumerate(media, start=1)]


class MediaWithValueSchema(AnswerSchema):
    """The media that show one value."""

    value = ma.fields.String()
    media = ma.fields.List(ma.fields.String())


class DifferenceSchema(AnswerSchema):
    """A difference that matters."""

    id = ma.fields.String(metadata={"description": "Stable kebab-case id."})
    sentence = ma.fields.String()
    media = ma.fields.List(ma.fields.Nested(MediaWithValueSchema))


class ComparedCropSchema(AnswerSchema):
    """How a crop stands one of the media."""

    crop = ma.fields.String()
    name = ma.fields.String()
    stage = ma.fields.String()
    relative_yield = quantity("Yield against that without salt.")
    emergence = quantity("Seeds that emerge, where their half-value is published.")
    verdict = ma.fields.String(metadata={"description": VERDICT})
    verdict_range = ma.fields.List(ma.fields.String())
    governing = ma.fields.String(allow_none=True)


class ComparedFlushSchema(AnswerSchema):
    """Water to flush one kind of container."""

    container = ma.fields.String(allow_none=True)
    drainage = ma.fields.String()
    water_per_container = quantity("Null where no flush is needed, possible or allowed.")
    water_total = quantity("Water for all of them.")


class MainCauseSchema(AnswerSchema):
    """The best supported cause of stalled plants."""

    cause = ma.fields.String()
    name = ma.fields.String()
    verdict = ma.fields.String(metadata={"description": "supported or possible."})
    tied_with = ma.fields.List(ma.fields.String())


class ComparisonRowSchema(AnswerSchema):
    """One medium."""

    medium = ma.fields.String()
    ec_25c = quantity("The reading, at 25 °C.")
    method = ma.fields.String(allow_none=True)
    name = ma.fields.String(data_key="class", attribute="class", allow_none=True)
    ec_saturated_extract = quantity("What the saturated extract would read.")
    character = ma.fields.String(
        allow_none=True, metadata={"description": "Kind of salt; null without ions."}
    )
    sar = quantity("Sodium adsorption ratio.")
    sodicity_class = ma.fields.String(allow_none=True)
    nitrate_n = quantity("As reported.")
    nitrogen_status = ma.fields.String()
    ph = quantity()
    ph_status = ma.fields.String()
    main_cause = ma.fields.Nested(
        MainCauseSchema, allow_none=True, metadata={"description": "Null where none is possible."}
    )
    crops = ma.fields.List(ma.fields.Nested(ComparedCropSchema))
    flush = ma.fields.List(ma.fields.Nested(ComparedFlushSchema))


class ComparisonAnswerSchema(ClosingSchema):
    """The media side by side."""

    differences = ma.fields.List(
        ma.fields.Nested(DifferenceSchema),
        metadata={"description": "What tells the media apart, what matters most first."},
    )
    alike = ma.fields.List(
        ma.fields.String(),
        metadata={"description": "Ids of differences looked for and not found."},
    )
    matrix = ma.fields.List(ma.fields.Nested(ComparisonRowSchema))
    intervals = ma.fields.String(metadata={"description": "How low and high are made."})
