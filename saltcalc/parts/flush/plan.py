"""How to take each container down once: litres, passes, and where to stop."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.batch import Batch
from saltcalc.parts.flush.case import FlushCase
from saltcalc.science import plan as planning
from saltcalc.science._arrays import Flags, Floats
from saltcalc.science.flush import WashoutParameters, well_mixed_drainage
from saltcalc.science.plan import FlushPlan, WaterInterval, plan_flush

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

MANY_PASSES = 48
"""Passes beyond which other ways are offered beside the plan (judgement): about five days."""

RULE_VOLUMES = 2.0
"""Container volumes of water that extension advice pours through a salty pot."""


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
    well_mixed : (m,) ndarray
        Water to apply if the container mixed at once [L].
    two_volume_rule : (m,) ndarray
        Twice the volume of the container [L].
    """

    case: FlushCase
    plan: FlushPlan
    water: WaterInterval
    reachable: Flags
    practical: Flags
    least_reachable: Floats
    well_mixed: Floats
    two_volume_rule: Floats

    @property
    def flushed(self) -> Flags:
        """Where the container is flushed as it stands, by a plan that gets there."""
        return self.plan.reached & (self.plan.passes > 0) & np.logical_not(self.case.sealed)

    @property
    def infeasible(self) -> Flags:
        """Where a flush is needed and this water, or any sensible amount of it, will not do."""
        works = self.reachable & self.practical & (self.plan.passes > 0)
        return self.case.needed & np.logical_not(works)

    @property
    def gypsum_bound(self) -> Flags:
        """Where the plan ends with gypsum holding the medium above its target."""
        return self.case.gypsum_bound & self.plan.reached

    @property
    def passes_bound(self) -> Flags:
        """Where the most passes hold less water than the practical ceiling."""
        return np.asarray(self.case.flush.ceiling) <= self.case.practical_water

    @property
    def passes_run_out(self) -> Flags:
        """Where the number of passes stops the flush, not the water or its amount."""
        return self.reachable & np.logical_not(self.plan.reached) & self.passes_bound

    @property
    def many_passes(self) -> Flags:
        """Where the plan takes so many passes that other ways are offered beside it."""
        return np.asarray(self.plan.passes > MANY_PASSES)

    @property
    def may_exceed_practical(self) -> Flags:
        """Where the upper end of the water is beyond what is practical."""
        return np.asarray(self.water.high > self.case.practical_water)

    @property
    def ec_after(self) -> Floats:
        """EC of the pore water after the plan, or now where nothing is flushed [dS/m]."""
        now = np.asarray(self.case.flush.ec_medium)
        return np.where(self.flushed, self.plan.ec_after, now)


def assess_flush_plan(assessment: Assessment) -> FlushResult:
    """Plan the flush of every container."""
    case = assessment.flush_case
    flush, target = case.flush, case.target_pore_water
    parameters = central(case)
    plan = plan_flush(flush, parameters)
    ec_water, start = np.asarray(flush.ec_water), np.asarray(flush.ec_medium)
    held, deficit = np.asarray(flush.water_held), np.asarray(flush.deficit)
    well_mixed = deficit + held * well_mixed_drainage(
        start + ec_water * deficit / held, ec_water, target, parameters.efficiency
    )
    return FlushResult(
        case=case,
        plan=plan,
        water=planning.water_interval(flush, case.washout, case.held, case.start, case.conversion),
        reachable=((ec_water < target) & ~case.gypsum_bound) | ~case.needed,
        practical=is_practical(plan, case),
        least_reachable=np.fmax(ec_water, case.gypsum_plateau),
        well_mixed=np.where(np.isfinite(well_mixed), well_mixed, np.nan),
        two_volume_rule=RULE_VOLUMES * case.volume,
    )


def is_practical(plan: FlushPlan, case: FlushCase) -> Flags:
    """Where a plan gets there with an amount of water that is still practical."""
    return np.asarray(plan.reached & (plan.applied <= case.practical_water))


def central(case: FlushCase) -> WashoutParameters:
    """Return the central washout parameters of each container."""
    efficiency, immobile, rate, store = (interval.value for interval in case.washout[:4])
    return WashoutParameters(efficiency, immobile, rate, store, case.washout.layers)


def daily_use(batch: Batch, case: FlushCase) -> Floats:
    """Water use of each container [L/day]."""
    return batch.samples.evapotranspiration[case.owner] * case.area / 10_000.0
