"""How each planting stands its medium, and how far down it needs it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from saltcalc.assessment.batch import Batch, FloatArray, IntArray
from saltcalc.assessment.crop_limits import crop_limits
from saltcalc.assessment.salinity import Salinity
from saltcalc.assessment.vocabulary import STAGES
from saltcalc.data.crops import Crop
from saltcalc.data.extraction import MEDIUM_KINDS, extraction_methods, method_codes
from saltcalc.data.stage_limits import medium_limits
from saltcalc.science.tolerance import CropLimits, CropVerdicts, RootZone, Verdict, judge

_BASIS = "saturated_media_extract"
_HIGHEST = 100.0
_HALVINGS = 50


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
    zone_method : (k,) ndarray of int
        Code of the extraction method that the container limits are on.
    stands_up_to : (k,) ndarray
        Highest EC of the saturated extract at which the crop still stands it [dS/m]; NaN where
        no limit is published.
    """

    limits: CropLimits
    verdicts: CropVerdicts
    zone: RootZone
    zone_method: IntArray
    stands_up_to: FloatArray


def assess_crops(batch: Batch, salinity: Salinity, catalogue: tuple[Crop, ...]) -> CropsResult:
    """Hold what the roots meet against the published limits of each planting.

    Parameters
    ----------
    batch : Batch
        With its gaps filled.
    salinity : Salinity
        Of its samples.
    catalogue : tuple of Crop
        The crops, in the order of their codes.
    """
    plantings = batch.plantings
    limits = crop_limits([catalogue[code] for code in plantings.crop])
    zone, zone_method = _root_zone(batch, salinity)
    return CropsResult(
        limits=limits,
        verdicts=judge(plantings.stage, limits, zone),
        zone=zone,
        zone_method=zone_method,
        stands_up_to=_stands_up_to(batch, salinity, limits),
    )


def _root_zone(batch: Batch, salinity: Salinity) -> tuple[RootZone, IntArray]:
    """Take the method's own container limits, or those of the saturated extract without any."""
    sample = batch.plantings.sample
    extract = salinity.saturated_extract
    own = _container_limits(batch, salinity, batch.samples.extraction[sample])
    has_own = ~np.isnan(own[0])
    basis = np.full(sample.shape, method_codes()[_BASIS])
    common = _container_limits(batch, salinity, basis)
    reading = salinity.ec_25c[sample]
    zone = RootZone(
        ec_low=extract.low[sample],
        ec=extract.value[sample],
        ec_high=extract.high[sample],
        reading_low=np.where(has_own, reading, extract.low[sample]),
        reading=np.where(has_own, reading, extract.value[sample]),
        reading_high=np.where(has_own, reading, extract.high[sample]),
        suits=np.where(has_own, own[0], common[0]),
        injures=np.where(has_own, own[1], common[1]),
    )
    return zone, np.where(has_own, batch.samples.extraction[sample], basis)


def _container_limits(
    batch: Batch, salinity: Salinity, methods: IntArray
) -> tuple[FloatArray, FloatArray]:
    """Limits of container media at each planting's stage; NaN for mineral soil."""
    suits, injures = np.full(methods.shape, np.nan), np.full(methods.shape, np.nan)
    soilless = salinity.medium_kind[batch.plantings.sample] == MEDIUM_KINDS.index("soilless")
    for row in np.flatnonzero(soilless):
        method = extraction_methods()[methods[row]].id
        found = medium_limits(method, STAGES[batch.plantings.stage[row]])
        suits[row], injures[row] = found.suits, found.injures
    return suits, injures


def _stands_up_to(batch: Batch, salinity: Salinity, limits: CropLimits) -> FloatArray:
    """Halve the span in which the verdict turns, on the saturated extract."""
    stage = batch.plantings.stage
    basis = np.full(stage.shape, method_codes()[_BASIS])
    suits, injures = _container_limits(batch, salinity, basis)
    nothing = RootZone(ec_low=0.0, ec=0.0, ec_high=0.0, suits=suits, injures=injures)

    def stands(ec: FloatArray) -> np.ndarray:
        zone = replace(
            nothing,
            ec_low=ec,
            ec=ec,
            ec_high=ec,
            reading_low=ec,
            reading=ec,
            reading_high=ec,
        )
        return judge(stage, limits, zone).verdict

    low, high = np.zeros(stage.shape), np.full(stage.shape, _HIGHEST)
    unlimited = stands(high) != Verdict.CANNOT_TELL
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        below = stands(middle) == Verdict.STANDS_IT
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return np.where(unlimited, low, np.nan)
