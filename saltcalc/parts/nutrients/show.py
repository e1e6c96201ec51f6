"""Nutrients and pH against published ranges, and how long the nitrogen lasts."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from saltcalc.case.vocabulary import STAGES
from saltcalc.data.crop_ph import ANY_METHOD, OF_A_CROP
from saltcalc.data.crops import Crop
from saltcalc.data.extraction import extraction_methods
from saltcalc.data.nutrients import (
    CAT,
    CROP_GROWTH,
    DTPA,
    MICRONUTRIENTS,
    NO_RANGE,
    NUTRIENTS,
    NutrientRange,
    OwnRange,
    crop_growth,
    nitrogen_uptake,
    nutrient_ranges,
    salt_shares,
)
from saltcalc.message import Message, say
from saltcalc.parts.choices import METHODS
from saltcalc.parts.notes import Notes, Range
from saltcalc.parts.nutrients.arrays import STATUSES
from saltcalc.parts.nutrients.cat import is_mineral_nitrogen
from saltcalc.parts.nutrients.remedies import (
    Remedy,
    nutrients_at,
    shortage_is_unlikely,
    show_remedies,
)
from saltcalc.parts.nutrients.supply import growth_of, plants_in
from saltcalc.parts.shown import Amount, Text, how_known, note_of, part, row_of, shown, source_keys
from saltcalc.science._arrays import Codes
from saltcalc.science.nutrients import NutrientStatus, nutrient_status
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

RANGE_METHODS = (*METHODS, DTPA, CAT)

SEEDLING_MAX_AGE = 42.0
"""Age from which a plant is larger than the seedling that the weeks are counted for [days]."""

DIMENSIONLESS = "1"
_PLANTS = {
    "germination": {"seedling"},
    "seedling": {"seedling", "young"},
    "established": {"young", "potted", "bedding", "woody"},
}


@part
class OtherRange:
    """What another published range says of the same figure."""

    applies_to: Message = shown()
    method: str | None = shown(
        "The extract that it is for, where that is not the request's.",
        optional=True,
        choices=RANGE_METHODS,
    )
    range: Range = shown()
    status: str = shown(choices=STATUSES)
    provenance: str = how_known()
    sources: list[str] = source_keys()


@part
class Element:
    """One element, or pH, against its range."""

    nutrient: str = shown("The nutrient, or pH.", choices=NUTRIENTS)
    name: Message = shown()
    figure: Amount = shown("As reported; mg/L of the element, or pH; by CAT in a litre of medium.")
    status: str = shown(choices=STATUSES)
    status_range: list[str] = shown(
        "Statuses over the interval of the figure, where there are several.",
        optional=True,
        choices=STATUSES,
    )
    range: Range | None = shown("The range that governs.")
    range_method: str | None = shown(
        "The extract that the range is for, where that is not the request's.",
        optional=True,
        choices=RANGE_METHODS,
    )
    range_of: Message | None = shown(
        "Whose range it is, where that is not the general one.", optional=True
    )
    range_crop: str | None = shown("Id of the crop whose range it is.", optional=True)
    on_range_method: Amount = shown("The figure scaled to that extract.", optional=True)
    share_of_salts: float = shown(
        "Share of the total soluble salts, by mass, where it is out of its range.",
        DIMENSIONLESS,
        optional=True,
    )
    share_range: Range | None = shown("Usual share of the salts.", optional=True)
    share_status: str | None = shown(
        "Where its share of the salts lies against that range.", optional=True, choices=STATUSES
    )
    other_ranges: list[OtherRange] = shown(
        "Other published ranges, where the figure has another status by them.", optional=True
    )
    note: Message | str = shown("What to know of it; left out where it is in range.", optional=True)
    provenance: str = how_known()
    sources: list[str] = source_keys()


@part
class Nitrogen:
    """How long the nitrogen of a container lasts the plants in it."""

    container: str | None = shown()
    stage: str = shown(choices=STAGES)
    nitrogen_held: Interval = shown("Mineral nitrogen in the water one container holds.", "mg")
    weeks: Interval = shown(
        "Weeks that it lasts, roughly, if nothing is fed, leached or set free.", "week"
    )
    sentence: Text = shown("The same in words, once for containers alike.", optional=True)
    provenance: str = how_known()
    sources: list[str] = source_keys()


@part
class Nutrients:
    """Nutrient context."""

    elements: list[Element] = shown("Each nutrient, and pH, against its range.")
    nitrogen: list[Nitrogen] | None = shown(
        "How long the nitrogen of each container lasts the plants in it."
    )
    remedies: list[Remedy] = shown("What usually helps.")


def show_nutrients(assessment: Assessment, sample: int, notes: Notes) -> Nutrients | None:
    """Return the nutrients of a sample, or None where neither pH nor a nutrient was reported."""
    reported = np.flatnonzero(~np.isnan(assessment.nutrients.value[sample]))
    if not reported.size:
        notes.missing("nutrients", "/medium/ph", "/medium/ions")
        return None
    return Nutrients(
        elements=[_element(assessment, sample, int(place), notes) for place in reported],
        nitrogen=_nitrogen(assessment, sample, notes),
        remedies=list(show_remedies(assessment, sample, notes)),
    )


def _element(assessment: Assessment, sample: int, place: int, notes: Notes) -> Element:
    result, nutrient = assessment.nutrients, NUTRIENTS[place]
    method = extraction_methods()[assessment.batch.samples.extraction[sample]].id
    limits = int(result.limits[sample, place])
    governing = None if limits == NO_RANGE else result.ranges[limits]
    judged = row_of(row_of(result.judged, sample), place)
    statuses = (result.status_low, result.status, result.status_high)
    rule, share = salt_shares().get(nutrient), float(result.share[sample, place])
    rows = [governing] if governing else []
    rules = [rule] if rule and not math.isnan(share) else []
    share_status = int(result.share_status[sample, place])
    share_told = rule is not None and share_status != NutrientStatus.IN_RANGE
    by_cat = bool(result.by_cat[sample, place])
    methods = {CAT} if by_cat else {method, governing.method if governing else method}
    by_other = governing is not None and governing.method not in {method, ANY_METHOD}
    unit, governing_status = _unit(nutrient), STATUSES[result.status[sample, place]]
    several = list(dict.fromkeys(STATUSES[each[sample, place]] for each in statuses))
    crop = _crop_of_range(assessment, governing, sample)
    on_range_method = Amount(math.nan, unit)
    if by_other and not by_cat:
        on_range_method = Amount.of(judged, unit)
    plants = _plants_meant(assessment, sample) | ({"woody"} if governing is None else set())
    others = [
        other
        for other in _other_ranges(nutrient, methods, plants, own=isinstance(governing, OwnRange))
        if other is not governing
    ]
    ends = [(other.low, other.high) for other in others]
    of_others = nutrient_status(judged.value, *np.reshape(ends, (-1, 2)).T)
    return Element(
        nutrient=nutrient,
        name=_name(assessment, sample, nutrient),
        figure=Amount(float(result.value[sample, place]), unit),
        status=governing_status,
        status_range=several if len(several) > 1 else [],
        range=_range(governing) if governing else None,
        range_method=governing.method if governing and by_other else None,
        range_of=_range_of(governing, crop),
        range_crop=crop.id if crop else None,
        on_range_method=on_range_method,
        share_of_salts=share if share_told else math.nan,
        share_range=Range(rule.low, rule.high, DIMENSIONLESS) if rule and share_told else None,
        share_status=STATUSES[share_status] if share_told else None,
        other_ranges=[
            OtherRange(
                applies_to=_applies_to(other),
                method=None if other.method == method else other.method,
                range=_range(other),
                status=status,
                **notes.rest_on(other),
            )
            for other, code in zip(others, of_others, strict=True)
            for status in [STATUSES[code]]
            if status != governing_status
        ],
        note=_note(assessment, governing, governing_status, nutrient, sample),
        **notes.rest_on(*rows, *rules),
    )


def _name(assessment: Assessment, sample: int, nutrient: str) -> Message:
    if nutrient == "nitrate_n" and is_mineral_nitrogen(assessment, sample):
        return say("nutrients.mineral_n")
    return say(f"reported_ions.name.{nutrient}")


def _crop_of_range(
    assessment: Assessment, governing: NutrientRange | None, sample: int
) -> Crop | None:
    """Return the crop whose own range governs, or that of the group it is in."""
    if governing is None or governing.applies_to != OF_A_CROP:
        return None
    return assessment.crop_of(int(assessment.nutrients.ph_planting[sample]))


def _range_of(governing: NutrientRange | None, crop: Crop | None) -> Message | None:
    if isinstance(governing, OwnRange):
        return say("nutrients.own_range", source=governing.local_source.citation)
    if governing is not None and governing.method == CAT:
        return say("nutrients.guide_value_by_cat", plants=_applies_to(governing))
    return say("nutrients.range_of_crop", crop=crop.name) if crop else None


def _other_ranges(
    nutrient: str, methods: set[str], plants: set[str], *, own: bool
) -> Iterable[NutrientRange]:
    """Return what else is published, of like ranges of one source the first.

    Where a laboratory's own range governs, that is the published one too.
    """
    found: dict[Any, NutrientRange] = {}
    for other in nutrient_ranges():
        known = other.nutrient == nutrient and (own or not other.governing)
        if known and other.method in methods and other.plants in plants:
            found.setdefault((other.low, other.high, other.method, other.source), other)
    return found.values()


def _unit(nutrient: str) -> str:
    return "1" if nutrient == "ph" else "mg/L"


def _plants_meant(assessment: Assessment, sample: int) -> set[str]:
    """Return the kinds of plants whose ranges say something about this sample's crops."""
    rows = assessment.plantings_of(sample)
    stages = set(assessment.stage_names[rows]) or set(STAGES)
    return {"general"}.union(*(_PLANTS[stage] for stage in stages))


def _applies_to(limits: NutrientRange) -> Message:
    return say(f"nutrient_ranges.applies_to.{limits.applies_to}")


def _range(limits: NutrientRange) -> Range:
    return Range(limits.low, limits.high, _unit(limits.nutrient))


def _note(
    assessment: Assessment, governing: NutrientRange | None, status: str, nutrient: str, sample: int
) -> str | Message:
    if governing is None:
        return _why_not(assessment, nutrient, sample)
    return (
        "" if status == STATUSES[NutrientStatus.IN_RANGE] else note_of("nutrient_ranges", governing)
    )


def _why_not(assessment: Assessment, nutrient: str, sample: int) -> Message:
    if assessment.nutrients.by_cat[sample, NUTRIENTS.index(nutrient)]:
        of_both = nutrient in ("nitrate_n", "ammonium_n")
        return say(f"nutrients.{'for_both_forms' if of_both else 'no_range_for_this_extract'}")
    if assessment.mineral_soil[sample]:
        return say("nutrients.no_range_for_mineral_soil")
    method = extraction_methods()[assessment.batch.samples.extraction[sample]].id
    if any(each.method == method and each.feeding for each in nutrient_ranges()):
        return say("nutrients.depends_on_feeding")
    if nutrient in MICRONUTRIENTS:
        return say("nutrients.no_range_for_this_extract")
    return say("nutrients.no_range_and_no_scale")


def _nitrogen(assessment: Assessment, sample: int, notes: Notes) -> list[Nitrogen] | None:
    rows = assessment.containers_of(sample)
    if np.isnan(assessment.nutrients.nitrogen_held().value[rows]).all():
        missing = [] if rows else ["/containers"]
        forms = [NUTRIENTS.index(form) for form in ("nitrate_n", "ammonium_n")]
        if np.isnan(assessment.nutrients.value[sample, forms]).all():
            missing.append("/medium/ions/nitrate_n")
        notes.missing("nutrients/nitrogen", *missing)
        return None
    stages: Codes = np.unique(assessment.batch.plantings.stage[assessment.plantings_of(sample)])
    if not stages.size:
        stages = np.array([STAGES.index("seedling")])
    for stage in stages:
        _assume_uptake(assessment, sample, STAGES[stage], notes)
    told: list[Nitrogen] = []
    for row in rows:
        for stage in stages:
            each = _supply(assessment, row, int(stage), notes)
            alike = any(
                (one.stage, one.nitrogen_held, one.weeks)
                == (each.stage, each.nitrogen_held, each.weeks)
                for one in told
            )
            told.append(replace(each, sentence=()) if alike else each)
    return told


def _assume_uptake(assessment: Assessment, sample: int, stage: str, notes: Notes) -> None:
    """List the growth taken; of several crops its ends, and the middle in the middle of them."""
    rows = [row for row in assessment.plantings_of(sample) if assessment.stage_names[row] == stage]
    crops = [assessment.crop_ids[row] for row in rows] or [None]
    found = [growth_of(crop, stage, math.nan) for crop in crops]

    def middle(name: str) -> float:
        return math.exp(sum(math.log(each[name][1]) for each in found) / len(found))

    row = nitrogen_uptake()[stage]
    own = {
        figure.source for crop in crops for name in CROP_GROWTH
        if (figure := crop_growth().get((crop or "", name)))
    }  # fmt: skip
    notes.assume(
        f"nitrogen_uptake_{stage}",
        Amount(
            middle("growth"),
            "1/week",
            min(each["growth"][0] for each in found),
            max(each["growth"][2] for each in found),
        ),
        say(
            "assumption.nitrogen_uptake",
            stage=say(f"stage.{stage}"),
            dry_mass=middle("dry_mass"),
            doubling=math.log(2) / middle("growth"),
            tissue_n=middle("tissue_n"),
        ),
        "",
        *sorted((own or {row.source}) - {"common_practice"}),
        "common_practice",
    )


def _supply(assessment: Assessment, row: int, code: int, notes: Notes) -> Nitrogen:
    """Tell how long the nitrogen lasts at a stage, and where a plant does not get at it."""
    stage, sample = STAGES[code], int(assessment.batch.containers.sample[row])
    name = assessment.batch.containers.name[row]
    held = row_of(assessment.nutrients.nitrogen_held, row)
    weeks = row_of(assessment.nutrients.nitrogen_weeks[code], row)
    size = "large" if stage == "established" else "small"
    plants = int(plants_in(assessment)[row])
    few = float(f"{weeks.value:.{1 if weeks.value < 1 else 2}g}")
    sentences = [
        say(
            f"nutrients.supply_of_{size}_{'plants' if plants > 1 else 'plant'}",
            plants=plants,
            place=name or say("nutrients.the_container"),
            held=held.value,
            weeks=say("nutrients.weeks", count=few),
        )
    ]
    if assessment.batch.samples.plant_age[sample] > SEEDLING_MAX_AGE and size == "small":
        sentences.append(say("nutrients.larger_plants"))
    if "nitrate_n" in nutrients_at(assessment, NutrientStatus.LOW, sample):
        unlikely = shortage_is_unlikely(assessment, sample)
        sentences.append(say(f"nutrients.{'low_yet_no_reason' if unlikely else 'short_now'}"))
    return Nitrogen(
        container=name,
        stage=stage,
        nitrogen_held=held,
        weeks=weeks,
        sentence=tuple(sentences),
        **notes.rest_on(nitrogen_uptake()[stage]),
    )
