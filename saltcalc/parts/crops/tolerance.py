"""How well each planting tolerates its medium, and how far down it needs it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.batch import NOT_GIVEN, Batch
from saltcalc.case.vocabulary import STAGES
from saltcalc.data.extraction import extraction_methods, method_codes
from saltcalc.data.nutrients import Own, governing_range
from saltcalc.data.reported_ions import reported_ions
from saltcalc.data.stage_limits import medium_limits
from saltcalc.parts.crops.limits import with_ph
from saltcalc.parts.salinity import SalinityArrays
from saltcalc.science._arrays import Codes, Flags, Floats, filled
from saltcalc.science.crop_limits import (
    CropLimits,
    CropVerdicts,
    Limit,
    RootZone,
    Stage,
    Verdict,
    only_above,
)
from saltcalc.science.crop_response import ec_at_yield
from saltcalc.science.extraction import Pores, from_saturated_extract
from saltcalc.science.tolerance import TOLERATES_FROM, judge, max_tolerated_ec
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

EXTRACT = "saturated_media_extract"

YIELDS = (100.0, 90.0, 50.0)
"""Relative yields [%] for which the EC to come down to is given."""


@dataclass(frozen=True)
class CropsResult:
    """How the plantings stand their media, one row a planting.

    Attributes
    ----------
    limits : CropLimits
        Published limits of each planting's crop.
    verdicts : CropVerdicts
        What they come to.
    zone : RootZone
        What the roots meet, with the container limits of the stage.
    method : (k,) ndarray of int
        Code of the extraction method of the medium.
    zone_method : (k,) ndarray of int
        Code of the extraction method that the container limits are on.
    max_tolerated_ec : (k,) ndarray
        Highest EC of the saturated extract that the crop still tolerates [dS/m]; NaN where
        no limit is published.
    ec_at_yields : (k, 3) ndarray
        EC of the saturated extract at each of :data:`YIELDS` [dS/m].
    tolerance_shift : (k,) ndarray
        How much more EC the crop tolerates for the gypsum in the extract [dS/m]. It is taken off
        the EC of ``zone`` and added to every EC here.
    readings_at_yields : (k, 3) ndarray
        The same as the medium's own extraction would read it [dS/m].
    thrives : (k,) ndarray of bool
        Where the crop was seen to thrive in the medium.
    own_ranges : tuple of OwnRange
        A laboratory's own ranges of nutrients and pH.
    """

    limits: CropLimits
    verdicts: CropVerdicts
    zone: RootZone
    method: Codes
    zone_method: Codes
    max_tolerated_ec: Floats
    ec_at_yields: Floats
    tolerance_shift: Floats
    readings_at_yields: Floats
    thrives: Flags
    own_ranges: Own


def assess_crops(assessment: Assessment) -> CropsResult:
    """Hold what the roots meet against the published limits of each planting."""
    batch, water = assessment.batch, assessment.sample_water
    plantings = batch.plantings
    limits = with_ph(
        assessment.crop_limits,
        assessment.catalogue,
        plantings.crop,
        batch.samples.extraction[plantings.sample],
        assessment.mineral_soil[plantings.sample],
        assessment.own_ranges,
    )
    zone, zone_method = root_zone(assessment, plantings.sample, plantings.stage)
    shift = assessment.tolerance_shift[plantings.sample]
    ec_at_yields = shift[:, None] + ec_at_yield(
        YIELDS, np.asarray(limits.threshold)[:, None], np.asarray(limits.slope)[:, None]
    )
    sample, thrives = plantings.sample[:, None], thriving_plantings(batch)
    return CropsResult(
        limits=limits,
        verdicts=_as_seen(
            only_above(
                judge(plantings.stage, limits, zone), assessment.ec_is_lower_bound[plantings.sample]
            ),
            thrives,
        ),
        zone=zone,
        method=batch.samples.extraction[plantings.sample],
        zone_method=zone_method,
        max_tolerated_ec=highest_tolerated(assessment, limits, plantings.sample, plantings.stage),
        ec_at_yields=ec_at_yields,
        tolerance_shift=shift,
        readings_at_yields=from_saturated_extract(
            ec_at_yields,
            batch.samples.extraction[sample],
            assessment.medium_kind[sample],
            Pores(water.total_porosity[sample], water.container_capacity[sample]),
        ).value,
        thrives=thrives,
        own_ranges=assessment.own_ranges,
    )


def thriving_plantings(batch: Batch) -> Flags:
    """Which plantings are of a crop that was seen to thrive in their medium."""
    plantings, thriving = batch.plantings, batch.thriving
    seen = set(zip(thriving.sample.tolist(), thriving.crop.tolist(), strict=True))
    pairs = zip(plantings.sample.tolist(), plantings.crop.tolist(), strict=True)
    return np.array([pair in seen for pair in pairs], dtype=bool)


def _as_seen(found: CropVerdicts, thrives: Flags) -> CropVerdicts:
    """Let what is seen go before what is published: a crop that thrives is above no limit."""
    if not thrives.any():
        return found
    passed = thrives & (found.by_limit > Verdict.TOLERATES)
    loses = thrives & ~(found.response >= TOLERATES_FROM)

    def said(codes: Codes, code: int, where: Flags = thrives) -> Codes:
        return np.where(where, code, codes).astype(np.int8)

    def known(figures: Floats) -> Floats:
        return np.where(loses, np.nan, figures)

    return replace(
        found,
        verdict=said(found.verdict, Verdict.TOLERATES),
        best=said(found.best, Verdict.TOLERATES),
        worst=said(found.worst, Verdict.TOLERATES),
        governing=said(found.governing, Limit.NONE),
        by_limit=said(found.by_limit, Verdict.CANNOT_TELL, passed),
        response=known(found.response),
        response_low=known(found.response_low),
        response_high=known(found.response_high),
    )


def root_zone(assessment: Assessment, sample: Codes, stage: Codes) -> tuple[RootZone, Codes]:
    """Return what roots of a stage meet in samples, and the method of its container limits.

    The method's own container limits count, or those of the saturated extract where it has none.
    An EC that is only a floor is open upwards: its high end is infinite.

    Parameters
    ----------
    assessment : Assessment
        Of the samples.
    sample, stage : (k,) ndarray of int
        Samples, and a stage for each.

    Returns
    -------
    zone : RootZone
        Every field an array of shape (k,).
    method : (k,) ndarray of int
        Code of the extraction method that the container limits are on.
    """
    batch, salinity = assessment.batch, assessment.salinity
    extract = salinity.saturated_extract
    own_method = batch.samples.extraction[sample]
    own = _container_limits(assessment, sample, stage, own_method)
    has_own = ~np.isnan(own[0])
    basis = np.full(sample.shape, method_codes()[EXTRACT])
    common = _container_limits(assessment, sample, stage, basis)
    suits, injures, sensitive = (
        np.where(has_own, mine, other) for mine, other in zip(own, common, strict=True)
    )
    shift = assessment.tolerance_shift[sample]
    open_upwards = assessment.ec_is_lower_bound[sample]
    felt = Interval(*(np.maximum(part[sample] - shift, 0.0) for part in extract))
    reading = np.maximum(salinity.ec_25c[sample] - shift, 0.0)
    ions = batch.samples.medium.ions
    feeding = _feeding(assessment, sample)
    zone = RootZone(
        ec_low=felt.low,
        ec=felt.value,
        ec_high=np.where(open_upwards, np.inf, felt.high),
        reading_low=np.where(has_own, reading, felt.low),
        reading=np.where(has_own, reading, felt.value),
        reading_high=np.where(open_upwards, np.inf, np.where(has_own, reading, felt.high)),
        suits=suits,
        injures=injures,
        sensitive=sensitive,
        chloride=_on_basis(ions["chloride"], salinity, extract)[sample],
        boron=_on_basis(ions["boron"], salinity, salinity.pore_water)[sample],
        esp=assessment.medium_sodicity.esp[sample],
        ph=batch.samples.medium.ph[sample],
        mineral=assessment.mineral_soil[sample],
        **feeding,
    )
    return zone, np.where(has_own, own_method, basis)


def _feeding(assessment: Assessment, sample: Codes) -> dict[str, Floats]:
    """Ammonium and mineral nitrogen of samples as saturated extract [mg/L], and their ranges.

    The ranges are those of container media. Where a slow release feeds too, what is dissolved does
    not tell of a shortage.
    """
    samples, salinity = assessment.batch.samples, assessment.salinity
    soilless = ~assessment.mineral_soil
    ec = np.where(salinity.ec_25c > 0, salinity.ec_25c, np.nan)
    nitrate, ammonium = (
        samples.medium.ions[ion] * reported_ions()[ion].mass_per_charge
        for ion in ("nitrate_n", "ammonium_n")
    )
    nitrogen = np.where(samples.slow_release == NOT_GIVEN, nitrate + filled(ammonium, 0.0), np.nan)
    found = {}
    for name, amount in (("ammonium", ammonium), ("nitrogen", nitrogen)):
        held = np.where(soilless, amount, np.nan)
        for end, part in zip(("", "_low", "_high"), salinity.saturated_extract, strict=True):
            found[f"{name}{end}"] = (held * part / ec)[sample]
    ends = _feeding_limits(assessment.own_ranges)
    return found | {name: np.full(sample.shape, end) for name, end in ends.items()}


@cache
def _feeding_limits(own: Own) -> dict[str, float]:
    most = governing_range(EXTRACT, "ammonium_n", own)
    least = governing_range(EXTRACT, "nitrate_n", own)
    return {
        "most_ammonium": most.high if most else np.nan,
        "least_nitrogen": least.low if least else np.nan,
    }


def _on_basis(concentration: Floats, salinity: SalinityArrays, basis: Interval) -> Floats:
    """Concentrate an ion of the extract as its EC is: as saturated extract, or as pore water."""
    ec = np.where(salinity.ec_25c > 0, salinity.ec_25c, np.nan)
    return concentration * basis.value / ec


def highest_tolerated(
    assessment: Assessment, limits: CropLimits, sample: Codes, stage: Codes
) -> Floats:
    """Highest EC of the saturated extract that crops stand, container limits included [dS/m].

    Parameters
    ----------
    assessment : Assessment
        Of the samples.
    limits : CropLimits
        With crops along the last axis.
    sample, stage : ndarray of int
        Samples and stages; they broadcast with ``limits``.
    """
    basis = np.full(sample.shape, method_codes()[EXTRACT])
    container = _container_limits(assessment, sample, stage, basis)
    return max_tolerated_ec(stage, limits, *container) + assessment.tolerance_shift[sample]


def _container_limits(
    assessment: Assessment, sample: Codes, stage: Codes, methods: Codes
) -> tuple[Floats, Floats, Floats]:
    """Limits of container media at a stage [dS/m]; NaN for mineral soil.

    What suits, what injures, and what suits salt-sensitive pot plants, of which the published range
    of seedlings speaks too.
    """
    soilless = ~assessment.mineral_soil[sample]
    table = _container_limit_table()
    found = np.where(soilless[..., None], table[methods, stage], np.nan)
    of_seedlings = np.where(soilless, table[methods, Stage.SEEDLING, 0], np.nan)
    return found[..., 0], found[..., 1], of_seedlings


@cache
def _container_limit_table() -> Floats:
    """Return what suits and what injures, shape (methods, stages, 2) [dS/m]."""
    return np.array(
        [
            [
                (found.suits, found.injures)
                for found in (medium_limits(method.id, stage) for stage in STAGES)
            ]
            for method in extraction_methods()
        ]
    )
