"""What comes in: media, waters, containers, crops and signs."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import marshmallow as ma

from saltcalc.case.vocabulary import DRAINAGE, MICRONUTRIENT_EXTRACTS, STAGES
from saltcalc.data.extraction import method_codes
from saltcalc.data.nutrients import MICRONUTRIENTS
from saltcalc.data.observations import observations
from saltcalc.data.reported_ions import reported_ions
from saltcalc.data.slow_release import slow_releases
from saltcalc.service.catalogues import crop_id, method_labels, substrate_id
from saltcalc.service.fields import (
    BoundedList,
    Choice,
    Concentration,
    Count,
    Number,
    Quantity,
    TableId,
)
from saltcalc.units import (
    ALKALINITY,
    EC,
    HARDNESS,
    LENGTH,
    MASS_CONCENTRATION,
    PLANT_AGE,
    REST,
    TARGET_EC,
    TEMPERATURE,
    VOLUME,
    WATER_DEPTH_PER_DAY,
    Measured,
)

LOOSEST_FIT = 1.3
"""Volume from the diameters over the volume given, either way, beyond which a unit slipped."""

SLENDEREST = 50.0
"""Height over diameter beyond which no container is meant."""


class RequestSchema(ma.Schema):
    """A part of a request; a field that is not known is refused."""

    class Meta:
        unknown = ma.RAISE


IonsSchema = RequestSchema.from_dict(
    {
        ion.id: Concentration(ion.id, f"{ion.name.capitalize()}, as {ion.reported_as}.")
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
        )
    }
    | {
        element: Quantity(MASS_CONCENTRATION, f"{element.capitalize()} in that extract.")
        for element in MICRONUTRIENTS
    },
    name="MicronutrientsSchema",
)


class SolutionSchema(RequestSchema):
    """What a meter and a laboratory say of a solution."""

    ec = Quantity(EC, "Electrical conductivity.")
    temperature = Quantity(
        TEMPERATURE,
        "Temperature of the reading, if the meter does not correct to 25 °C by itself.",
    )
    ph = Number(0, 14, "pH.")
    ions = ma.fields.Nested(IonsSchema)
    alkalinity = Quantity(
        ALKALINITY, "Alkalinity, where it is given instead of bicarbonate among the ions."
    )
    hardness = Quantity(
        HARDNESS, "Total hardness, where calcium or magnesium is not among the ions."
    )

    @ma.validates_schema
    def _each_sum_once(self, solution: Mapping[str, Any], **_: Any) -> None:
        ions = solution.get("ions") or {}
        if "alkalinity" in solution and "bicarbonate" in ions:
            raise ma.ValidationError(
                "Give the alkalinity or the bicarbonate, not both.", "alkalinity"
            )
        if "hardness" in solution and {"calcium", "magnesium"} <= set(ions):
            raise ma.ValidationError(
                "Calcium and magnesium say it already; leave it out.", "hardness"
            )


class RetentionSchema(RequestSchema):
    """A measured retention curve, after van Genuchten (1980), with m = 1 − 1/n."""

    theta_s = Number(0.2, 0.99, "Water content at saturation, share of the volume.", required=True)
    theta_r = Number(0.0, 0.6, "Residual water content, share of the volume.", required=True)
    alpha = Number(1e-5, 1e3, "Inverse of the air-entry suction, in 1/cm.", required=True)
    n = Number(1.01, 20.0, "Steepness.", required=True)

    @ma.validates_schema
    def _residual_is_below_saturation(self, curve: Mapping[str, Any], **_: Any) -> None:
        if "theta_r" in curve and "theta_s" in curve and curve["theta_r"] >= curve["theta_s"]:
            raise ma.ValidationError("It must be below theta_s.", "theta_r")


class PoresSchema(RequestSchema):
    """What holds the water of a medium."""

    substrate = TableId(
        substrate_id,
        listing="GET /v1/substrates",
        description="What the medium is made of.",
    )
    container_capacity = Number(
        0.05, 0.98, "Water held after drainage, as a share of the volume; as measured."
    )
    total_porosity = Number(0.1, 0.99, "Pore space, as a share of the volume.")
    water_content = Number(
        0.02,
        0.98,
        "Water in the medium when a pore-water sensor was read, as a share of the volume; "
        "container capacity if left out.",
    )

    retention = ma.fields.Nested(RetentionSchema)

    @ma.validates_schema
    def _water_fits_the_pores(self, medium: Mapping[str, Any], **_: Any) -> None:
        saturated = (medium.get("retention") or {}).get("theta_s")
        pores = medium.get("total_porosity", saturated)
        for name in ("container_capacity", "water_content"):
            held = medium.get(name)
            if held is not None and pores is not None and held > pores:
                raise ma.ValidationError(
                    "It must not be more than the total porosity, or theta_s of the curve.", name
                )


class MediumSchema(SolutionSchema, PoresSchema):
    """The medium: how it was extracted, what was read, and what holds the water."""

    extraction = Choice(
        method_codes(),
        "How the water was taken out; see GET /v1/extraction-methods.",
        labels=method_labels(),
    )
    ec = Quantity(EC, "Electrical conductivity of the extract.")
    micronutrients = ma.fields.Nested(MicronutrientsSchema)
    slow_release = Choice(slow_releases(), "What goes on giving off salt in the medium.")


def measured(medium: Mapping[str, Any]) -> bool:
    """Tell whether anything was measured in a medium."""
    figures = ("ec", "ph", "ions", "alkalinity", "hardness")
    elements = set(medium.get("micronutrients") or ()) - {"extract"}
    return bool(elements) or any(medium.get(figure) not in (None, {}) for figure in figures)


class MeasuredMediumSchema(MediumSchema):
    """A medium in which something was measured."""

    @ma.validates_schema
    def _something_was_measured(self, medium: Mapping[str, Any], **_: Any) -> None:
        if not measured(medium):
            raise ma.ValidationError("Give the EC, the ions, or both.", "ec")


class ContainerSchema(RequestSchema):
    """One kind of container, and how many of it there are."""

    name = ma.fields.String(
        validate=ma.validate.Length(1, 100), metadata={"description": "Any name for it."}
    )
    volume = Quantity(VOLUME, "Volume of medium in one container.", required=True)
    height = Quantity(LENGTH, "Height of the medium in it.")
    count = Count(1, 1_000_000, "How many there are.")
    drainage = Choice(DRAINAGE, "Whether water can leave at the bottom: open, or sealed.")
    top_diameter = Quantity(LENGTH, "Inner diameter at the top of the medium.")
    bottom_diameter = Quantity(LENGTH, "Inner diameter at the base.")
    head_space = Quantity(LENGTH, "Room between the medium and the rim; it bounds each pass.")
    moisture = Number(0.05, 1.0, "Water held now, over water held after drainage.")

    @ma.validates_schema
    def _both_diameters(self, container: Mapping[str, Any], **_: Any) -> None:
        if ("top_diameter" in container) != ("bottom_diameter" in container):
            missing = "bottom_diameter" if "top_diameter" in container else "top_diameter"
            raise ma.ValidationError("Give both diameters or neither.", missing)

    @ma.validates_schema
    def _diameters_fit_the_volume(self, container: Mapping[str, Any], **_: Any) -> None:
        sizes = [
            container.get(name) for name in ("top_diameter", "bottom_diameter", "height", "volume")
        ]
        if not all(isinstance(size, Measured) for size in sizes):
            return
        top, base, height, volume = (size.value for size in sizes if isinstance(size, Measured))
        litres = math.pi * height * (top**2 + top * base + base**2) / 12_000
        if not 1 / LOOSEST_FIT <= litres / volume <= LOOSEST_FIT:
            raise ma.ValidationError(
                f"These diameters and this height hold {litres:.3g} L, not {volume:.3g} L. "
                "Check the units.",
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
                f"No container of {volume.value:g} L is {height.value:g} cm high: it would be "
                f"{diameter:.2g} cm wide. Check the unit.",
                "height",
            )


class PlantingSchema(RequestSchema):
    """A crop at a stage."""

    crop = TableId(
        crop_id,
        listing="GET /v1/crops",
        description="Id, common or botanical name.",
        required=True,
    )
    stage = Choice(STAGES, "Age of the crop.")


def observation_list(description: str = "Signs that were seen.") -> BoundedList:
    """Return a field for signs."""
    return BoundedList(
        Choice(observations(), "A sign; see GET /v1/observations."),
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
            place: ["It is among the observations too; say which of the two holds."]
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
        signs = request.get("observations") or request.get("not_seen")
        if "medium" in request and not signs and not measured(request["medium"]):
            raise ma.ValidationError(
                {"medium": {"ec": ["Give the EC, the ions, the pH, or signs in 'observations'."]}}
            )


class AssessmentRequestSchema(JudgedMediumSchema):
    """A medium to assess; its EC and one container are enough for a first answer."""

    water = ma.fields.Nested(SolutionSchema)
    containers = BoundedList(
        ma.fields.Nested(ContainerSchema), validate=ma.validate.Length(max=100)
    )
    crops = BoundedList(ma.fields.Nested(PlantingSchema), validate=ma.validate.Length(max=100))
    target_ec = Quantity(
        TARGET_EC, "EC wanted after the flush, by the extraction method of the medium's reading."
    )
    leaching_efficiency = Number(
        0.05, 1.0, "Share of the draining water that takes salt along; as measured."
    )
    rest = Quantity(REST, "Rest between the passes of a flush.")
    evapotranspiration = Quantity(WATER_DEPTH_PER_DAY, "Water use of the crop.")
    irrigation = Quantity(WATER_DEPTH_PER_DAY, "Water given, over the area of the container.")
    feed_ec = Quantity(EC, "EC that feeding adds to the water, on the average of all waterings.")
    plant_age = Quantity(PLANT_AGE, "Time since sowing.")
    root_zone_temperature = Quantity(TEMPERATURE, "Mean temperature in the root zone.")
    thriving_crops = BoundedList(
        TableId(
            crop_id,
            listing="GET /v1/crops",
            description="A crop that thrives in the same medium under the same care.",
        ),
        validate=ma.validate.Length(max=20),
    )


class FlushPlanRequestSchema(RequestSchema):
    """A medium to flush."""

    medium = ma.fields.Nested(MeasuredMediumSchema, required=True)
    water = ma.fields.Nested(SolutionSchema)
    containers = BoundedList(
        ma.fields.Nested(ContainerSchema),
        required=True,
        validate=ma.validate.Length(min=1, max=100),
    )
    crops = BoundedList(ma.fields.Nested(PlantingSchema), validate=ma.validate.Length(max=100))
    target_ec = Quantity(
        TARGET_EC, "EC wanted after the flush, by the extraction method of the medium's reading."
    )
    leaching_efficiency = Number(
        0.05, 1.0, "Share of the draining water that takes salt along; as measured."
    )
    observations = observation_list()
    evapotranspiration = Quantity(WATER_DEPTH_PER_DAY, "Water use of the crop.")
    rest = Quantity(REST, "Rest between the passes of a flush.")


class SolutionsRequestSchema(RequestSchema):
    """The ions of a medium's extract, of a water, or of both, with what was measured beside."""

    medium = ma.fields.Nested(MeasuredMediumSchema)
    water = ma.fields.Nested(SolutionSchema)

    @ma.validates_schema
    def _one_of_both(self, request: Mapping[str, Any], **_: Any) -> None:
        if not request:
            raise ma.ValidationError("Give 'medium', 'water' or both.")


class LeachingRequirementRequestSchema(RequestSchema):
    """A water and the crops it is for."""

    water = ma.fields.Nested(SolutionSchema, required=True)
    crops = BoundedList(
        ma.fields.Nested(PlantingSchema), required=True, validate=ma.validate.Length(min=1, max=100)
    )


class ConversionRequestSchema(PoresSchema):
    """An EC by one extraction method, to be expressed by another."""

    extraction = Choice(
        method_codes(), "How the water was taken out.", labels=method_labels(), required=True
    )
    ec = Quantity(EC, "EC as read.", required=True)
    temperature = Quantity(TEMPERATURE, "Temperature of the reading.")
    to = Choice(
        method_codes(), "The method to express it by.", labels=method_labels(), required=True
    )
