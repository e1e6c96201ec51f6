"""An assessment of a batch: every part of it on the first look at that part."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache, cached_property

import numpy as np

from saltcalc.case.batch import NOT_GIVEN, Batch, ObjectArray
from saltcalc.case.defaults import Default, by_sample, fill, rows_filled
from saltcalc.case.implausible import without_impossible_ph
from saltcalc.case.signs import without_contradicting
from saltcalc.case.vocabulary import FEEDINGS, STAGES
from saltcalc.data.crops import Crop, Crops
from saltcalc.data.extraction import MEDIUM_KINDS
from saltcalc.data.low_feeders import low_feeders
from saltcalc.data.nutrients import Own
from saltcalc.data.sources import Source
from saltcalc.data.washout import slow_releases
from saltcalc.parts.acting import assess_acting
from saltcalc.parts.alkaline_water import assess_alkaline_water
from saltcalc.parts.by_method import assess_methods, by_any_method
from saltcalc.parts.causes.figures import assess_causes
from saltcalc.parts.causes.in_field import is_in_field
from saltcalc.parts.containers import Water, waters_of
from saltcalc.parts.crops.limits import limits_of
from saltcalc.parts.crops.ranking import tolerant_crops
from saltcalc.parts.crops.tolerance import assess_crops
from saltcalc.parts.doubts import doubt_figures
from saltcalc.parts.flush.case import FlushCase, assess_flush_case
from saltcalc.parts.flush.costs import assess_flush_costs
from saltcalc.parts.flush.ion_aim import assess_ion_aims
from saltcalc.parts.flush.ion_excess import assess_ions_excess
from saltcalc.parts.flush.options import assess_flush_options
from saltcalc.parts.flush.plan import assess_flush_course, assess_flush_plan
from saltcalc.parts.flush.reuse import assess_reuse
from saltcalc.parts.ions.arrays import IonArrays, assess_ions, species_of
from saltcalc.parts.ions.report import medium_solution, slips_of
from saltcalc.parts.leaching import assess_leaching
from saltcalc.parts.notes import Notes
from saltcalc.parts.nutrients.arrays import assess_nutrients
from saltcalc.parts.plantings import reference_plantings
from saltcalc.parts.salinity import (
    assess_salinity,
    assess_tolerance_shift,
    kinds_of_media,
)
from saltcalc.parts.shown import Column, row_of
from saltcalc.parts.sodicity import SodicityArrays, assess_sodicity, thinned_by
from saltcalc.parts.summary.actions import ways_of
from saltcalc.parts.summary.leading import assess_leading
from saltcalc.parts.upkeep.arrays import assess_upkeep
from saltcalc.parts.water import assess_water
from saltcalc.parts.watering import assess_watering
from saltcalc.science._arrays import Codes, Flags, Floats, flagged
from saltcalc.science.crop_limits import CropLimits
from saltcalc.science.ec_bounds import ec_estimate_error
from saltcalc.science.extraction import convert
from saltcalc.science.osmotic import tell_of_the_whole
from saltcalc.science.reporting_slips import SlipTrials
from saltcalc.science.speciation import Speciation
from saltcalc.science.temperature import ec25_handbook60


@dataclass(frozen=True)
class Assessment:
    """Everything that can be computed of a batch, each part in rows of its own table.

    Attributes
    ----------
    given, batch : Batch
        As it came, and with its gaps filled.
    defaults : tuple of Default
        What filled them.
    catalogue : Crops
        The crops in the order of their codes.
    ends : tuple of str
        What the samples behind the first are; see :func:`assess`.
    own_ranges : tuple of OwnRange
        A laboratory's or region's own ranges of nutrients and pH.
    to_limit : Assessment or None
        The same, flushed just to the limit; None where this is that one.
    """

    given: Batch
    batch: Batch
    defaults: tuple[Default, ...]
    catalogue: Crops
    ends: tuple[str, ...] = ()
    own_ranges: Own = ()
    to_limit: Assessment | None = None

    @cached_property
    def as_advised(self) -> Assessment:
        """The same, each container flushed as far as is advised: so far that it lasts."""
        further = ~np.isnan(self.upkeep.lasting_days).all()
        return replace(self, to_limit=self) if further else self

    @cached_property
    def ec_is_lower_bound(self) -> Flags:
        """Where the EC of the medium is the least that its ions allow, instead of a reading."""
        return rows_filled(self.defaults, "medium_ec_lower_bound")

    @cached_property
    def ec_error(self) -> Floats:
        """How far an EC of the medium that its ions make may be off, as a share; 0 if measured."""
        medium = self.batch.samples.medium
        estimated = rows_filled(self.defaults, "medium_ec_of_ions")
        if not estimated.any():
            return np.zeros(estimated.shape)
        return np.where(estimated, ec_estimate_error(medium.ions, medium.ph), 0.0)

    @cached_property
    def water_is_known(self) -> Flags:
        """Where the EC of the irrigation water was read, or follows from its ions."""
        return ~rows_filled(self.defaults, "water_ec")

    @cached_property
    def medium_is_told(self) -> Flags:
        """Where a figure of the medium or a sign of it was given."""
        samples = self.given.samples
        medium = samples.medium
        figures = (
            *(medium.ec, medium.ph, medium.alkalinity, medium.hardness),
            *(medium.total_dissolved_solids, samples.mineral_n, samples.ph_in_cacl2),
            *(*medium.ions.values(), *samples.micronutrients.values(), *samples.cat.values()),
        )
        signs = np.asarray((samples.observations | samples.not_seen).any(axis=-1))
        return np.asarray(np.isfinite(figures).any(axis=0) | signs)

    @cached_property
    def local_sources(self) -> dict[str, Source]:
        """Sources of crops and ranges of nutrients that are the grower's own, by key."""
        ranges = (each.local_source for each in self.own_ranges)
        sources = (*self.catalogue.local_sources, *ranges)
        return {source.key: source for source in sources if source}

    def ends_of(self, finding: str) -> tuple[int, int] | None:
        """Return the samples that are the first at the low and at the high end of something."""
        if finding not in self.ends:
            return None
        first = 1 + 2 * self.ends.index(finding)
        return first, first + 1

    def notes(self) -> Notes:
        """Start the notes of an answer."""
        return Notes(self.local_sources)

    @cached_property
    def defaults_of(self) -> list[list[tuple[Default, int]]]:
        """The defaults that entered each sample, each with its row in its own table."""
        return by_sample(self.defaults, self.batch)

    @cached_property
    def _containers_of(self) -> list[list[int]]:
        return _rows_of(self.batch.containers.sample, self.batch.samples.count)

    def containers_of(self, sample: int) -> list[int]:
        """Return the rows of a sample's containers."""
        return self._containers_of[sample]

    @cached_property
    def _plantings_of(self) -> list[list[int]]:
        return _rows_of(self.batch.plantings.sample, self.batch.samples.count)

    def plantings_of(self, sample: int) -> list[int]:
        """Return the rows of a sample's plantings."""
        return self._plantings_of[sample]

    def crop_of(self, row: int) -> Crop:
        """Return the crop of a planting."""
        return self.catalogue[int(self.batch.plantings.crop[row])]

    @cached_property
    def crop_ids(self) -> ObjectArray:
        """Id of the crop of each planting."""
        return np.array([self.catalogue[code].id for code in self.batch.plantings.crop], object)

    @cached_property
    def stage_names(self) -> ObjectArray:
        """Stage of each planting."""
        return np.array([STAGES[code] for code in self.batch.plantings.stage], object)

    @cached_property
    def earlier(self) -> Assessment:
        """The same media, waters, containers and crops with the earlier reports of the media."""
        previous, samples = self.batch.previous, self.given.samples
        target = convert(
            samples.target_ec,
            self.batch.samples.extraction,
            previous.extraction,
            self.medium_kind,
            self.sample_water.pores,
        )
        then = replace(
            samples,
            medium=previous.medium,
            extraction=previous.extraction,
            water_content=np.full(samples.count, np.nan),
            target_ec=target.value,
        )
        given = replace(self.given, samples=then)
        return assess(given, self.catalogue, own_ranges=self.own_ranges)

    doubts = cached_property(doubt_figures)
    """Figures that can hardly be."""
    methods = cached_property(assess_methods)
    """Readings whose method is not given."""

    @cached_property
    def _by_method(self) -> dict[int, Assessment]:
        return {}

    def by_method(self, code: int) -> Assessment:
        """Return the same with every reading whose method is not given taken as by this one."""
        if code not in self._by_method:
            samples = self.given.samples
            extraction = np.where(samples.extraction == NOT_GIVEN, code, samples.extraction)
            given = replace(self.given, samples=replace(samples, extraction=extraction))
            self._by_method[code] = assess(given, self.catalogue, own_ranges=self.own_ranges)
        return self._by_method[code]

    @cached_property
    def _waters(self) -> tuple[Water, Water]:
        return waters_of(self.batch)

    @property
    def sample_water(self) -> Water:
        """Water of each sample at the mean height of its containers."""
        return self._waters[0]

    @property
    def container_water(self) -> Water:
        """Water of each container."""
        return self._waters[1]

    @cached_property
    def medium_kind(self) -> Codes:
        """Kind of each medium, a place in `MEDIUM_KINDS`."""
        return kinds_of_media()[self.batch.samples.substrate]

    @cached_property
    def mineral_soil(self) -> Flags:
        """Which media are mineral soils; only they hold lime that can dissolve."""
        return np.asarray(self.medium_kind != MEDIUM_KINDS.index("soilless"))

    @cached_property
    def rooted(self) -> Flags:
        """Where a grown plant holds the medium, which cannot be tipped out then."""
        plantings = self.batch.plantings
        grown = plantings.stage == STAGES.index("established")
        return flagged(self.batch.samples.count, plantings.sample[grown])

    in_field = cached_property(is_in_field)
    """Which media are soil in a field."""

    salinity = cached_property(assess_salinity)
    """How salty the media are."""
    tolerance_shift = cached_property(assess_tolerance_shift)
    """How much more EC plants stand for the gypsum in the extract of each medium [dS/m]."""

    @cached_property
    def water_ec(self) -> Floats:
        """EC of the irrigation water of each sample at 25 °C [dS/m]; NaN where not known."""
        return np.where(self.water_is_known, self.water_ec_25c, np.nan)

    @cached_property
    def water_ec_25c(self) -> Floats:
        """EC of the irrigation water of each sample at 25 °C, assumed where not known [dS/m]."""
        water = self.batch.samples.water
        return ec25_handbook60(water.ec, water.temperature)

    @cached_property
    def crop_limits(self) -> CropLimits:
        """Published limits of each planting's crop."""
        return limits_of(self.catalogue, self.batch.plantings.crop)

    @cached_property
    def medium_sodicity(self) -> SodicityArrays:
        """Sodium hazard of the media."""
        samples, ec = self.batch.samples, self.salinity.ec_25c
        thinned = thinned_by(samples.extraction, ec, self.salinity.saturated_extract.value)
        return assess_sodicity(samples.medium, ec, self.mineral_soil, thinned)

    @cached_property
    def water_sodicity(self) -> SodicityArrays:
        """Sodium hazard of the waters."""
        return assess_sodicity(self.batch.samples.water, self.water_ec, self.mineral_soil)

    @cached_property
    def medium_species(self) -> Speciation | None:
        """Free ions and ion pairs in the media; None where no ion was reported of any."""
        return species_of(self.batch.samples.medium)

    @cached_property
    def coated_alone(self) -> Flags:
        """Where coated fertilizer alone feeds, so that little of it is dissolved at a time."""
        samples = self.batch.samples
        release = list(slow_releases()).index("controlled_release_fertilizer")
        mixed_in = (samples.feeding == NOT_GIVEN) & (samples.slow_release == release)
        return np.asarray(mixed_in | (samples.feeding == FEEDINGS.index("coated_fertilizer")))

    @cached_property
    def low_feeding(self) -> Flags:
        """Where crops are named, and all of them grow well with little feed."""
        found = np.zeros((2, self.batch.samples.count), dtype=bool)
        low = np.array([crop in low_feeders() for crop in self.crop_ids], dtype=bool)
        for place, rows in enumerate((low, ~low)):
            found[place, self.batch.plantings.sample[rows]] = True
        return np.asarray(found[0] & ~found[1])

    @cached_property
    def little_feed_will_do(self) -> Flags:
        """Where little need be dissolved at a time, so that no least EC is published."""
        return np.asarray(self.coated_alone | self.low_feeding)

    @cached_property
    def ec_of_salts(self) -> Floats:
        """EC that shares of salts are taken of: that of the ions where a lower one is in doubt."""
        return self.salinity.ec_25c * np.maximum(self.medium_ions.times_the_reading, 1.0)

    @cached_property
    def medium_ions(self) -> IonArrays:
        """Salts in the media."""
        unread = np.isnan(self.given.samples.medium.ec)
        return assess_ions(
            self.batch.samples.medium,
            np.where(unread, np.nan, self.salinity.ec_25c),
            "medium",
            self.medium_species,
        )

    @cached_property
    def water_ions(self) -> IonArrays:
        """Salts in the waters."""
        unread = np.isnan(self.given.samples.water.ec)
        water, ec = self.batch.samples.water, np.where(unread, np.nan, self.water_ec_25c)
        return assess_ions(water, ec, "water", species_of(water))

    @cached_property
    def medium_is_whole(self) -> Flags:
        """Where the reported ions of the medium stand for all that is dissolved."""
        if self.medium_species is None:
            return np.zeros(self.batch.samples.count, dtype=bool)
        return tell_of_the_whole(self.batch.samples.medium.ions)

    crops = cached_property(assess_crops)
    """How the plantings stand their media."""

    @cached_property
    def tolerant_crops(self) -> Callable[[int], list[str]]:
        """Tells the crops that tolerate the medium of a sample best."""
        return cache(lambda sample: tolerant_crops(self, sample))

    reference_plantings = cached_property(reference_plantings)
    """Which planting of each sample is taken to stall, and which crop to thrive."""
    water = cached_property(assess_water)
    """The waters against the plantings."""
    alkaline_water = cached_property(assess_alkaline_water)
    """The alkalinity of the waters against their containers."""
    ions_excess = cached_property(assess_ions_excess)
    """Single ions above what the plantings stand."""
    ion_aims = cached_property(assess_ion_aims)
    """Single ions that a flush is planned for."""
    leaching = cached_property(assess_leaching)
    """Leaching requirements."""

    @cached_property
    def flush_case(self) -> FlushCase:
        """What the flush of each container starts from and goes to."""
        if self.to_limit is None:
            return assess_flush_case(self)
        before = self.to_limit
        timing = before.flush_plan.advice.timing
        return before.flush_case.going_on(before.upkeep.lasting_target, timing)

    flush_plan = cached_property(assess_flush_plan)
    """Flush plans of the containers."""

    @cached_property
    def _flush_rows(self) -> dict[int, Column]:
        return {}

    def flush_of(self, row: int) -> Column:
        """Return the flush plan of one container."""
        if row not in self._flush_rows:
            self._flush_rows[row] = row_of(self.flush_plan, row)
        return self._flush_rows[row]

    flush_course = cached_property(assess_flush_course)
    """Flush plans pass by pass."""
    flush_costs = cached_property(assess_flush_costs)
    """What the flush plans carry off."""
    reuse = cached_property(assess_reuse)
    """What comes of the drainage of the flush plans."""
    flush_options = cached_property(assess_flush_options)
    """What could be done instead of a flush in place."""
    watering = cached_property(assess_watering)
    """What the containers are watered with from day to day."""
    upkeep = cached_property(assess_upkeep)
    """Salt between flushes."""
    nutrients = cached_property(assess_nutrients)
    """Nutrient status."""
    causes = cached_property(assess_causes)
    """Causes weighed."""
    ec_by_any_method = cached_property(by_any_method)
    """Saturated extract between the ends of all usual methods, where none is given."""
    acting = cached_property(assess_acting)
    """What is to be settled before anything is poured."""

    @cached_property
    def slips_of_medium(self) -> Callable[[int], SlipTrials]:
        """Tells the slips that were tried on the report of the medium of a sample."""
        if self.to_limit is not None:
            return self.to_limit.slips_of_medium
        return cache(lambda sample: slips_of(medium_solution(self, sample)))

    ways = cached_property(ways_of)
    """What is done with the containers for the salt."""
    leading = cached_property(assess_leading)
    """What is first in line in each sample."""


def _rows_of(owner: Codes, samples: int) -> list[list[int]]:
    """Return the rows of each sample in a table that names the owner of each row."""
    rows: list[list[int]] = [[] for _ in range(samples)]
    for row, sample in enumerate(owner.tolist()):
        rows[sample].append(row)
    return rows


def assess(
    given: Batch, catalogue: Crops, *, ends: tuple[str, ...] = (), own_ranges: Own = ()
) -> Assessment:
    """Assess a batch of samples with their containers and crops.

    Parameters
    ----------
    given : Batch
        One row a sample, a container, a planting.
    catalogue : Crops
        The crops, in the order of their codes.
    ends : tuple of str, optional
        What the samples behind the first are, two each: the first at the low and at the high end of
        something. Each is named by the id of the finding that says that its verdicts differ.
    own_ranges : tuple of OwnRange, optional
        A laboratory's or region's own ranges of nutrients and pH.
    """
    batch, defaults = fill(without_impossible_ph(without_contradicting(given)))
    return Assessment(given, batch, defaults, catalogue, ends, own_ranges)
