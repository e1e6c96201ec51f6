"""Compose the science into one assessment of a batch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from saltcalc.assessment.batch import Batch, BoolArray, FloatArray
from saltcalc.assessment.cause_figures import CausesResult, assess_causes
from saltcalc.assessment.containers import Water, container_waters, sample_waters
from saltcalc.assessment.crops import CropsResult, assess_crops
from saltcalc.assessment.defaults import Default, fill, rows_filled
from saltcalc.assessment.flush_case import flush_case
from saltcalc.assessment.flush_plan import FlushResult, plan_of_batch
from saltcalc.assessment.ion_excess import IonsExcess, assess_ions_excess
from saltcalc.assessment.ions import Ions, assess_ions, gypsum_plateau
from saltcalc.assessment.irrigation_water import IrrigationWater, assess_irrigation_water
from saltcalc.assessment.leaching import Leaching, assess_leaching
from saltcalc.assessment.nutrients import Nutrients, assess_nutrients
from saltcalc.assessment.salinity import Salinity, assess_salinity
from saltcalc.assessment.sodicity import Sodicity, assess_sodicity
from saltcalc.assessment.upkeep import Upkeep, assess_upkeep
from saltcalc.data.crops import Crop
from saltcalc.data.extraction import MEDIUM_KINDS
from saltcalc.data.sources import Source


@dataclass(frozen=True)
class Assessment:
    """Everything computed of a batch, each part in rows of its own table.

    Attributes
    ----------
    given, batch : Batch
        As it came, and with its gaps filled.
    defaults : tuple of Default
        What filled them.
    catalogue : tuple of Crop
        The crops in the order of their codes.
    """

    given: Batch
    batch: Batch
    defaults: tuple[Default, ...]
    catalogue: tuple[Crop, ...]
    sample_water: Water
    container_water: Water
    salinity: Salinity
    medium_sodicity: Sodicity
    water_sodicity: Sodicity
    medium_ions: Ions
    water_ions: Ions
    irrigation_water: IrrigationWater
    crops: CropsResult
    ions_excess: IonsExcess
    leaching: Leaching
    flush_plan: FlushResult
    upkeep: Upkeep
    nutrients: Nutrients
    causes: CausesResult

    @property
    def ec_is_floor(self) -> BoolArray:
        """Where the EC of the medium is the least that its ions allow, instead of a reading."""
        return rows_filled(self.defaults, "medium-ec-floor")

    @property
    def water_is_known(self) -> BoolArray:
        """Where the EC of the irrigation water was read, or follows from its ions."""
        return ~rows_filled(self.defaults, "water-ec")

    @property
    def local_sources(self) -> dict[str, Source]:
        """Sources of the crops that are the grower's own, by key."""
        sources = (crop.local_source for crop in self.catalogue)
        return {source.key: source for source in sources if source}


def assess(given: Batch, catalogue: tuple[Crop, ...]) -> Assessment:
    """Assess a batch of samples with their containers and crops.

    Parameters
    ----------
    given : Batch
        One row a sample, a container, a planting.
    catalogue : tuple of Crop
        The crops, in the order of their codes.
    """
    batch, defaults = fill(given)
    sample_water, container_water = sample_waters(batch), container_waters(batch)
    salinity = assess_salinity(batch, sample_water)
    lime = salinity.medium_kind != MEDIUM_KINDS.index("soilless")
    medium_sodicity = assess_sodicity(batch.samples.medium, salinity.ec_25c, lime)
    crops = assess_crops(
        batch,
        salinity,
        medium_sodicity,
        sample_water,
        rows_filled(defaults, "medium-ec-floor"),
        catalogue,
    )
    water_ec = np.where(rows_filled(defaults, "water-ec"), np.nan, salinity.water_ec_25c)
    medium_ions = assess_ions(
        batch.samples.medium, np.where(np.isnan(given.samples.medium.ec), np.nan, salinity.ec_25c)
    )
    case = flush_case(
        batch,
        salinity,
        container_water,
        crops.stands_up_to,
        _gypsum_plateaus(batch, medium_ions),
    )
    flush_plan = plan_of_batch(batch, case)
    return Assessment(
        given=given,
        batch=batch,
        defaults=defaults,
        catalogue=catalogue,
        sample_water=sample_water,
        container_water=container_water,
        salinity=salinity,
        medium_sodicity=medium_sodicity,
        water_sodicity=assess_sodicity(batch.samples.water, water_ec, lime),
        medium_ions=medium_ions,
        water_ions=assess_ions(
            batch.samples.water,
            np.where(np.isnan(given.samples.water.ec), np.nan, salinity.water_ec_25c),
        ),
        irrigation_water=assess_irrigation_water(
            batch, salinity, sample_water, water_ec, crops.stands_up_to
        ),
        crops=crops,
        ions_excess=assess_ions_excess(batch, salinity, crops),
        leaching=assess_leaching(
            water_ec[batch.plantings.sample],
            np.asarray(crops.limits.threshold),
            np.asarray(crops.limits.slope),
        ),
        flush_plan=flush_plan,
        upkeep=assess_upkeep(batch, flush_plan),
        nutrients=assess_nutrients(batch, salinity, sample_water, container_water),
        causes=assess_causes(
            given,
            batch,
            salinity,
            container_water,
            crops,
            medium_sodicity,
            medium_ions.gypsum_saturated,
            catalogue,
        ),
    )


def _gypsum_plateaus(batch: Batch, medium_ions: Ions) -> FloatArray:
    """EC that gypsum holds each medium at while it is flushed [dS/m]; NaN without gypsum."""
    plateaus = np.full(batch.samples.count, np.nan)
    for row in np.flatnonzero(medium_ions.gypsum_saturated):
        plateaus[row] = gypsum_plateau(batch.samples.water, int(row))
    return plateaus
