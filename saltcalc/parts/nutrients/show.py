"""Nutrients and pH against published ranges, and how long the nitrogen lasts."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.vocabulary import STAGES
from saltcalc.data.extraction import MEDIUM_KINDS, extraction_methods
from saltcalc.data.nutrients import (
    MICRONUTRIENTS,
    NUTRIENTS,
    NutrientRange,
    nitrogen_uptake,
    nutrient_ranges,
    salt_shares,
)
from saltcalc.message import Message, say
from saltcalc.parts.notes import Notes, Range
from saltcalc.parts.nutrients.arrays import NO_RANGE, STATUSES
from saltcalc.parts.nutrients.remedies import (
    Remedy,
    nutrients_at,
    shortage_is_unlikely,
    show_remedies,
)
from saltcalc.parts.shown import Amount, Text, note_of, part, row_of, shown, source_keys
from saltcalc.science._arrays import Codes
from saltcalc.science.nutrients import NutrientStatus, nutrient_status
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

SEEDLING_MAX_AGE = 42.0
"""Age from which a plant is larger than the seedling that the weeks are counted for [days]."""

_STATUS = "low, in range, high, or cannot tell."
_SHARE_UNIT = "1"
_PLANTS = {
    "germination": {"seedling"},
    "seedling": {"seedling", "young"},
    "established": {"young", "potted", "bedding", "woody"},
}


@part
class OtherRange:
    """What another published range says of the same figure."""

    applies_to: Message = shown()
    method: str = shown()
    range: Range = shown()
    status: str = shown(_STATUS)
    sources: list[str] = source_keys()


@part
class Element:
    """One element, or pH, against its range."""

    nutrient: str = shown()
    name: Message = shown()
    value: Amount = shown("As reported; mg/L of the element, or pH.")
    status: str = shown(_STATUS)
    status_range: list[str] = shown("Statuses over the interval of the figure.")
    range: Range | None = shown("The range that governs.")
    range_method: str | None = shown("The extract that the range is for.")
    on_range_method: Amount = shown("The figure scaled to that extract, where it is another one.")
    share_of_salts: float = shown("Share of the total soluble salts, by mass.", _SHARE_UNIT)
    share_range: Range | None = shown()
    share_status: str | None = shown(_STATUS)
    other_ranges: list[OtherRange] = shown()
    note: Message | str = shown()
    sources: list[str] = source_keys()


@part
class Nitrogen:
    """How long the nitrogen of a container lasts one plant."""

    container: str | None = shown()
    stage: str = shown()
    nitrogen_held: Interval = shown("Mineral nitrogen in the water one container holds.", "mg")
    weeks: Interval = shown("A rough count; nothing fed, leached or set free.", "week")
    sentence: Text = shown("What the weeks count, and do not.")
    sources: list[str] = source_keys()


@part
class Nutrients:
    """Nutrient context."""

    elements: list[Element] = shown()
    nitrogen: list[Nitrogen] | None = shown()
    remedies: list[Remedy] = shown()


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
    governing = None if limits == NO_RANGE else nutrient_ranges()[limits]
    judged = row_of(row_of(result.judged, sample), place)
    statuses = (result.status_low, result.status, result.status_high)
    rule, share = salt_shares().get(nutrient), float(result.share[sample, place])
    sources = [governing.source] if governing else []
    if rule and not math.isnan(share):
        sources.append(rule.source)
    methods = {method, governing.method if governing else method}
    unit = _unit(nutrient)
    on_range_method = Amount(math.nan, unit)
    if governing and governing.method != method:
        on_range_method = Amount(judged.value, unit, judged.low, judged.high)
    return Element(
        nutrient=nutrient,
        name=say(f"reported_ions.name.{nutrient}"),
        value=Amount(float(result.value[sample, place]), unit),
        status=STATUSES[result.status[sample, place]],
        status_range=list(dict.fromkeys(STATUSES[each[sample, place]] for each in statuses)),
        range=_range(governing) if governing else None,
        range_method=governing.method if governing else None,
        on_range_method=on_range_method,
        share_of_salts=share,
        share_range=Range(rule.low, rule.high, _SHARE_UNIT) if rule else None,
        share_status=STATUSES[result.share_status[sample, place]] if rule else None,
        other_ranges=[
            OtherRange(
                applies_to=say(f"nutrient_ranges.applies_to.{other.applies_to}"),
                method=other.method,
                range=_range(other),
                status=STATUSES[int(nutrient_status(judged.value, other.low, other.high))],
                sources=notes.cite(other.source),
            )
            for other in nutrient_ranges()
            if other.nutrient == nutrient
            and not other.governing
            and other.method in methods
            and other.plants in _plants_meant(assessment, sample)
        ],
        note=note_of("nutrient_ranges", governing)
        if governing
        else _why_not(assessment, nutrient, sample),
        sources=notes.cite(*sources),
    )


def _unit(nutrient: str) -> str:
    return "1" if nutrient == "ph" else "mg/L"


def _plants_meant(assessment: Assessment, sample: int) -> set[str]:
    """Return the kinds of plants whose ranges say something about this sample's crops."""
    rows = assessment.plantings_of(sample)
    stages = set(assessment.stage_names[rows]) or set(STAGES)
    return {"general"}.union(*(_PLANTS[stage] for stage in stages))


def _range(limits: NutrientRange) -> Range:
    return Range(limits.low, limits.high, _unit(limits.nutrient))


def _why_not(assessment: Assessment, nutrient: str, sample: int) -> Message:
    if assessment.salinity.medium_kind[sample] != MEDIUM_KINDS.index("soilless"):
        return say("nutrients.no_range_for_mineral_soil")
    if nutrient in MICRONUTRIENTS:
        return say("nutrients.no_range_for_this_extract")
    return say("nutrients.no_range_and_no_scale")


def _nitrogen(assessment: Assessment, sample: int, notes: Notes) -> list[Nitrogen] | None:
    rows = assessment.containers_of(sample)
    if np.isnan(assessment.nutrients.nitrogen_held.value[rows]).all():
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
        _assume_uptake(STAGES[stage], notes)
    return [_supply(assessment, row, int(stage), notes) for row in rows for stage in stages]


def _assume_uptake(stage: str, notes: Notes) -> None:
    row = nitrogen_uptake()[stage]
    notes.assume(
        f"nitrogen_uptake_{stage}",
        Amount(row.growth, "1/week", row.growth_low, row.growth_high),
        say(
            "assumption.nitrogen_uptake",
            stage=stage,
            dry_mass=row.dry_mass,
            doubling=math.log(2) / row.growth,
            tissue_n=row.tissue_n,
        ),
        "",
        row.source,
        "common_practice",
    )


def _supply(assessment: Assessment, row: int, code: int, notes: Notes) -> Nitrogen:
    """Tell how long the nitrogen lasts at a stage, and where a plant does not get at it."""
    stage, sample = STAGES[code], int(assessment.batch.containers.sample[row])
    name = assessment.batch.containers.name[row]
    held = row_of(assessment.nutrients.nitrogen_held, row)
    weeks = row_of(row_of(assessment.nutrients.nitrogen_weeks, row), code)
    size = "large" if stage == "established" else "small"
    sentences = [
        say(
            f"nutrients.supply_of_{size}_plant",
            place=name or say("nutrients.the_container"),
            held=held.value,
            weeks=say("nutrients.weeks", count=_few_digits(weeks.value)),
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
        sources=notes.cite(nitrogen_uptake()[stage].source),
    )


def _few_digits(weeks: float) -> float:
    return float(f"{weeks:.{1 if weeks < 1 else 2}g}")
