"""How to take each container down once: litres, passes, where to stop, and what it costs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from saltcalc.case.batch import Batch, BoolArray, FloatArray
from saltcalc.data.nutrients import governing_range
from saltcalc.data.reported_ions import reported_ions
from saltcalc.data.washout import RETAINED_NUTRIENTS, nutrient_retention
from saltcalc.parts.flush_case import FlushCase
from saltcalc.parts.water import RAIN_EC
from saltcalc.science.blend import blend_share, blended
from saltcalc.science.drying import UPTAKE_EC, days_of_uptake, ec_at_moisture
from saltcalc.science.feed import ec_of_nitrate, nitrogen_to_add
from saltcalc.science.flush import WashoutParameters, well_mixed_drainage
from saltcalc.science.nutrient_loss import NutrientLoss, nutrient_loss
from saltcalc.science.plan import FlushPlan, WaterInterval, plan_flush
from saltcalc.science.plan import water_interval as interval_of_water

CLEAN_MEDIUM = 0.8
"""EC of the saturated extract [dS/m] of a low-salt medium to blend with, at most."""

CLEAN_OVER_TARGET = 0.5
"""For a low target: EC of the low-salt medium over the target (judgement)."""

WATER_OVER_TARGET = 0.5
"""EC of a flushing water that gets to its target without great excess, over that target."""

MANY_PASSES = 48
"""Passes beyond which other ways are offered beside the plan (judgement): about five days."""

POT_RULE = 2.0
"""Pot volumes of water that extension advice pours through a salty pot."""

MOISTURES = (1.0, 0.8, 0.6)
"""Water held over water held at capacity, for which the pore water is given."""


@dataclass(frozen=True)
class FlushResult:
    """Plans, one row a container; of a sealed one, as if it drained.

    Attributes
    ----------
    case : FlushCase
        What the plans start from.
    plan : FlushPlan
        Passes, EC [dS/m], volumes [L].
    water : WaterInterval
        80 % interval of the water to apply [L].
    reachable : (m,) ndarray of bool
        Where this water, and gypsum, let the medium get to its target at all.
    practical : (m,) ndarray of bool
        Where that takes no more than ten container volumes.
    least_reachable : (m,) ndarray
        EC that no flush with this water gets below, as pore water [dS/m].
    rain_share : (m,) ndarray
        Share of rain water that brings the water's EC to half the target [L/L]; 0 where it is,
        NaN where rain water would not do either.
    mixed_water : (m,) ndarray
        EC of the water with that share of rain [dS/m]; NaN where none is mixed in.
    mixed_plan : FlushPlan
        Plans with that water; of no pass where there is none.
    mixed_works : (m,) ndarray of bool
        Where rain is mixed in, and with it the medium gets to its target with a practical amount.
    well_mixed : (m,) ndarray
        Water to apply if the container mixed at once [L].
    pot_rule : (m,) ndarray
        Twice the volume of the container [L].
    nutrients : dict of str to NutrientLoss of (m,) ndarray
        What the flush carries off [mg], [mg/L].
    nitrogen_wanted, nitrogen_to_add : (m,) ndarray
        Nitrogen wanted in the pore water [mg/L], and to be fed for it [mg].
    ec_of_feed : (m,) ndarray
        What that feed adds to the EC [dS/m].
    salty_share, clean_ec : (m,) ndarray
        Share of this medium in a blend with a low-salt one [L/L], and that one's EC as saturated
        extract [dS/m].
    blend_ec, blend_nitrogen : (m,) ndarray
        Of the blend: EC as saturated extract [dS/m], nitrate nitrogen by the medium's own
        extraction if the low-salt medium holds none [mg/L].
    ec_as_it_dries : (m, 3) ndarray
        EC of the pore water at each of :data:`MOISTURES` [dS/m].
    uptake_days : (m, 2) ndarray
        Days until plants draw the medium down, at most and at least salt taken up [days].
    """

    case: FlushCase
    plan: FlushPlan
    water: WaterInterval
    reachable: BoolArray
    practical: BoolArray
    least_reachable: FloatArray
    rain_share: FloatArray
    mixed_water: FloatArray
    mixed_plan: FlushPlan
    mixed_works: BoolArray
    well_mixed: FloatArray
    pot_rule: FloatArray
    nutrients: dict[str, NutrientLoss]
    nitrogen_wanted: FloatArray
    nitrogen_to_add: FloatArray
    ec_of_feed: FloatArray
    salty_share: FloatArray
    clean_ec: FloatArray
    blend_ec: FloatArray
    blend_nitrogen: FloatArray
    ec_as_it_dries: FloatArray
    uptake_days: FloatArray

    @property
    def flushed(self) -> BoolArray:
        """Where the container is flushed as it stands, by a plan that gets there."""
        return self.plan.reached & (self.plan.passes > 0) & ~self.case.sealed

    @property
    def gypsum_bound(self) -> BoolArray:
        """Where the plan ends with gypsum holding the medium above its target."""
        return self.case.gypsum_bound & self.plan.reached

    @property
    def passes_bound(self) -> BoolArray:
        """Where the most passes hold less water than the practical ceiling."""
        return np.asarray(self.case.flush.ceiling) <= self.case.practical_water

    @property
    def passes_run_out(self) -> BoolArray:
        """Where the number of passes stops the flush, not the water or its amount."""
        return self.reachable & ~self.plan.reached & self.passes_bound

    @property
    def many_passes(self) -> BoolArray:
        """Where the plan takes so many passes that other ways are offered beside it."""
        return np.asarray(self.plan.passes > MANY_PASSES)

    @property
    def may_exceed_practical(self) -> BoolArray:
        """Where the upper end of the water is beyond what is practical."""
        return np.asarray(self.water.high > self.case.practical_water)

    @property
    def ec_after(self) -> FloatArray:
        """EC of the pore water after the plan, or now where nothing is flushed [dS/m]."""
        now = np.asarray(self.case.flush.ec_medium)
        return np.where(self.flushed, self.plan.ec_after, now)


def plan_of_batch(batch: Batch, case: FlushCase) -> FlushResult:
    """Plan the flush of every container of a batch, and what else could be done.

    Parameters
    ----------
    batch : Batch
        With its gaps filled.
    case : FlushCase
        Of its containers.
    """
    flush, target = case.flush, case.target_pore_water
    parameters = central(case)
    plan = plan_flush(flush, parameters)
    ec_water, start = np.asarray(flush.ec_water), np.asarray(flush.ec_medium)
    held = np.asarray(flush.water_held)
    least = np.fmax(ec_water, case.gypsum_plateau)
    deficit = np.asarray(flush.deficit)
    well_mixed = deficit + held * well_mixed_drainage(
        start + ec_water * deficit / held, ec_water, target, parameters.efficiency
    )
    nutrients = _nutrients(batch, case, plan, parameters)
    left = nutrients["nitrate_n"].after + np.nan_to_num(nutrients["ammonium_n"].after)
    wanted = _nitrogen_wanted(batch, case)
    added = nitrogen_to_add(left, wanted, held)
    clean = np.minimum(CLEAN_MEDIUM, CLEAN_OVER_TARGET * case.target_extract)
    share = blend_share(case.extract, clean, case.target_extract)
    nitrate = _reported(batch, "nitrate_n")[case.owner]
    rain_share = _rain_share(ec_water, target)
    mixed_water = np.where(rain_share > 0, WATER_OVER_TARGET * target, np.nan)
    mixed_plan = plan_flush(flush._replace(ec_water=mixed_water), parameters)
    return FlushResult(
        case=case,
        plan=plan,
        water=interval_of_water(flush, case.washout, case.held, case.start, case.conversion),
        reachable=((ec_water < target) & ~case.gypsum_bound) | ~case.needed,
        practical=_practical(plan, case),
        least_reachable=least,
        rain_share=rain_share,
        mixed_water=mixed_water,
        mixed_plan=mixed_plan,
        mixed_works=(rain_share > 0)
        & _practical(mixed_plan, case)
        & (mixed_plan.passes > 0)
        & ~case.gypsum_bound,
        well_mixed=np.where(np.isfinite(well_mixed), well_mixed, np.nan),
        pot_rule=POT_RULE * case.volume,
        nutrients=nutrients,
        nitrogen_wanted=wanted,
        nitrogen_to_add=added,
        ec_of_feed=ec_of_nitrate(added / held),
        salty_share=share,
        clean_ec=clean,
        blend_ec=_blended(case.extract, clean, share),
        blend_nitrogen=_blended(nitrate, np.zeros_like(nitrate), share),
        ec_as_it_dries=ec_at_moisture(start[:, np.newaxis], MOISTURES),
        uptake_days=days_of_uptake(
            start[:, np.newaxis],
            target[:, np.newaxis],
            ec_water[:, np.newaxis],
            held[:, np.newaxis],
            daily_use(batch, case)[:, np.newaxis],
            UPTAKE_EC[::-1],
        ),
    )


def central(case: FlushCase) -> WashoutParameters:
    """Return the central washout parameters of each container."""
    efficiency, immobile, rate, store = (interval.value for interval in case.washout[:4])
    return WashoutParameters(efficiency, immobile, rate, store, case.washout.layers)


def daily_use(batch: Batch, case: FlushCase) -> FloatArray:
    """Water use of each container [L/day]."""
    return batch.samples.evapotranspiration[case.owner] * case.area / 10_000.0


def _practical(plan: FlushPlan, case: FlushCase) -> BoolArray:
    return np.asarray(plan.reached & (plan.applied <= case.practical_water))


def _rain_share(ec_water: FloatArray, target: FloatArray) -> FloatArray:
    wanted = WATER_OVER_TARGET * target
    with np.errstate(divide="ignore", invalid="ignore"):
        share = (ec_water - wanted) / (ec_water - RAIN_EC)
    share = np.where(ec_water <= wanted, 0.0, share)
    return np.where(wanted < RAIN_EC, np.nan, share)


def _blended(salty: FloatArray, clean: FloatArray, share: FloatArray) -> FloatArray:
    known = np.where(np.isnan(share), 0.0, share)
    return np.where(np.isnan(share), np.nan, blended(salty, clean, known))


def _reported(batch: Batch, ion: str, owner: str = "medium") -> FloatArray:
    """Concentration of an ion as it is reported [mg/L]."""
    facts = reported_ions()[ion]
    ions = (batch.samples.medium if owner == "medium" else batch.samples.water).ions
    return ions[ion] * facts.mass_per_charge


def _nutrients(
    batch: Batch, case: FlushCase, plan: FlushPlan, parameters: WashoutParameters
) -> dict[str, NutrientLoss]:
    """Follow each reported nutrient; one that the water's report leaves out is not in the water."""
    store = np.array([[nutrient_retention()[name].store_ratio] for name in RETAINED_NUTRIENTS])
    in_medium, in_water = (
        np.stack([_reported(batch, name, owner)[case.owner] for name in RETAINED_NUTRIENTS])
        for owner in ("medium", "water")
    )
    in_water = np.nan_to_num(in_water)
    soaked = np.asarray(case.flush.deficit) / np.asarray(case.flush.water_held)
    loss = nutrient_loss(
        in_medium * case.pore_over_reading + in_water * soaked / (1.0 + store),
        in_water,
        case.flush.water_held,
        plan.drained_each,
        parameters,
        store,
        case.flush.duration,
        case.flush.rest_between,
    )
    return {
        name: NutrientLoss(*(part[row] for part in loss))
        for row, name in enumerate(RETAINED_NUTRIENTS)
    }


def _nitrogen_wanted(batch: Batch, case: FlushCase) -> FloatArray:
    """Nitrate nitrogen at the low end of the published range, as pore water [mg/L]."""
    published = governing_range("saturated_media_extract", "nitrate_n")
    low = np.nan if published is None or published.low is None else published.low
    return np.asarray(low * case.pore_over_extract)
