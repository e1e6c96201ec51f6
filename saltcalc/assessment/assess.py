"""Compose the science into one assessment of a batch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from saltcalc.assessment.batch import Batch
from saltcalc.assessment.cause_figures import CausesResult, assess_causes
from saltcalc.assessment.containers import Water, container_waters, sample_waters
from saltcalc.assessment.crops import CropsResult, assess_crops
from saltcalc.assessment.defaults import Default, fill
from saltcalc.assessment.flush_plan import FlushPlan, plan_flush
from saltcalc.assessment.leaching import Leaching, assess_leaching
from saltcalc.assessment.nutrients import Nutrients, assess_nutrients
from saltcalc.assessment.salinity import Salinity, assess_salinity
from saltcalc.assessment.sodicity import Sodicity, assess_sodicity
from saltcalc.data.crops import Crop
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
    crops: CropsResult
    leaching: Leaching
    flush_plan: FlushPlan
    nutrients: Nutrients
    causes: CausesResult

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
    medium_sodicity = assess_sodicity(batch.samples.medium, salinity.ec_25c)
    crops = assess_crops(batch, salinity, medium_sodicity, sample_water, catalogue)
    water_ec = np.where(np.isnan(given.samples.water.ec), np.nan, salinity.water_ec_25c)
    medium_sodicity = assess_sodicity(batch.samples.medium, salinity.ec_25c)
    return Assessment(
        given=given,
        batch=batch,
        defaults=defaults,
        catalogue=catalogue,
        sample_water=sample_water,
        container_water=container_water,
        salinity=salinity,
        medium_sodicity=medium_sodicity,
        water_sodicity=assess_sodicity(batch.samples.water, water_ec),
        crops=crops,
        leaching=assess_leaching(
            water_ec[batch.plantings.sample],
            np.asarray(crops.limits.threshold),
            np.asarray(crops.limits.slope),
        ),
        flush_plan=plan_flush(batch, salinity, container_water, crops.stands_up_to),
        nutrients=assess_nutrients(batch, salinity, sample_water, container_water),
        causes=assess_causes(
            given, batch, salinity, container_water, crops, medium_sodicity.sar, catalogue
        ),
    )
