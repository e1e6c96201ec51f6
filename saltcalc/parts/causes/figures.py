"""The figures that evidence on causes looks at, taken from an assessed batch.

Concentrations are brought to the saturated extract by the same ratio as the EC. Where the EC is
only a floor, computed from the ions, it is a lower bound. Defaults that say nothing of the very
medium in hand, such as the middle of the ranges of substrates, give no evidence.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.batch import NOT_GIVEN
from saltcalc.case.vocabulary import DRAINAGE, MICRONUTRIENT_EXTRACTS, STAGES
from saltcalc.data.crops import soil_temperatures
from saltcalc.data.extraction import MEDIUM_KINDS, extraction_methods
from saltcalc.data.nutrients import comparable_with_reference
from saltcalc.data.observations import observations
from saltcalc.data.reported_ions import reported_ions
from saltcalc.data.stage_limits import medium_limits
from saltcalc.data.substrates import substrates
from saltcalc.parts.causes.weighing import CauseFindings, weigh_causes
from saltcalc.parts.contrast import contrast_of
from saltcalc.parts.crops.limits import crop_limits, limits_of
from saltcalc.parts.salinity import SalinityArrays
from saltcalc.science._arrays import Codes, Flags, Floats
from saltcalc.science.crop_response import Rating
from saltcalc.science.nutrients import salt_share
from saltcalc.science.saturation import GYPSUM_TOLERANCE_SHIFT
from saltcalc.science.tolerance import CropVerdicts, RootZone, Stage, judge, own_figure
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

NO_CROP = -1
"""Stands for no planting and no crop."""

MOST_CHARGE_PER_EC = 12.0
"""Charge of one ion that a solution can hold at most [mmol_c/L per dS/m]: sodium bicarbonate, the
pair of common ions that conducts least, gives 0.085 to 0.094 dS/m for each mmol_c/L."""

CLEAR_LEAD = 10.0
"""How much more of its yield [%] an unnamed crop must keep to be taken as the one that thrives."""

MUCH_HARDIER = 1.5
"""Or how many times the threshold of the stalled one it must have (judgement)."""

_ANOTHER_THRIVES = "another_crop_thrives"

Bounds = tuple[Floats, Floats]


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
    samples, salinity = assessment.batch.samples, assessment.salinity
    stalled, thriving, inferred = _reference_plantings(assessment)
    signs = {sign: samples.observations[:, column] for column, sign in enumerate(observations())}
    named = np.isin(np.arange(samples.count), assessment.batch.thriving.sample)
    signs[_ANOTHER_THRIVES] = signs[_ANOTHER_THRIVES] | named
    esp_limit = _of_planting(assessment.crops.limits.esp_limit, stalled)
    gypsum = assessment.medium_ions.gypsum_saturated
    findings = weigh_causes(
        {
            "ec_extract": _ec(assessment),
            "ph": _exactly(samples.medium.ph),
            **_ions(assessment, stalled),
            **_crop_response(assessment, stalled, thriving),
            **_contrast(assessment, stalled, thriving),
            "ec_to_stage_limit": _stage_ratio(assessment, stalled),
            **_medium_and_container(assessment),
            **_root_zone_temperature(assessment, stalled),
            "sar": _exactly(assessment.medium_sodicity.sar),
            "esp_to_crop_limit": _exactly(assessment.medium_sodicity.esp / esp_limit),
            "gypsum_saturated": _exactly(np.where(gypsum, 1.0, np.nan)),
            "water_boron": _exactly(assessment.given.samples.water.ions["boron"]),
            "plant_age": _exactly(samples.plant_age),
        },
        signs,
        samples.count,
        not_seen={sign: samples.not_seen[:, column] for column, sign in enumerate(observations())},
        mineral=salinity.medium_kind != MEDIUM_KINDS.index("soilless"),
    )
    return CauseArrays(findings, stalled, thriving, inferred)


def _exactly(value: Floats) -> Bounds:
    return value, value


def _ec(assessment: Assessment) -> Bounds:
    """Judge a reading by the classes of its own method, and by a converted one only without any.

    With gypsum the reading may count for as much less as plants stand more of it.
    """
    salinity = assessment.salinity
    extract = salinity.saturated_extract
    own_classes = salinity.reading_class.method == assessment.batch.samples.extraction
    own_classes &= assessment.ec_error == 0
    low = np.where(own_classes, extract.value, extract.low)
    high = np.where(own_classes, extract.value, extract.high)
    return (
        low * _gypsum_corrected_fraction(assessment),
        np.where(assessment.ec_is_floor, np.nan, high),
    )


def _gypsum_corrected_fraction(assessment: Assessment) -> Floats:
    """Share of a reading that counts at least, with gypsum taken off it; 1 without gypsum."""
    extract = np.maximum(assessment.salinity.saturated_extract.low, np.finfo(np.float64).tiny)
    left = np.maximum(1.0 - GYPSUM_TOLERANCE_SHIFT / extract, 0.0)
    return np.where(assessment.medium_ions.gypsum_saturated, left, 1.0)


def _times(value: Floats, ratio: Bounds) -> Bounds:
    return value * ratio[0], value * ratio[1]


def _per_reading(interval: Interval, salinity: SalinityArrays) -> Bounds:
    """Give an EC on another basis over the reading itself; NaN where that is zero."""
    reading = np.where(salinity.ec_25c > 0, salinity.ec_25c, np.nan)
    return interval.low / reading, interval.high / reading


def _ions(assessment: Assessment, stalled: Codes) -> dict[str, Bounds]:
    batch, salinity = assessment.batch, assessment.salinity
    medium, limits = batch.samples.medium, assessment.crops.limits
    to_extract = _per_reading(salinity.saturated_extract, salinity)
    figures: dict[str, Bounds] = {}
    mass: dict[str, Floats] = {}
    for ion, facts in reported_ions().items():
        mass[ion] = medium.ions[ion] * facts.mass_per_charge
        if ion not in {"phosphorus", "sulfate_s", "bicarbonate"}:
            figures[ion] = _to_extract(ion, mass[ion], to_extract, batch.samples.extraction)
    most = np.where(
        assessment.ec_is_floor, np.nan, MOST_CHARGE_PER_EC * salinity.saturated_extract.high
    )
    by_water = batch.samples.micronutrient_extract == MICRONUTRIENT_EXTRACTS.index("water")
    iron = np.where(by_water, batch.samples.micronutrients["iron"], np.nan)
    figures["iron"] = _to_extract("iron", iron, to_extract, batch.samples.extraction)
    for ion in ("nitrate_n", "ammonium_n", "sodium", "chloride"):
        low, high = figures[ion]
        ceiling = np.where(np.isnan(mass[ion]), most * reported_ions()[ion].molar_mass, high)
        figures[ion] = low, ceiling

    with np.errstate(divide="ignore", invalid="ignore"):
        nitrate, ammonium = mass["nitrate_n"], mass["ammonium_n"]
        figures |= {
            "nitrate_share_of_mineral_n": _exactly(_finite(100 * nitrate / (nitrate + ammonium))),
            "potassium_to_magnesium": _exactly(_finite(mass["potassium"] / mass["magnesium"])),
            "calcium_to_magnesium": _exactly(_finite(mass["calcium"] / mass["magnesium"])),
        }
    for ion in ("sodium", "chloride"):
        share = np.where(assessment.ec_is_floor, np.nan, salt_share(mass[ion], salinity.ec_25c))
        figures[f"{ion}_share_of_salts"] = _exactly(100 * share)

    chloride = _times(medium.ions["chloride"], to_extract)
    boron = _times(mass["boron"], _per_reading(salinity.pore_water, salinity))
    figures["chloride_to_crop_limit"] = _over(
        chloride,
        _of_planting(limits.chloride_low, stalled),
        _of_planting(limits.chloride_high, stalled),
    )
    figures["boron_to_crop_limit"] = _over(
        boron, _of_planting(limits.boron_low, stalled), _of_planting(limits.boron_high, stalled)
    )
    return figures


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


def _of_planting(column: object, planting: Codes) -> Floats:
    """Take a column of plantings to the samples by the planting each is judged by."""
    values = np.append(np.atleast_1d(np.asarray(column, dtype=np.float64)), np.nan)
    return values[planting]


def _reference_plantings(assessment: Assessment) -> tuple[Codes, Codes, Flags]:
    """Choose the stalled planting and the telling thriving crop of each sample."""
    batch, crops = assessment.batch, assessment.crops
    count, plantings = batch.samples.count, batch.plantings
    verdict = crops.verdicts.verdict.astype(np.int64)
    response = np.nan_to_num(crops.verdicts.response, nan=100.0)
    thrives = np.array(
        [
            bool(np.any((batch.thriving.sample == sample) & (batch.thriving.crop == crop)))
            for sample, crop in zip(plantings.sample, plantings.crop, strict=True)
        ],
        dtype=bool,
    )
    hardiness = np.nan_to_num(crops.stands_up_to, nan=np.inf)
    worst_first = np.lexsort((hardiness, response, -verdict, thrives, plantings.sample))
    stalled = _first_of_sample(worst_first[~thrives[worst_first]], plantings.sample, count)

    threshold = np.nan_to_num(np.asarray(crops.limits.threshold, dtype=np.float64), nan=-1.0)
    best_first = np.lexsort((-threshold, -response, verdict, plantings.sample))
    best = _first_of_sample(best_first, plantings.sample, count)
    named = np.full(count, NO_CROP)
    for sample in range(count):
        rows = np.flatnonzero(batch.thriving.sample == sample)
        if rows.size:
            codes = batch.thriving.crop[rows]
            figures = own_figure(Stage.ESTABLISHED, limits_of(assessment.catalogue, codes))
            named[sample] = codes[np.argmin(np.nan_to_num(figures, nan=np.inf))]
    reported = batch.samples.observations[:, list(observations()).index(_ANOTHER_THRIVES)]
    crop_of = np.append(plantings.crop, NO_CROP)
    leads = _of_planting(response, best) - _of_planting(response, stalled) >= CLEAR_LEAD
    leads |= _of_planting(threshold, best) >= MUCH_HARDIER * _of_planting(threshold, stalled)
    inferred: Flags = reported & (named == NO_CROP) & (crop_of[best] != crop_of[stalled]) & leads
    return stalled, np.where(inferred, crop_of[best], named), inferred


def _first_of_sample(rows: Codes, sample: Codes, count: int) -> Codes:
    first = np.full(count, NO_CROP)
    owners, places = np.unique(sample[rows], return_index=True)
    first[owners] = rows[places]
    return first


def _crop_response(assessment: Assessment, stalled: Codes, thriving: Codes) -> dict[str, Bounds]:
    crops, extract = assessment.crops, assessment.salinity.saturated_extract
    floor = assessment.ec_is_floor

    def response(verdicts: CropVerdicts, planting: Codes) -> Bounds:
        low = _of_planting(verdicts.response_low, planting)
        return np.where(floor, np.nan, low), _of_planting(verdicts.response_high, planting)

    present = np.flatnonzero(thriving != NO_CROP)
    rows = np.full(thriving.shape, NO_CROP)
    rows[present] = np.arange(present.size)
    limits = crop_limits([assessment.catalogue[code] for code in thriving[present]])
    zone = RootZone(
        ec_low=extract.low[present], ec=extract.value[present], ec_high=extract.high[present]
    )
    stands = judge(np.full(present.shape, int(Stage.ESTABLISHED)), limits, zone)
    ratio = _of_planting(limits.threshold, rows) / _of_planting(crops.limits.threshold, stalled)
    return {
        "relative_yield": response(crops.verdicts, stalled),
        "thriving_crop_relative_yield": response(stands, rows),
        "thriving_crop_limit_ratio": _exactly(ratio),
    }


def _contrast(assessment: Assessment, stalled: Codes, thriving: Codes) -> dict[str, Bounds]:
    """Hold the EC against the limits of the crop that stalls and of the one that thrives."""
    extract, floor = assessment.salinity.saturated_extract, assessment.ec_is_floor
    contrast = contrast_of(assessment, stalled, thriving)
    low = contrast.over(extract.low)
    high = contrast.over(np.where(floor, np.nan, extract.high))
    read = _ec(assessment)
    return {
        "ec_to_stalled_crop_threshold": (low[0], high[0]),
        "ec_to_thriving_crop_threshold": (low[1], high[1]),
        "ec_to_least_crop_limit": (read[0] / contrast.least_limit, read[1] / contrast.least_limit),
        "ec_is_floor": _exactly(floor.astype(np.float64)),
    }


def _stage_ratio(assessment: Assessment, stalled: Codes) -> Bounds:
    """EC over the container limit of the stage, or of seedlings where no crop is named.

    The limits are drawn up for mixed plants; a crop rated tolerant is not held to them.
    """
    crops, salinity, no_crop = assessment.crops, assessment.salinity, stalled == NO_CROP
    zone, extract = crops.zone, salinity.saturated_extract
    seedlings = medium_limits("saturated_media_extract", STAGES[Stage.SEEDLING]).suits
    hardy = _of_planting(crops.limits.rating, stalled) >= Rating.MODERATELY_TOLERANT
    soilless = ~np.isnan(_of_planting(zone.suits, stalled))
    suits = np.where(no_crop, seedlings, _of_planting(zone.suits, stalled))
    container_medium = salinity.medium_kind == MEDIUM_KINDS.index("soilless")
    held = (no_crop & container_medium) | (soilless & ~hardy)
    lower = np.where(no_crop, extract.low, _of_planting(zone.reading_low, stalled)) / suits
    upper = np.where(no_crop, extract.high, _of_planting(zone.reading_high, stalled)) / suits
    lower *= _gypsum_corrected_fraction(assessment)
    read = held & ~assessment.ec_is_floor
    return np.where(held, lower, np.nan), np.where(read, upper, np.nan)


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
    least_air, is_sealed = np.full(count, np.inf), np.full(count, np.nan)
    air_space = assessment.container_water.air_space
    counts = drains & own_physics[containers.sample]
    np.minimum.at(least_air, containers.sample[counts], air_space[counts])
    stated = containers.drainage != NOT_GIVEN
    is_sealed[containers.sample[stated]] = 0.0
    is_sealed[containers.sample[sealed]] = 1.0
    return {
        "contains_soil": _exactly(soil),
        "contains_compost": _exactly(compost),
        "air_space": _exactly(100 * _finite(least_air)),
        "sealed": _exactly(is_sealed),
    }


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
    asked = [soil_temperatures().get(crop) for crop in assessment.crop_ids]
    minimum = _of_planting([row.minimum if row else np.nan for row in asked], stalled)
    optimum = _of_planting([row.optimum_low if row else np.nan for row in asked], stalled)
    return {
        "root_zone_temperature": _exactly(temperature),
        "root_zone_below_crop_minimum": _exactly(minimum - temperature),
        "root_zone_below_crop_optimum": _exactly(optimum - temperature),
    }
