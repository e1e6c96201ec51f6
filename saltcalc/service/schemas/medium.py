"""A medium, a water and a container, as a request gives them."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, ClassVar

import marshmallow as ma

from saltcalc.case.batch import Containers, MediumSolutions, Samples, WaterSolutions
from saltcalc.case.cat import PH_ABOVE_CACL2, ph_taken
from saltcalc.case.nitrogen import form_is_open, mineral_nitrogen_exceeded
from saltcalc.case.vocabulary import MICRONUTRIENT_EXTRACTS
from saltcalc.data.nutrients import MICRONUTRIENTS
from saltcalc.data.reported_ions import other_forms, reported_ions
from saltcalc.message import say
from saltcalc.quantities import Measured, Told
from saltcalc.service.fields import Choice, Concentration, Number, Quantity
from saltcalc.service.inputs import takes
from saltcalc.service.schemas.basis import RequestSchema
from saltcalc.units import DISSOLVED_SOLIDS, element_kind
from saltcalc.words.catalogue import sentence
from saltcalc.words.figures import upper_first

MAX_VOLUME_RATIO = 1.3
"""Volume from the diameters over the volume given, either way, beyond which a unit slipped."""

MAX_ASPECT_RATIO = 50.0
"""Height over diameter beyond which no container is meant."""

DEEPEST_CELL = 40.0
"""Depth [cm] of the deepest cells of trays, those for tree seedlings, with room (judgement)."""


def _name(ion: str) -> str:
    return upper_first(sentence(f"reported_ions.name.{ion}"))


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


_OF_CAT: dict[str, ma.fields.Field[Any]] = {
    "mineral_n": Concentration("nitrate_n", "Nitrate and ammonium nitrogen together, as N."),
    "nitrate_n": Concentration("nitrate_n", "Nitrate nitrogen, as N."),
    "ammonium_n": Concentration("ammonium_n", "Ammonium nitrogen, as N."),
    "phosphorus": _OfElement("phosphorus", "P2O5"),
    "potassium": _OfElement("potassium", "K2O"),
    "magnesium": Concentration("magnesium", "Magnesium, as Mg."),
    "salts": Quantity(
        DISSOLVED_SOLIDS,
        "All salts together, reckoned as potassium chloride (KCl): the salt content that is "
        "reported beside CAT.",
    ),
    **{
        element: Quantity(element_kind(element), f"{element.capitalize()}.")
        for element in MICRONUTRIENTS
    },
}

_OfCatSchema = RequestSchema.from_dict(_OF_CAT, name="OfCatSchema")


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
    """The irrigation water: what a meter and a laboratory say of it."""

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
    def _say_how_ph_and_nitrogen_are_taken(
        self, medium: dict[str, Any], **_: Any
    ) -> dict[str, Any]:
        read: dict[str, Any] = {}
        if (taken := ph_taken(medium)) is not medium:
            told = {"ph": taken["ph"], "error": taken["ph_error"], "above": PH_ABOVE_CACL2}
            read["ph_in_cacl2"] = Told(medium["ph_in_cacl2"], say("unit.ph_in_cacl2", **told))
        if form_is_open(medium):
            as_nitrate = say("unit.mineral_n_as_nitrate")
            read["mineral_n"] = replace(medium["mineral_n"], reading=as_nitrate)
        return medium | read


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


def tray_overfilled(means: Mapping[str, Any], container: Mapping[str, Any]) -> float | None:
    """Return the most that a cell can hold where the cells told do not fit on their tray.

    Parameters
    ----------
    means : mapping
        What the water is poured with, as loaded.
    container : mapping
        One kind of container, as loaded.

    Returns
    -------
    float or None
        Volume of the tray over the number of its cells [L]: by the height that was told, else by
        that of the deepest cells.
    """
    cells, height = means.get("cells_per_tray"), container.get("height")
    sizes = (means.get("tray_length"), means.get("tray_width"), container.get("volume"))
    known = [each.value for each in sizes if isinstance(each, Measured)]
    if means.get("by") != "boom" or not cells or len(known) < len(sizes):
        return None
    length, width, volume = known
    depth = height.value if isinstance(height, Measured) else DEEPEST_CELL
    most = length * width * depth / 1000.0 / cells
    return most if volume > MAX_VOLUME_RATIO * most else None


def frustum(top: float, base: float, height: float) -> float:
    """Return the volume [L] of a round container by its inner diameters and its height [cm]."""
    return math.pi * height * (top**2 + top * base + base**2) / 12_000


@takes(Containers)
class ContainerSchema(RequestSchema):
    """One kind of container, and how many of it there are."""

    alone = "volume"
    also: ClassVar[Mapping[str, str]] = {
        "pot": "volume",
        "pot_size": "volume",
        "moisture": "relative_water_content",
    }

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
        if not 1 / MAX_VOLUME_RATIO <= litres / volume <= MAX_VOLUME_RATIO:
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
        if height.value > MAX_ASPECT_RATIO * diameter:
            raise ma.ValidationError(
                sentence(
                    "problem.too_slender",
                    volume=volume.value,
                    height=height.value,
                    diameter=diameter,
                ),
                "height",
            )
