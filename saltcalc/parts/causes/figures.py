"""The figures that evidence on causes looks at, taken from an assessed batch.

Concentrations are brought to the saturated extract by the same ratio as the EC. Where the EC is
only a floor, computed from the ions, it is a lower bound. Defaults that say nothing of the very
medium in hand, such as the middle of the ranges of substrates, give no evidence.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from saltcalc.case.batch import NOT_GIVEN
from saltcalc.case.vocabulary import DRAINAGE
from saltcalc.data.causes import diagnostic_measures, evidence_rules
from saltcalc.data.crop_ph import (
    ACID_LOVING,
    IRON_EFFICIENT,
    IRON_INEFFICIENT,
    ph_group,
)
from saltcalc.data.crops import soil_temperatures
from saltcalc.data.extraction import extraction_methods
from saltcalc.data.nutrients import NUTRIENTS, comparable_with_reference
from saltcalc.data.observations import observations
from saltcalc.data.reported_ions import reported_ions
from saltcalc.data.substrates import substrates
from saltcalc.parts.causes.crop_figures import (
    Bounds,
    contrast,
    crop_response,
    ec_bounds,
    exactly,
    stage_ratio,
)
from saltcalc.parts.causes.in_field import is_without_pots
from saltcalc.parts.causes.weighing import CauseFindings, weigh_causes
from saltcalc.parts.plantings import ANOTHER_THRIVES, NO_CROP, harmed_first, of_planting
from saltcalc.parts.salinity import SalinityArrays
from saltcalc.science._arrays import Codes, Flags, Floats
from saltcalc.science.alkalinity import PER_MMOLC
from saltcalc.science.ammonia import free_ammonia_share
from saltcalc.science.nutrients import salt_share
from saltcalc.science.sodicity import exchangeable_sodium_percentage
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

MOST_CHARGE_PER_EC = 12.0
"""Charge of one ion that a solution can hold at most [mmol_c/L per dS/m]: sodium bicarbonate, the
pair of common ions that conducts least, gives 0.085 to 0.094 dS/m for each mmol_c/L."""

_IN_QUESTION = "_in_question"
"""How measures end that tell whether a nutrient may be short."""

SOLUTION_TEMPERATURE = (15.0, 25.0)
"""What a root zone of unknown temperature is taken to have [°C] where ammonia is reckoned."""

UNSURE_AIR = 1.5
"""How much more air there may be than is reckoned of a kind of medium in a container of a height
that nobody told, and where nothing was seen (judgement)."""


@dataclass(frozen=True)
class CauseArrays:
    """The causes weighed, and whose stall they are held against.

    Attributes
    ----------
    findings : CauseFindings
        One row a sample.
    stalled : (n,) ndarray of int
        The planting that tolerates its medium least, or `NO_CROP`.
    thriving : (n,) ndarray of int
        Code of the thriving crop that salts would touch first, or `NO_CROP`.
    thriving_inferred : (n,) ndarray of bool
        Whether it was not named but taken to be the planting that tolerates its medium best.
    """

    findings: CauseFindings
    stalled: Codes
    thriving: Codes
    thriving_inferred: Flags


def assess_causes(assessment: Assessment) -> CauseArrays:
    """Weigh the causes of stalled seedlings for each sample of a batch."""
    samples = assessment.batch.samples
    stalled, thriving, inferred = assessment.reference_plantings
    signs = _reported(samples.observations)
    named = np.bincount(assessment.batch.thriving.sample, minlength=samples.count) > 0
    signs[ANOTHER_THRIVES] = signs.get(ANOTHER_THRIVES, False) | named
    esp_limit = _esp_limit(assessment)
    gypsum, sar = assessment.medium_ions.gypsum_saturated, assessment.medium_sodicity.of_extract
    findings = weigh_causes(
        {
            "ec_extract": ec_bounds(assessment),
            "ph": (samples.medium.ph - samples.ph_error, samples.medium.ph + samples.ph_error),
            **(ions := _ions(assessment)),
            **(ranges := _against_ranges(assessment)),
            **_in_question(ranges, samples.observations),
            **_of_the_crop(assessment, ions),
            **_of_the_water(assessment),
            **_free_ammonia(assessment),
            **crop_response(assessment, stalled, thriving),
            **(held := contrast(assessment, stalled, thriving)),
            "nitrate_n_left_to_low": _left(
                ranges["nitrate_n_to_low"], held["ec_to_least_crop_limit"]
            ),
            "ec_to_stage_limit": stage_ratio(assessment, stalled),
            **_medium_and_container(assessment),
            **_root_zone_temperature(assessment, stalled),
            "sar": (sar.low, sar.high),
            "esp_to_crop_limit": (
                exchangeable_sodium_percentage(sar.low) / esp_limit,
                exchangeable_sodium_percentage(sar.high) / esp_limit,
            ),
            "gypsum_saturated": exactly(np.where(gypsum, 1.0, np.nan)),
            "plant_age": exactly(samples.plant_age),
        },
        signs,
        samples.count,
        not_seen=_reported(samples.not_seen),
        mineral=assessment.mineral_soil,
        without_pots=is_without_pots(assessment),
    )
    return CauseArrays(findings, stalled, thriving, inferred)


def _reported(flags: Flags) -> dict[str, Flags]:
    """Return the signs that are reported of any sample, of flags in the order of their table."""
    signs = tuple(observations())
    return {signs[place]: flags[:, place] for place in np.flatnonzero(flags.any(axis=0))}


def _times(value: Floats, ratio: Bounds) -> Bounds:
    return value * ratio[0], value * ratio[1]


def _per_reading(interval: Interval, salinity: SalinityArrays) -> Bounds:
    """Give an EC on another basis over the reading itself; NaN where that is zero."""
    reading = np.where(salinity.ec_25c > 0, salinity.ec_25c, np.nan)
    return interval.low / reading, interval.high / reading


def _ions(assessment: Assessment) -> dict[str, Bounds]:
    batch, salinity = assessment.batch, assessment.salinity
    medium, limits = batch.samples.medium, assessment.crops.limits
    to_extract = _per_reading(salinity.saturated_extract, salinity)
    figures: dict[str, Bounds] = {}
    mass: dict[str, Floats] = {}
    for ion, facts in reported_ions().items():
        mass[ion] = medium.ions[ion] * facts.mass_per_charge
        if ion in diagnostic_measures():
            figures[ion] = _to_extract(ion, mass[ion], to_extract, batch.samples.extraction)
    most = np.where(
        assessment.ec_is_lower_bound, np.nan, MOST_CHARGE_PER_EC * salinity.saturated_extract.high
    )
    for ion in ("nitrate_n", "ammonium_n", "sodium", "chloride"):
        low, high = figures[ion]
        ceiling = np.where(np.isnan(mass[ion]), most * reported_ions()[ion].molar_mass, high)
        figures[ion] = low, ceiling

    with np.errstate(divide="ignore", invalid="ignore"):
        nitrate, ammonium = mass["nitrate_n"], mass["ammonium_n"]
        figures |= {
            "nitrate_share_of_mineral_n": exactly(_finite(100 * nitrate / (nitrate + ammonium))),
            "potassium_to_magnesium": exactly(_finite(mass["potassium"] / mass["magnesium"])),
            "calcium_to_magnesium": exactly(_finite(mass["calcium"] / mass["magnesium"])),
        }
    shares = salt_share([mass["sodium"], mass["chloride"]], assessment.ec_of_salts)
    for ion, share in zip(("sodium", "chloride"), shares, strict=True):
        known = np.where(assessment.ec_is_lower_bound, np.nan, share)
        figures[f"{ion}_share_of_salts"] = exactly(100 * known)

    chloride = _times(medium.ions["chloride"], to_extract)
    boron = _times(mass["boron"], _per_reading(salinity.pore_water, salinity))
    for ion, amount, borne, harming in (
        ("chloride", chloride, limits.chloride_low, limits.chloride_high),
        ("boron", boron, limits.boron_low, limits.boron_high),
    ):
        harmed = harmed_first(assessment, borne)
        figures[f"{ion}_to_crop_limit"] = _over(
            amount, of_planting(borne, harmed), of_planting(harming, harmed)
        )
    return figures


def _esp_limit(assessment: Assessment) -> Floats:
    """Return the limit of exchangeable sodium [%] of the crop that it harms first."""
    limit = np.asarray(assessment.crops.limits.esp_limit, dtype=np.float64)
    return of_planting(limit, harmed_first(assessment, limit, np.finfo(np.float64).max))


def _against_ranges(assessment: Assessment) -> dict[str, Bounds]:
    """Hold the nutrients against the ends of the ranges that govern, and the pH by its distance."""
    nutrients, ranged = assessment.nutrients, _ranged()
    low, high = nutrients.judged.low[:, ranged.places], nutrients.judged.high[:, ranged.places]
    ends = np.where(
        ranged.is_low, nutrients.low[:, ranged.places], nutrients.high[:, ranged.places]
    )
    limit = np.where(ends > 0, ends, np.nan)
    bounds = zip((low / limit).T, (high / limit).T, strict=True)
    figures: dict[str, Bounds] = dict(zip(ranged.measures, bounds, strict=True))
    ph = NUTRIENTS.index("ph")
    low, high = nutrients.judged.low[:, ph], nutrients.judged.high[:, ph]
    least, most = nutrients.low[:, ph], nutrients.high[:, ph]
    for measure, end in ranged.of_ph.items():
        below = end == "low"
        figures[measure] = (least - high, least - low) if below else (low - most, high - most)
    sulfur = NUTRIENTS.index("sulfate_s")
    figures["sulfate_s"] = nutrients.judged.low[:, sulfur], nutrients.judged.high[:, sulfur]
    nitrate, ammonium = (NUTRIENTS.index(form) for form in ("nitrate_n", "ammonium_n"))
    wanted = np.where(nutrients.by_cat[:, nitrate], np.nan, nutrients.low[:, nitrate])
    figures["mineral_n_to_low"] = (
        (nutrients.judged.low[:, nitrate] + nutrients.judged.low[:, ammonium]) / wanted,
        (nutrients.judged.high[:, nitrate] + nutrients.judged.high[:, ammonium]) / wanted,
    )
    return figures


class _Ranged(NamedTuple):
    """The measures that hold a nutrient against an end of its range."""

    measures: tuple[str, ...]
    places: Codes
    """Of their nutrients."""
    is_low: Flags
    """Whether the end is the low one."""
    of_ph: Mapping[str, str]
    """Those of the pH, each with its end."""


@cache
def _ranged() -> _Ranged:
    every = [each for each in diagnostic_measures().values() if each.nutrient]
    others = [each for each in every if each.nutrient != "ph"]
    return _Ranged(
        tuple(each.id for each in others),
        np.array([NUTRIENTS.index(each.nutrient) for each in others]),
        np.array([each.end == "low" for each in others]),
        {each.id: each.end for each in every if each.nutrient == "ph"},
    )


def _in_question(ranges: Mapping[str, Bounds], seen: Flags) -> dict[str, Bounds]:
    """Tell which nutrients may be short: below their range, or with a leaf sign of it."""
    found, with_a_sign = {}, seen @ _speak_for_shortages()
    for nutrient, signed in zip(_signs_of_shortage(), with_a_sign.T, strict=True):
        to_low = ranges.get(f"{nutrient}_to_low")
        asked = signed if to_low is None else signed | (to_low[0] < 1.0)
        found[f"{nutrient}{_IN_QUESTION}"] = exactly(asked)
    return found


@cache
def _speak_for_shortages() -> Flags:
    """Whether each sign speaks for a shortage of each nutrient, shape (signs, nutrients)."""
    by_nutrient = _signs_of_shortage().values()
    return np.array([[sign in signs for signs in by_nutrient] for sign in observations()])


@cache
def _signs_of_shortage() -> dict[str, tuple[str, ...]]:
    """Signs of leaf and stem that speak for a shortage of each nutrient that is asked for."""
    return {
        nutrient: tuple(
            sign
            for sign in _signs_for(f"{nutrient}_shortage")
            if observations()[sign].place in {"leaf", "stem"}
        )
        for name in diagnostic_measures()
        if (nutrient := name.removesuffix(_IN_QUESTION)) != name
    }


@cache
def _signs_for(cause: str) -> frozenset[str]:
    """Return the signs that evidence for a cause looks at."""
    return frozenset(
        each.observation
        for rule in evidence_rules().values()
        if rule.cause == cause and rule.direction == "for"
        for each in rule.conditions
        if each.observation
    )


def _of_the_crop(assessment: Assessment, ions: dict[str, Bounds]) -> dict[str, Bounds]:
    """Tell to which groups the crop belongs by whose range the pH is judged, and what is its own.

    Within its own limit no limit for greenhouse crops in general speaks against a crop. Of several
    each has to have one.
    """
    groups = np.array(
        [
            "" if row == NO_CROP else ph_group(assessment.crop_ids[row])
            for row in assessment.nutrients.ph_planting
        ]
    )
    limits = assessment.crops.limits
    stood, *own = (
        of_planting(each, harmed_first(assessment, each, -np.inf))
        for each in (limits.ammonium_stood, limits.chloride_low, limits.boron_low)
    )
    chloride, boron = (~np.isnan(each) for each in own)
    told = {group: groups == group for group in (IRON_EFFICIENT, IRON_INEFFICIENT, ACID_LOVING)} | {
        "tolerates_ammonium": ~(ions["ammonium_n"][0] > stood) & ~np.isnan(stood),
        "sodium_tolerant": _esp_limit(assessment) == np.inf,
        "chloride_within_own_limit": chloride & (ions["chloride_to_crop_limit"][1] <= 1.0),
        "boron_within_own_limit": boron & (ions["boron_to_crop_limit"][1] <= 1.0),
    }
    return {name: exactly(holds) for name, holds in told.items()}


def _left(amount: Bounds, ec_to_limit: Bounds) -> Bounds:
    """Return what is left of a nutrient once clear water has brought the EC to its limit."""
    low, high = (np.maximum(each, 1.0) for each in ec_to_limit)
    return amount[0] / high, amount[1] / low


def _of_the_water(assessment: Assessment) -> dict[str, Bounds]:
    """Return what was reported of the irrigation water, in mg/L; alkalinity as CaCO3."""
    water = assessment.batch.samples.water
    facts = reported_ions()
    figures = {
        f"water_{ion}": exactly(water.ions[ion] * facts[ion].mass_per_charge)
        for ion in ("sodium", "chloride", "boron")
    }
    as_caco3 = water.ions["bicarbonate"] * PER_MMOLC["mg/L CaCO3"]
    return figures | {"water_alkalinity": exactly(as_caco3)}


def _free_ammonia(assessment: Assessment) -> dict[str, Bounds]:
    """Reckon the free ammonia, as nitrogen, in the solution at the root [mg/L]."""
    samples, salinity = assessment.batch.samples, assessment.salinity
    if np.isnan(samples.medium.ions["ammonium_n"]).all():
        return {}
    ammonium = samples.medium.ions["ammonium_n"] * reported_ions()["ammonium_n"].mass_per_charge
    at_the_root = _to_extract(
        "ammonium_n", ammonium, _per_reading(salinity.pore_water, salinity), samples.extraction
    )
    given = samples.root_zone_temperature
    cold, warm = (np.where(np.isnan(given), each, given) for each in SOLUTION_TEMPERATURE)
    shares = (
        free_ammonia_share(samples.medium.ph - samples.ph_error, cold.clip(0.0, 50.0)),
        free_ammonia_share(samples.medium.ph + samples.ph_error, warm.clip(0.0, 50.0)),
    )
    return {"free_ammonia_n": (at_the_root[0] * shares[0], at_the_root[1] * shares[1])}


def _to_extract(ion: str, amount: Floats, ratio: Bounds, extraction: Codes) -> Bounds:
    """Bring an ion to the saturated extract by the ratio of the EC.

    Where more comes off the medium as water is added, that ratio overstates what the saturated
    extract holds, and the figure itself understates it: the truth lies between.
    """
    low, high = _times(amount, ratio)
    comparable = _comparable(ion)[extraction]
    return (
        np.where(comparable, low, np.minimum(low, amount)),
        np.where(comparable, high, np.maximum(high, amount)),
    )


@cache
def _comparable(ion: str) -> Flags:
    return np.array([comparable_with_reference(each.id, ion) for each in extraction_methods()])


def _finite(value: Floats) -> Floats:
    return np.where(np.isfinite(value), value, np.nan)


def _over(amount: Bounds, least_limit: Floats, greatest_limit: Floats) -> Bounds:
    return amount[0] / greatest_limit, amount[1] / least_limit


def _medium_and_container(assessment: Assessment) -> dict[str, Bounds]:
    """Say what is known of the medium's make-up and of the air in its containers."""
    samples, containers = assessment.given.samples, assessment.given.containers
    count = samples.count
    soil, compost = (np.append(column, np.nan)[samples.substrate] for column in _makeup_columns())
    own_physics = (
        (samples.substrate != NOT_GIVEN)
        | ~np.isnan(samples.container_capacity + samples.total_porosity)
        | ~np.isnan(samples.retention.theta_s)
    )
    sealed = containers.drainage == DRAINAGE.index("sealed")
    drains = assessment.batch.containers.drainage == DRAINAGE.index("open")
    least_air = np.full(count, np.inf)
    some_sealed, all_sealed = np.full(count, np.nan), np.full(count, np.nan)
    height, height_told = np.full(count, np.nan), np.zeros(count, dtype=bool)
    air_space = assessment.container_water.air_space
    # What a soil holds in a pot is reckoned from its texture alone: a sign has to bear it out.
    reckoned = np.isnan(samples.total_porosity) & np.isnan(samples.retention.theta_s)
    unseen = reckoned & ~_wet_signs(samples.observations)
    own_physics &= ~(assessment.mineral_soil & unseen)
    counts = drains & own_physics[containers.sample]
    for row in np.flatnonzero(counts & (air_space < np.inf)):
        owner = containers.sample[row]
        if air_space[row] < least_air[owner]:
            least_air[owner] = air_space[row]
            height[owner] = assessment.batch.containers.height[row]
            height_told[owner] = not np.isnan(containers.height[row])
    air = 100 * _finite(least_air)
    stated = containers.drainage != NOT_GIVEN
    some_sealed[containers.sample[stated]] = 0.0
    some_sealed[containers.sample[sealed]] = 1.0
    all_sealed[containers.sample[sealed]] = 1.0
    all_sealed[containers.sample[stated & ~sealed]] = 0.0
    return {
        "contains_soil": exactly(soil),
        "contains_compost": exactly(compost),
        "coated_alone": exactly(assessment.coated_alone),
        "low_feeder": exactly(assessment.low_feeding),
        "air_space": (air, np.where(unseen & ~height_told, air * UNSURE_AIR, air)),
        "container_height": exactly(height),
        "sealed": (all_sealed, some_sealed),
    }


def _wet_signs(seen: Flags) -> Flags:
    """Where a sign of too little air was reported, one a sample."""
    return np.asarray((seen & _speak_for_little_air()).any(axis=1))


@cache
def _speak_for_little_air() -> Flags:
    return np.array([sign in _signs_for("lack_of_air") for sign in observations()])


@cache
def _makeup_columns() -> tuple[Floats, Floats]:
    """Whether each substrate contains field soil and compost: 1, 0, or NaN where not known."""
    rows = substrates().values()
    known = {True: 1.0, False: 0.0, None: np.nan}
    return (
        np.array([known[row.contains_soil] for row in rows]),
        np.array([known[row.contains_compost] for row in rows]),
    )


def _root_zone_temperature(assessment: Assessment, stalled: Codes) -> dict[str, Bounds]:
    temperature = assessment.batch.samples.root_zone_temperature
    if np.isnan(temperature).all():
        return {}
    asked = [soil_temperatures().get(crop) for crop in assessment.crop_ids]
    minimum = of_planting([row.minimum if row else np.nan for row in asked], stalled)
    optimum = of_planting([row.optimum_low if row else np.nan for row in asked], stalled)
    return {
        "root_zone_temperature": exactly(temperature),
        "root_zone_below_crop_minimum": exactly(minimum - temperature),
        "root_zone_below_crop_optimum": exactly(optimum - temperature),
    }
