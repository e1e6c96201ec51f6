"""What comes in, an endpoint each, with the crops and the signs in it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

import marshmallow as ma

from saltcalc.case.batch import EXTRACTION, STAGE, MediumSolutions, Plantings, Previous, Samples
from saltcalc.case.trial import Outcome, Trial
from saltcalc.case.vocabulary import STAGES
from saltcalc.data.crops import GROUPS, RATINGS
from saltcalc.data.extraction import method_codes
from saltcalc.data.observations import observations
from saltcalc.service.catalogues import method_labels, named_crop, sign_labels
from saltcalc.service.fields import BoundedList, Choice, Day, Quantity, TableId, list_of
from saltcalc.service.inputs import takes
from saltcalc.service.schemas.basis import ComputedSchema, RequestSchema, SampledSchema
from saltcalc.service.schemas.medium import (
    ContainerSchema,
    MeasuredMediumSchema,
    MediumSchema,
    PoresSchema,
    SolutionSchema,
    measured,
    tray_overfilled,
)
from saltcalc.units import EC, TEMPERATURE
from saltcalc.words.catalogue import sentence

MOST_FILLED = 200
"""Media times kinds of container in one comparison: each pair is a flush to work out."""


@takes(Plantings)
class PlantingSchema(RequestSchema):
    """A crop at a stage."""

    alone = "crop"


def observation_list(description: str = "Signs that were seen.") -> BoundedList:
    """Return a field for signs."""
    return BoundedList(
        Choice(
            observations(),
            "A sign; see GET /v1/observations.",
            labels=sign_labels(),
            of="observations",
        ),
        validate=ma.validate.Length(max=100),
        metadata={"description": description},
    )


class SignsSchema(RequestSchema):
    """What was seen in the medium and its plants, and what was looked for and not seen."""

    observations = observation_list()
    not_seen = observation_list(
        "Signs that were looked for and not seen; they are evidence too. Leave out what nobody "
        "looked for."
    )

    @ma.validates_schema
    def _seen_or_not(self, request: Mapping[str, Any], **_: Any) -> None:
        seen, not_seen = request.get("observations") or (), request.get("not_seen") or ()
        both = {
            place: [sentence("problem.seen_and_not_seen")]
            for place, sign in enumerate(not_seen)
            if sign in seen
        }
        if both:
            raise ma.ValidationError({"not_seen": both})


class JudgedMediumSchema(SignsSchema):
    """A medium with its signs; either is enough to weigh causes."""

    medium = ma.fields.Nested(MediumSchema)

    @ma.validates_schema
    def _something_to_go_by(self, request: Mapping[str, Any], **_: Any) -> None:
        signs = any(request.get(each) for each in ("observations", "not_seen", "outcomes"))
        told = [request.get(each) or {} for each in ("medium", "water")]
        if "medium" in self.fields and not signs and not any(map(measured, told)):
            raise ma.ValidationError({"medium": {"ec": [sentence("problem.nothing_to_go_by")]}})


@takes(Samples, "means")
class MeansSchema(RequestSchema):
    """What the water is poured with."""

    alone = "by"


@takes(MediumSolutions, "", "ec")
@takes(Previous)
class PreviousSchema(SolutionSchema):
    """The earlier report of the same medium, for a re-test, and what was done since."""

    sampled_on = Day(metadata={"description": "Day on which that sample was taken."})

    @ma.validates_schema
    def _something_was_measured(self, earlier: Mapping[str, Any], **_: Any) -> None:
        if not measured(earlier):
            raise ma.ValidationError(sentence("problem.nothing_measured"), "ec")


class PouredSchema(RequestSchema):
    """Containers, and what their water is poured with."""

    @ma.validates_schema
    def _cells_fit_the_tray(self, request: Mapping[str, Any], **_: Any) -> None:
        if faults := _overfilled(request.get("means"), request.get("containers")):
            raise ma.ValidationError({"containers": faults})


def _overfilled(
    means: Mapping[str, Any] | None, containers: Sequence[Mapping[str, Any]] | None
) -> dict[int, Any]:
    """Return the faults of cells that do not fit on their tray."""
    return {
        place: {"volume": [_no_such_cell(means, each, most)]}
        for place, each in enumerate(containers or ())
        if means and (most := tray_overfilled(means, each)) is not None
    }


def _no_such_cell(means: Mapping[str, Any], cell: Mapping[str, Any], most: float) -> str:
    return sentence(
        "problem.cells_over_tray",
        volume=cell["volume"].value,
        cells=means["cells_per_tray"],
        length=means["tray_length"].value,
        width=means["tray_width"].value,
        most=most,
    )


@takes(Samples)
class AssessmentRequestSchema(JudgedMediumSchema, PouredSchema, ComputedSchema):
    """A medium to assess; its EC and one container are enough for a first answer."""

    water = ma.fields.Nested(SolutionSchema)
    means = ma.fields.Nested(MeansSchema)
    containers = list_of(ContainerSchema, 100)
    crops = list_of(PlantingSchema, 100)
    thriving_crops = BoundedList(
        TableId(
            named_crop,
            listing="GET /v1/crops",
            description="A crop that thrives in the same medium under the same care.",
        ),
        validate=ma.validate.Length(max=20),
        metadata={"description": "Crops that thrive in the same medium under the same care."},
    )
    previous = ma.fields.Nested(PreviousSchema)

    @ma.validates_schema
    def _earlier_is_earlier(self, request: Mapping[str, Any], **_: Any) -> None:
        before = (request.get("previous") or {}).get("sampled_on")
        now = request.get("sampled_on")
        if before and now and before > now:
            why = sentence("problem.previous_is_later", before=str(before), now=str(now))
            raise ma.ValidationError({"previous": {"sampled_on": [why]}})


@takes(
    Samples,
    "",
    "target_ec",
    "leaching_efficiency",
    "rest",
    "confidence",
    "pots_read",
    "return_tank",
    "evapotranspiration",
)
class FlushPlanRequestSchema(PouredSchema, ComputedSchema):
    """A medium to flush."""

    medium = ma.fields.Nested(MeasuredMediumSchema, required=True)
    water = ma.fields.Nested(SolutionSchema)
    means = ma.fields.Nested(MeansSchema)
    containers = list_of(ContainerSchema, 100, 1, required=True)
    crops = list_of(PlantingSchema, 100)
    observations = observation_list()


class SolutionsRequestSchema(ComputedSchema):
    """The ions of a medium's extract, of a water, or of both, with what was measured beside."""

    medium = ma.fields.Nested(MeasuredMediumSchema)
    water = ma.fields.Nested(SolutionSchema)

    @ma.validates_schema
    def _one_of_both(self, request: Mapping[str, Any], **_: Any) -> None:
        if not request.keys() & {"medium", "water"}:
            raise ma.ValidationError(sentence("problem.no_solution"))


@takes(Samples, "", "evapotranspiration", "rain", "feed_ec")
class LeachingRequirementRequestSchema(ComputedSchema):
    """A water and the crops it is for; with containers the rule of containers governs."""

    medium = ma.fields.Nested(MediumSchema)
    water = ma.fields.Nested(SolutionSchema, required=True)
    containers = list_of(ContainerSchema, 100)
    crops = list_of(PlantingSchema, 100, 1, required=True)


def _method(*, description: str) -> Choice:
    labels = method_labels()
    return Choice(
        method_codes(), description, labels, of="extraction", like=EXTRACTION, required=True
    )


class ConversionRequestSchema(PoresSchema, ComputedSchema):
    """An EC by one extraction method, to be expressed by another."""

    extraction = _method(description="How the water was taken out.")
    ec = Quantity(EC, "EC as read.", required=True)
    temperature = Quantity(TEMPERATURE, "Temperature of the reading.")
    to = _method(description="The method to express it by.")


class RankingRequestSchema(ComputedSchema):
    """A medium, and which crops at which age to rank in it."""

    medium = ma.fields.Nested(MeasuredMediumSchema, required=True)
    stage = Choice(STAGES, "Age of the crops.", of="stage", like=STAGE, required=True)
    group = Choice(GROUPS, "Only crops of this group.", of="group")
    rating = Choice(RATINGS, "Only crops of this rating.", of="rating")


@takes(Outcome)
class OutcomeSchema(RequestSchema):
    """How one crop fared in a medium."""

    @ma.validates_schema
    def _death_has_a_stage(self, outcome: Mapping[str, Any], **_: Any) -> None:
        if "died_at" in outcome and outcome.get("outcome") != "died":
            raise ma.ValidationError(sentence("problem.died_at_of_the_living"), "died_at")


@takes(Trial)
class TrialSchema(RequestSchema):
    """How media were tried: what was kept alike, and what is wanted of them."""


class ComparedMediumSchema(JudgedMediumSchema, SampledSchema):
    """One of the media."""

    name = ma.fields.String(
        validate=ma.validate.Length(1, 100), metadata={"description": "Any name for it."}
    )
    medium = ma.fields.Nested(MediumSchema, required=True)
    outcomes = list_of(OutcomeSchema, 20, metadata={"description": "How each crop fared in it."})
    containers = list_of(
        ContainerSchema,
        20,
        metadata={"description": "Its own, where they are not the same for all media."},
    )

    @ma.validates_schema
    def _each_crop_once(self, medium: Mapping[str, Any], **_: Any) -> None:
        crops = [each.get("crop") for each in medium.get("outcomes") or ()]
        twice = {
            place: {"crop": [sentence("problem.outcome_twice")]}
            for place, crop in enumerate(crops)
            if crop in crops[:place]
        }
        if twice:
            raise ma.ValidationError({"outcomes": twice})


class ComparisonRequestSchema(AssessmentRequestSchema):
    """Media to compare, with the same water, containers and crops."""

    class Meta(AssessmentRequestSchema.Meta):
        exclude = ("medium", "observations", "not_seen", "sample_id", "sampled_on", "previous")

    media = list_of(ComparedMediumSchema, 50, 2, required=True)
    trial = ma.fields.Nested(TrialSchema)
    containers = list_of(ContainerSchema, 20)
    crops = list_of(PlantingSchema, 20)

    @ma.validates_schema(skip_on_field_errors=True)
    def _not_too_many(self, request: Mapping[str, Any], **_: Any) -> None:
        media, shared = len(request["media"]), request.get("containers", [])
        containers = max(len(each.get("containers", shared)) for each in request["media"])
        if media * containers > MOST_FILLED:
            raise ma.ValidationError(
                sentence(
                    "problem.too_many_filled", media=media, containers=containers, most=MOST_FILLED
                ),
                "containers",
            )

    @ma.validates_schema
    def _cells_of_each_medium_fit_the_tray(self, request: Mapping[str, Any], **_: Any) -> None:
        faults = {
            place: {"containers": found}
            for place, medium in enumerate(request.get("media") or ())
            if (found := _overfilled(request.get("means"), medium.get("containers")))
        }
        if faults:
            raise ma.ValidationError({"media": faults})

    @ma.validates_schema(skip_on_field_errors=True)
    def _no_week_after_the_trial(self, request: Mapping[str, Any], **_: Any) -> None:
        weeks = request.get("trial", {}).get("weeks")
        if weeks is None:
            return
        after = {
            position: {"outcomes": late}
            for position, medium in enumerate(request["media"])
            if (late := _after(medium.get("outcomes", ()), weeks))
        }
        if after:
            raise ma.ValidationError({"media": after})

    @ma.validates_schema(skip_on_field_errors=True)
    def _names_differ(self, request: Mapping[str, Any], **_: Any) -> None:
        seen: set[str] = set()
        for position, name in enumerate(_names(request["media"])):
            if name in seen:
                raise ma.ValidationError(
                    {"media": {position: {"name": [sentence("problem.name_twice")]}}}
                )
            seen.add(name)

    @ma.post_load
    def _name_all(self, request: dict[str, Any], **_: Any) -> dict[str, Any]:
        media = request["media"]
        named = [medium | {"name": name} for medium, name in zip(media, _names(media), strict=True)]
        return request | {"media": named}


def _after(outcomes: Sequence[Mapping[str, Any]], weeks: float) -> dict[int, Any]:
    """Return the faults of outcomes that began after the end of their trial."""
    return {
        place: {"from_week": [sentence("problem.week_after_trial", weeks=weeks)]}
        for place, outcome in enumerate(outcomes)
        if outcome.get("from_week", 0) > weeks
    }


def _names(media: Sequence[Mapping[str, Any]]) -> list[str]:
    """Return the names of media as given, by the id of their sample, or by their place."""
    taken = Counter(medium.get("name", medium.get("sample_id")) for medium in media)
    names = []
    for place, medium in enumerate(media, start=1):
        sample = medium.get("sample_id")
        by_place = sentence("comparison.medium_by_place", place=place)
        names.append(medium.get("name", sample if taken[sample] == 1 and sample else by_place))
    return names
