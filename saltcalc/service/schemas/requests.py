"""What comes in: media, waters, containers, crops and signs."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import Any, ClassVar

import flask
import marshmallow as ma
from webargs.fields import DelimitedList

from saltcalc.case.batch import (
    Containers,
    MediumSolutions,
    Plantings,
    Previous,
    Samples,
    WaterSolutions,
)
from saltcalc.case.cat import PH_ABOVE_CACL2, ph_taken
from saltcalc.case.inputs import Named
from saltcalc.case.intake import LEFT_OUT
from saltcalc.case.nitrogen import form_is_open, mineral_nitrogen_exceeded
from saltcalc.case.trial import Outcome, Trial
from saltcalc.case.vocabulary import MICRONUTRIENT_EXTRACTS, STAGES
from saltcalc.data.crop_lookup import SPOKEN
from saltcalc.data.crop_names import REGIONS
from saltcalc.data.crops import GROUPS, RATINGS
from saltcalc.data.extraction import method_codes
from saltcalc.data.nutrients import MICRONUTRIENTS
from saltcalc.data.observations import observations
from saltcalc.data.reported_ions import other_forms, reported_ions
from saltcalc.data.stage_limits import stage_limits
from saltcalc.message import say
from saltcalc.parts.answer import BESIDE, Wanted
from saltcalc.service.catalogues import method_labels, named_crop, sign_labels
from saltcalc.service.fields import (
    BoundedList,
    Choice,
    Concentration,
    Day,
    Number,
    Quantity,
    TableId,
    is_not_given,
)
from saltcalc.service.inputs import takes
from saltcalc.service.schemas.answer_form import AnswerFormSchema
from saltcalc.units import EC, TEMPERATURE, Measured, Told, element_kind
from saltcalc.words.catalogue import languages, sentence, spoken
from saltcalc.words.figures import upper_first
from saltcalc.words.reader import tell_to

LOOSEST_FIT = 1.3
"""Volume from the diameters over the volume given, either way, beyond which a unit slipped."""

SLENDEREST = 50.0
"""Height over diameter beyond which no container is meant."""

MOST_FILLED = 200
"""Media times kinds of container in one comparison: each pair is a flush to work out."""


_ALONE = (Mapping, str, int, float)
"""What stands for a list of one."""


class RequestSchema(ma.Schema):
    """A part of a request; a field that is not known is refused."""

    class Meta:
        unknown = ma.RAISE

    also: ClassVar[Mapping[str, str]] = {}
    """Other names of fields, each with its field."""

    alone: ClassVar[str] = ""
    """The field that a bare text or number stands for, in the place of the whole object."""

    @ma.pre_load
    def _as_meant(self, given: Any, **_: Any) -> Any:
        """Take a bare figure for its field, one object for a list of one, and blanks for none."""
        if self.alone and isinstance(given, str | int | float) and not isinstance(given, bool):
            given = {self.alone: given}
        if not isinstance(given, Mapping):
            return given
        kept: dict[str, Any] = {}
        left_out: dict[str, Any] = {}
        for sent, value in given.items():
            field_of = self.also.get(sent)
            name = sent if field_of is None or field_of in given else field_of
            field = self.fields.get(name)
            if field is not None and is_not_given(field, value):
                left_out[name] = value
            elif (
                isinstance(field, BoundedList)
                and isinstance(value, _ALONE)
                and not isinstance(value, bool)
            ):
                of = field.inner
                if isinstance(of, Choice) and isinstance(value, str):
                    kept[name] = of.several(value)
                else:
                    kept[name] = [value]
            else:
                kept[name] = value
        flask.g.setdefault("left_out", []).append(left_out)
        return kept

    @ma.post_load
    def _say_what_was_left_out(self, loaded: dict[str, Any], **_: Any) -> dict[str, Any]:
        left_out = flask.g.left_out.pop()
        told = {
            f"{name}{LEFT_OUT}": Named("", value, say("unit.taken_as_not_given", text=value))
            for name, value in left_out.items()
            if isinstance(value, str) and value.strip()
        }
        return loaded | told


def _name(ion: str) -> str:
    return upper_first(sentence(f"reported_ions.name.{ion}"))


def _base(language: str) -> str:
    return language.split("-", maxsplit=1)[0]


class SampledSchema(RequestSchema):
    """Which sample it is; the answer repeats it."""

    sample_id = ma.fields.String(
        validate=ma.validate.Length(1, 100), metadata={"description": "Any id of the sample."}
    )
    sampled_on = Day(metadata={"description": "Day on which the sample was taken."})


class LanguageSchema(RequestSchema):
    """In which language the answer is."""

    language = Choice(
        dict.fromkeys((*SPOKEN, *languages(), *REGIONS)),
        "Language in which crops are named, as a BCP 47 tag; any of them if left out. The answer "
        f"comes in it where there are sentences ({', '.join(languages())}), else in English.",
    )

    @ma.pre_load
    def _name_in_language(self, request: Any, **_: Any) -> Any:
        """Let the names of crops be looked up in the language, and faults be told in it."""
        language = request.get("language") if isinstance(request, Mapping) else None
        if isinstance(language, str):
            tell_to(spoken(language))
        known = isinstance(language, str) and _base(language) in SPOKEN
        flask.g.names_in = language if known else None
        return request

    @ma.post_load
    def _answer_in_english(self, request: dict[str, Any], **_: Any) -> dict[str, Any]:
        language = request.get("language")
        if language is None or spoken(language) == _base(language):
            return request
        reading = say("names.answered_in_english")
        return request | {"language": Named(language, language, reading)}


class ComputedSchema(SampledSchema, LanguageSchema):
    """What every request for a computation takes beside its figures."""


IonsSchema = RequestSchema.from_dict(
    {
        ion.id: Concentration(ion.id, f"{_name(ion.id)}, as {ion.reported_as}.")
        for ion in reported_ions().values()
    },
    name="IonsSchema",
)


MicronutrientsSchema = RequestSchema.from_dict(
    {
        "extract": Choice(
            MICRONUTRIENT_EXTRACTS,
            "Whether they were taken out with water, as the rest, or with DTPA; 'water' if left "
            "out.",
            of="extract",
        )
    }
    | {
        element: Quantity(element_kind(element), f"{element.capitalize()} in that extract.")
        for element in MICRONUTRIENTS
    },
    name="MicronutrientsSchema",
)


class _OfElement(Concentration):
    """A nutrient as the element; says so where no form is written and oxides are usual."""

    def __init__(self, ion: str, oxide: str) -> None:
        super().__init__(ion, f"{_name(ion)}, as {reported_ions()[ion].reported_as}, in CAT.")
        self.ion, self.oxide = ion, oxide

    def _deserialize(self, value: Any, *given: Any, **options: Any) -> Measured:
        read = super()._deserialize(value, *given, **options)
        unit = value.get("unit") if isinstance(value, Mapping) else value
        own = reported_ions()[self.ion].reported_as
        if isinstance(unit, str) and {own, *other_forms()[self.ion]} & set(re.split(r"\W+", unit)):
            return read
        told = {"ion": say(f"reported_ions.name.{self.ion}"), "own": own, "oxide": self.oxide}
        return replace(read, reading=say("unit.cat_as_element", **told))


_OfCatSchema = RequestSchema.from_dict(
    {
        "mineral_n": Concentration("nitrate_n", "Nitrate and ammonium nitrogen together, as N."),
        "nitrate_n": Concentration("nitrate_n", "Nitrate nitrogen, as N."),
        "ammonium_n": Concentration("ammonium_n", "Ammonium nitrogen, as N."),
        "phosphorus": _OfElement("phosphorus", "P2O5"),
        "potassium": _OfElement("potassium", "K2O"),
        "magnesium": Concentration("magnesium", "Magnesium, as Mg."),
    }
    | {
        element: Quantity(element_kind(element), f"{element.capitalize()}.")
        for element in MICRONUTRIENTS
    },
    name="OfCatSchema",
)


class CatSchema(_OfCatSchema):  # type: ignore[valid-type, misc]
    """Nutrients by CaCl2/DTPA (EN 13651), in a litre of medium; by guide values of their own."""

    @ma.pre_load
    def _has_no_ec(self, cat: Any, **_: Any) -> Any:
        if isinstance(cat, Mapping) and "ec" in cat:
            raise ma.ValidationError(sentence("problem.ec_of_cat"), "ec")
        return cat

    @ma.validates_schema
    def _no_more_than_both(self, cat: Mapping[str, Any], **_: Any) -> None:
        if mineral_nitrogen_exceeded({"mineral_n": cat.get("mineral_n"), "ions": cat}):
            raise ma.ValidationError(sentence("problem.more_than_mineral_n"), "mineral_n")


@takes(WaterSolutions, ions=IonsSchema)
class SolutionSchema(RequestSchema):
    """What a meter and a laboratory say of a solution."""

    alone = "ec"

    @ma.validates_schema
    def _each_sum_once(self, solution: Mapping[str, Any], **_: Any) -> None:
        ions = solution.get("ions") or {}
        if "alkalinity" in solution and "bicarbonate" in ions:
            raise ma.ValidationError(sentence("problem.alkalinity_twice"), "alkalinity")
        if "hardness" in solution and {"calcium", "magnesium"} <= set(ions):
            raise ma.ValidationError(sentence("problem.hardness_twice"), "hardness")


class RetentionSchema(RequestSchema):
    """A measured retention curve, after van Genuchten (1980), with m = 1 − 1/n."""

    theta_s = Number(0.2, 0.99, "Water content at saturation, share of the volume.", required=True)
    theta_r = Number(0.0, 0.6, "Residual water content, share of the volume.", required=True)
    alpha = Number(1e-5, 1e3, "Inverse of the air-entry suction, in 1/cm.", required=True)
    n = Number(1.01, 20.0, "Steepness.", required=True)

    @ma.validates_schema
    def _residual_is_below_saturation(self, curve: Mapping[str, Any], **_: Any) -> None:
        if "theta_r" in curve and "theta_s" in curve and curve["theta_r"] >= curve["theta_s"]:
            raise ma.ValidationError(sentence("problem.residual_above_saturation"), "theta_r")


@takes(
    Samples,
    "medium",
    "substrate",
    "container_capacity",
    "total_porosity",
    "water_content",
    "retention",
    retention=RetentionSchema,
)
class PoresSchema(RequestSchema):
    """What holds the water of a medium."""

    @ma.validates_schema
    def _water_fits_the_pores(self, medium: Mapping[str, Any], **_: Any) -> None:
        saturated = (medium.get("retention") or {}).get("theta_s")
        pores = medium.get("total_porosity", saturated)
        for name in ("container_capacity", "water_content"):
            held = medium.get(name)
            if held is not None and pores is not None and held > pores:
                raise ma.ValidationError(sentence("problem.more_than_pores"), name)


@takes(MediumSolutions, "", "ec")
@takes(
    Samples,
    "medium",
    retention=RetentionSchema,
    micronutrients=MicronutrientsSchema,
    cat=CatSchema,
)
class MediumSchema(SolutionSchema, PoresSchema):
    """The medium: how it was extracted, what was read, and what holds the water."""

    @ma.validates_schema
    def _no_more_than_both(self, medium: Mapping[str, Any], **_: Any) -> None:
        if mineral_nitrogen_exceeded(medium):
            raise ma.ValidationError(sentence("problem.more_than_mineral_n"), "mineral_n")

    @ma.validates_schema
    def _each_nutrient_by_one_extract(self, medium: Mapping[str, Any], **_: Any) -> None:
        ions, cat = medium.get("ions") or {}, medium.get("cat") or {}
        beside = {*ions, *(medium.get("micronutrients") or {})}
        nitrogen = {"mineral_n", "nitrate_n", "ammonium_n"}
        if nitrogen & {*cat} and ("mineral_n" in medium or nitrogen & beside):
            beside |= nitrogen
        for nutrient in cat:
            if nutrient in beside:
                raise ma.ValidationError({"cat": {nutrient: [sentence("problem.by_two_extracts")]}})

    @ma.post_load
    def _say_how_ph_is_taken(self, medium: dict[str, Any], **_: Any) -> dict[str, Any]:
        taken = ph_taken(medium)
        if taken is medium:
            return medium
        told = {"ph": taken["ph"], "error": taken["ph_error"], "above": PH_ABOVE_CACL2}
        reading = say("unit.ph_in_cacl2", **told)
        return medium | {"ph_in_cacl2": Told(medium["ph_in_cacl2"], reading)}

    @ma.post_load
    def _say_how_nitrogen_is_taken(self, medium: dict[str, Any], **_: Any) -> dict[str, Any]:
        if not form_is_open(medium):
            return medium
        taken = replace(medium["mineral_n"], reading=say("unit.mineral_n_as_nitrate"))
        return medium | {"mineral_n": taken}


def measured(medium: Mapping[str, Any]) -> bool:
    """Tell whether anything was measured in a medium."""
    figures = ("ec", "ph", "ions", "alkalinity", "hardness", "mineral_n", "cat", "ph_in_cacl2")
    elements = set(medium.get("micronutrients") or ()) - {"extract"}
    return bool(elements) or any(medium.get(figure) not in (None, {}) for figure in figures)


class MeasuredMediumSchema(MediumSchema):
    """A medium in which something was measured."""

    @ma.validates_schema
    def _something_was_measured(self, medium: Mapping[str, Any], **_: Any) -> None:
        if not measured(medium):
            raise ma.ValidationError(sentence("problem.nothing_measured"), "ec")


def frustum(top: float, base: float, height: float) -> float:
    """Return the volume [L] of a round container by its inner diameters and its height [cm]."""
    return math.pi * height * (top**2 + top * base + base**2) / 12_000


@takes(Containers)
class ContainerSchema(RequestSchema):
    """One kind of container, and how many of it there are."""

    alone = "volume"
    also: ClassVar[Mapping[str, str]] = {"pot": "volume", "pot_size": "volume"}

    @ma.validates_schema
    def _both_diameters(self, container: Mapping[str, Any], **_: Any) -> None:
        given = container.keys() & {"top_diameter", "bottom_diameter"}
        if "volume" not in container:
            if not (given and "height" in container):
                raise ma.ValidationError(sentence("problem.no_volume"), "volume")
        elif len(given) == 1:
            missing = "bottom_diameter" if "top_diameter" in container else "top_diameter"
            raise ma.ValidationError(sentence("problem.one_diameter"), missing)

    @ma.post_load
    def _volume_from_its_size(self, container: dict[str, Any], **_: Any) -> dict[str, Any]:
        """Fill in the volume of a cylinder or a frustum up to the fill line."""
        if "volume" in container:
            return container
        widths: list[Any] = [container.get(each) for each in ("top_diameter", "bottom_diameter")]
        top, base = widths[0] or widths[1], widths[1] or widths[0]
        litres = frustum(top.value, base.value, container["height"].value)
        reading = say("unit.volume_of_size", litres=litres)
        return container | {"volume": Measured(litres, reading)}

    @ma.validates_schema
    def _diameters_fit_the_volume(self, container: Mapping[str, Any], **_: Any) -> None:
        sizes = [
            container.get(name) for name in ("top_diameter", "bottom_diameter", "height", "volume")
        ]
        if not all(isinstance(size, Measured) for size in sizes):
            return
        top, base, height, volume = (size.value for size in sizes if isinstance(size, Measured))
        litres = frustum(top, base, height)
        if not 1 / LOOSEST_FIT <= litres / volume <= LOOSEST_FIT:
            raise ma.ValidationError(
                sentence("problem.size_and_volume", litres=litres, volume=volume),
                "top_diameter",
            )

    @ma.validates_schema
    def _height_fits_the_volume(self, container: Mapping[str, Any], **_: Any) -> None:
        volume, height = container.get("volume"), container.get("height")
        if not (isinstance(volume, Measured) and isinstance(height, Measured)):
            return
        diameter = math.sqrt(4_000 * volume.value / (math.pi * height.value))
        if height.value > SLENDEREST * diameter:
            raise ma.ValidationError(
                sentence(
                    "problem.too_slender",
                    volume=volume.value,
                    height=height.value,
                    diameter=diameter,
                ),
                "height",
            )


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
        seen, not_seen = (request.get(name) or () for name in ("observations", "not_seen"))
        both = {
            place: [sentence("problem.seen_and_not_seen")]
            for place, sign in enumerate(not_seen)
            if sign in seen
        }
        if both:
            raise ma.ValidationError({"not_seen": both})


class JudgedMediumSchema(SignsSchema):
    """A medium with its signs; either is enough to weigh causes."""

    medium = ma.fields.Nested(MediumSchema, required=True)

    @ma.validates_schema
    def _something_to_go_by(self, request: Mapping[str, Any], **_: Any) -> None:
        told = ("observations", "not_seen", "outcomes")
        signs = any(request.get(each) for each in told)
        if "medium" in request and not signs and not measured(request["medium"]):
            raise ma.ValidationError({"medium": {"ec": [sentence("problem.nothing_to_go_by")]}})


@takes(Samples, "means")
class MeansSchema(RequestSchema):
    """What the water is poured with."""


@takes(MediumSolutions, "", "ec")
@takes(Previous)
class PreviousSchema(SolutionSchema):
    """The earlier report of the same medium, for a re-test, and what was done since."""

    sampled_on = Day(metadata={"description": "Day on which that sample was taken."})

    @ma.validates_schema
    def _something_was_measured(self, earlier: Mapping[str, Any], **_: Any) -> None:
        if not measured(earlier):
            raise ma.ValidationError(sentence("problem.nothing_measured"), "ec")


@takes(Samples)
class AssessmentRequestSchema(JudgedMediumSchema, ComputedSchema):
    """A medium to assess; its EC and one container are enough for a first answer."""

    water = ma.fields.Nested(SolutionSchema)
    means = ma.fields.Nested(MeansSchema)
    containers = BoundedList(
        ma.fields.Nested(ContainerSchema), validate=ma.validate.Length(max=100)
    )
    crops = BoundedList(ma.fields.Nested(PlantingSchema), validate=ma.validate.Length(max=100))
    thriving_crops = BoundedList(
        TableId(
            named_crop,
            listing="GET /v1/crops",
            description="A crop that thrives in the same medium under the same care.",
        ),
        validate=ma.validate.Length(max=20),
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
    "evapotranspiration",
)
class FlushPlanRequestSchema(ComputedSchema):
    """A medium to flush."""

    medium = ma.fields.Nested(MeasuredMediumSchema, required=True)
    water = ma.fields.Nested(SolutionSchema)
    means = ma.fields.Nested(MeansSchema)
    containers = BoundedList(
        ma.fields.Nested(ContainerSchema),
        required=True,
        validate=ma.validate.Length(min=1, max=100),
    )
    crops = BoundedList(ma.fields.Nested(PlantingSchema), validate=ma.validate.Length(max=100))
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
    containers = BoundedList(
        ma.fields.Nested(ContainerSchema), validate=ma.validate.Length(max=100)
    )
    crops = BoundedList(
        ma.fields.Nested(PlantingSchema), required=True, validate=ma.validate.Length(min=1, max=100)
    )


class ConversionRequestSchema(PoresSchema, ComputedSchema):
    """An EC by one extraction method, to be expressed by another."""

    extraction = Choice(
        method_codes(),
        "How the water was taken out.",
        labels=method_labels(),
        of="extraction",
        required=True,
    )
    ec = Quantity(EC, "EC as read.", required=True)
    temperature = Quantity(TEMPERATURE, "Temperature of the reading.")
    to = Choice(
        method_codes(),
        "The method to express it by.",
        labels=method_labels(),
        of="extraction",
        required=True,
    )


class FilterSchema(RequestSchema):
    """What a query chooses from a list; its fields are texts alone."""


class CropFilterSchema(FilterSchema):
    """Which crops to list."""

    name = ma.fields.String(
        validate=ma.validate.Length(1, 100),
        metadata={
            "description": "Part of an id, common name, synonym or botanical name. If none has it, "
            "crops of a like name come, marked `near_match`."
        },
    )
    group = Choice(GROUPS, "Group of crops.", of="group")
    rating = Choice(RATINGS, "Salt tolerance rating.", of="rating")


class StageLimitFilterSchema(FilterSchema):
    """Which ranges to list."""

    stage = Choice(
        dict.fromkeys(limit.stage for limit in stage_limits() if limit.stage != "any"),
        "Age of the plants; ranges for plants of any age come with it.",
    )
    extraction = Choice(
        method_codes(), "Extraction method that the ranges are read by.", labels=method_labels()
    )


class RankingRequestSchema(ComputedSchema):
    """A medium, and which crops at which age to rank in it."""

    medium = ma.fields.Nested(MeasuredMediumSchema, required=True)
    stage = Choice(STAGES, "Age of the crops.", of="stage", required=True)
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
    outcomes = BoundedList(
        ma.fields.Nested(OutcomeSchema),
        validate=ma.validate.Length(max=20),
        metadata={"description": "How each crop fared in it."},
    )
    containers = BoundedList(
        ma.fields.Nested(ContainerSchema),
        validate=ma.validate.Length(max=20),
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

    media = BoundedList(
        ma.fields.Nested(ComparedMediumSchema), required=True, validate=ma.validate.Length(2, 50)
    )
    trial = ma.fields.Nested(TrialSchema)
    containers = BoundedList(ma.fields.Nested(ContainerSchema), validate=ma.validate.Length(max=20))
    crops = BoundedList(ma.fields.Nested(PlantingSchema), validate=ma.validate.Length(max=20))

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


def _names(media: Sequence[Mapping[str, Any]]) -> list[str]:
    """Return the names of media as given, or by their place."""
    return [medium.get("name", f"medium {place}") for place, medium in enumerate(media, start=1)]


@cache
def wanted_schema(offered: tuple[str, ...]) -> type[ma.Schema]:
    """Return the schema of the query by which parts of an answer are chosen.

    Parameters
    ----------
    offered : tuple of str
        The parts that this endpoint has.
    """
    parts = DelimitedList(
        Choice((*offered, *BESIDE), "A part of the answer."),
        validate=ma.validate.Length(1, 20),
        metadata={
            "description": "The parts to show, separated by commas; all but `workings` if left out."
        },
    )
    fields: dict[str, Any] = {
        "parts": parts,
        "sources": Choice(("none",), "'none' leaves the sources out; their keys stay."),
    }
    if "causes" in offered:
        fields["causes"] = Choice(("all",), "'all' ranks the unlikely causes too.")
    if "flush_plan" in offered:
        fields["passes"] = Choice(
            ("all",), "'all' tells what each pass of a flush does, and the layers of water."
        )
    return AnswerFormSchema.from_dict(fields, name="WantedSchema")


def wanted_of(query: Mapping[str, Any]) -> Wanted:
    """Return what of an answer a loaded query wants."""
    return Wanted(
        tuple(query.get("parts", ())), "sources" not in query, "causes" in query, "passes" in query
    )
