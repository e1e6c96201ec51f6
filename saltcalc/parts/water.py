"""The irrigation water as a source of salt, against the crops it is for."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from saltcalc.case.defaults import rows_filled
from saltcalc.case.vocabulary import STAGES
from saltcalc.data.water_classes import class_scales
from saltcalc.message import Message, say
from saltcalc.parts.choices import EC_BASES, names_of
from saltcalc.parts.notes import Notes, Range
from saltcalc.parts.shown import (
    Amount,
    Column,
    Series,
    how_known,
    part,
    row_of,
    shown,
    shows,
    source_keys,
)
from saltcalc.science._arrays import Flags, Floats
from saltcalc.science.alkalinity import (
    PER_MMOLC,
    carbonate_fractions,
    carbonate_hardness,
    from_mmolc,
    hardness,
)
from saltcalc.science.blend import blend_share
from saltcalc.science.water_classes import NO_CLASS, classify

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

RAIN_EC = 0.05
"""EC of rain water from a roof and a tank [dS/m]."""

COMFORT = 0.5
"""Share of the highest EC at which a water leaves room: half of it then drains at the limit."""

OF_EC = ("fao29", "ecw")
"""The scale by which the EC of a water is judged."""

CARBONATE_FORMS = ("carbon_dioxide", "bicarbonate", "carbonate")

_OF_HARDNESS = tuple(form for form in PER_MMOLC if form != "mg/L HCO3")
_OF_CARBONATE_HARDNESS = ("mmol_c/L", "mg/L CaCO3", "°dH")


@part
class CropWater:
    """The water against each planting, one row a planting; NaN where it cannot be told.

    Attributes
    ----------
    ec : (k,) ndarray
        Of the irrigation water [dS/m].
    above : dict of str to (k,) ndarray of bool
        Where an ion of the water is by itself at what the crop tolerates, or above.
    """

    crop: str = shown()
    stage: str = shown(choices=STAGES)
    highest_ec: Column = shown(
        "Saltiest water that can bring the medium to the crop's limit.", "dS/m"
    )
    ec: Floats
    above: dict[str, Flags]

    @property
    @shows("Whether the water is saltier than that.")
    def exceeds(self) -> bool | None:
        """Whether the water is too salty; None where it cannot be told."""
        known = math.isfinite(self.ec) and math.isfinite(self.highest_ec)
        return bool(self.ec > self.highest_ec) if known else None

    @property
    @shows(
        "Ions of the water that are by themselves above what the crop tolerates.",
        choices=("chloride", "boron"),
        optional=True,
    )
    def ions_above(self) -> list[str]:
        """Ids of the ions that alone are too much."""
        return [ion for ion, above in self.above.items() if above]

    least_rain: Column = shown("Share of rain water in a blend that just meets it.", "1")
    comfortable_rain: Column = shown("Share of rain water in a blend of half that EC.", "1")


@part
class CarbonateForms:
    """The forms of dissolved carbonate."""

    of_forms: list[str] = shown("The forms of dissolved carbonate.", choices=CARBONATE_FORMS)
    of_carbonate: Series = shown("Share of the dissolved carbonate at the water's pH.")


@part
class IrrigationWater:
    """The irrigation water as a source of salt."""

    ec_25c: float = shown("EC at 25 °C.", "dS/m")
    basis: str | None = shown(
        "estimated: from all the ions; floor: the least that they allow.", choices=EC_BASES
    )
    class_: str | None = shown(
        "Degree of restriction on use by EC (FAO 29).", choices=names_of(OF_EC)
    )
    class_range: Range = shown()
    alkalinity: list[Amount] = shown("In every unit in use.")
    alkalinity_limit: float = shown(
        "Most alkalinity, as CaCO3, that is usual for containers as small as the smallest; left "
        "out without one, and of mineral soil.",
        "mg/L",
        optional=True,
    )
    hardness: list[Amount] = shown("In every unit in use.")
    carbonate_hardness: list[Amount] = shown(
        "The part that bicarbonate balances, in the usual forms."
    )
    carbonate_forms: CarbonateForms | None = shown(
        "How carbonate is divided at the pH; left out without one.", optional=True
    )
    crops: list[CropWater] = shown("The water against each planting.")
    provenance: str = how_known()
    sources: list[str] = source_keys()


def assess_water(assessment: Assessment) -> CropWater:
    """Hold the irrigation water of each sample against its plantings."""
    sample, excess = assessment.batch.plantings.sample, assessment.ions_excess
    pore_over_extract = assessment.sample_water.pore_over_extract
    limit = assessment.crops.max_tolerated_ec * pore_over_extract[sample]
    ec = assessment.water_ec[sample]
    return CropWater(
        crop=assessment.crop_ids,
        stage=assessment.stage_names,
        highest_ec=limit,
        ec=ec,
        above={"chloride": excess.chloride.water_exceeds, "boron": excess.boron.water_exceeds},
        least_rain=1 - blend_share(ec, RAIN_EC, limit),
        comfortable_rain=1 - blend_share(ec, RAIN_EC, COMFORT * limit),
    )


def show_water(assessment: Assessment, sample: int, notes: Notes) -> IrrigationWater | None:
    """Return what a sample's irrigation water brings, or None where nothing of it was given."""
    ions = assessment.batch.samples.water.ions
    alkalinity = float(ions["bicarbonate"][sample])
    calcium, magnesium = float(ions["calcium"][sample]), float(ions["magnesium"][sample])
    known = bool(assessment.water_is_known[sample])
    if not known and math.isnan(alkalinity) and math.isnan(calcium + magnesium):
        notes.missing("water", "/water/ec", "/water/ions")
        return None
    ec = float(assessment.water_ec[sample])
    scale = class_scales()[OF_EC]
    code = int(classify(ec, scale))
    bases = [
        which
        for which, filled in (
            ("lower_bound", "water_ec_lower_bound"),
            ("estimated", "water_ec_of_ions"),
        )
        if rows_filled(assessment.defaults, filled)[sample]
    ]
    limit = assessment.alkaline_water.limit_of(sample)
    return IrrigationWater(
        ec_25c=ec,
        basis=[*bases, "measured"][0] if known else None,
        class_=None if code == NO_CLASS else scale.names[code],
        class_range=Range(*((None, None) if code == NO_CLASS else scale.range_of(code)), "dS/m"),
        alkalinity=_forms(alkalinity, *PER_MMOLC),
        alkalinity_limit=limit.most if limit and not math.isnan(alkalinity) else math.nan,
        hardness=_forms(float(hardness(calcium, magnesium)), *_OF_HARDNESS),
        carbonate_hardness=_forms(
            float(carbonate_hardness(calcium, magnesium, alkalinity)), *_OF_CARBONATE_HARDNESS
        ),
        carbonate_forms=_carbonate_forms(float(assessment.batch.samples.water.ph[sample])),
        crops=_crops(assessment, sample, notes),
        **notes.rest_on(scale, also=("standard_methods", "judgement")),
    )


def _forms(amount: float, *forms: str) -> list[Amount]:
    """Return a sum of charge in the forms that laboratories give it in."""
    if math.isnan(amount):
        return []
    return [Amount(float(from_mmolc(amount, form)), form) for form in forms]


def _carbonate_forms(ph: float) -> CarbonateForms | None:
    """Return how dissolved carbonate is divided at a pH."""
    if math.isnan(ph):
        return None
    shares = [float(share) for share in carbonate_fractions(ph)]
    return CarbonateForms(list(CARBONATE_FORMS), Series(shares, "1"))


def _crops(assessment: Assessment, sample: int, notes: Notes) -> list[CropWater]:
    rows = assessment.plantings_of(sample)
    if rows and not math.isnan(assessment.water_ec[sample]):
        assume_rain(notes)
    for row in rows:
        _find(assessment, row, notes)
    return [row_of(assessment.water, row) for row in rows]


def assume_rain(notes: Notes) -> None:
    """List what rain water is taken to hold."""
    notes.assume("rain_ec", Amount(RAIN_EC, "dS/m"), say("assumption.rain_ec"), "", "judgement")


def _find(assessment: Assessment, row: int, notes: Notes) -> None:
    """Say where the water, or an ion of it, is by itself too much for a crop."""
    crop, excess = row_of(assessment.water, row), assessment.ions_excess
    name = assessment.crop_of(row).name
    if crop.exceeds:
        notes.find(
            "water_exceeds_crop",
            "stop",
            "/water/ec",
            ec=crop.ec,
            crop=name,
            limit=crop.highest_ec,
            blend=say_blend(crop),
        )
    for ion, unit, found in (
        ("chloride", "mmol/L", excess.chloride),
        ("boron", "mg/L", excess.boron),
    ):
        if found.water_exceeds[row]:
            notes.find(
                "water_ion_exceeds_crop",
                "stop",
                f"/water/ions/{ion}",
                ion=say(f"reported_ions.name.{ion}"),
                crop=name,
                found=float(found.in_water[row]),
                limit=float(found.limit[row]),
                unit=unit,
            )


def say_blend(crop: CropWater) -> Message:
    """Say how much rain water a water takes to be no more than a crop stands."""
    if math.isnan(crop.least_rain):
        return say("water.no_rain_helps")
    if math.isnan(crop.comfortable_rain):
        return say("water.rain_at_least", least=crop.least_rain)
    return say("water.rain", least=crop.least_rain, better=crop.comfortable_rain)
