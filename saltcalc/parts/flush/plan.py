"""How to take each container down once: litres, passes, and the check that ends it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.batch import Batch
from saltcalc.parts.flush.case import FlushCase
from saltcalc.parts.flush.held_back import just_above, not_cured
from saltcalc.parts.shown import Column
from saltcalc.science import cycles
from saltcalc.science._arrays import Flags, Floats, filled
from saltcalc.science.flush import LAYERS
from saltcalc.science.flush_advice import Advice, advise_flush
from saltcalc.science.pass_days import Course, Timing, course, settled_after
from saltcalc.science.plan import Flush
from saltcalc.science.wetting import WETTED, water_kept

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

SO_SALTY = 4.0
"""Times its target from which a medium is mixed or replaced rather than leached (judgement)."""

RULE_VOLUMES = 2.0
"""Container volumes of water that extension advice pours through a salty pot."""


@dataclass(frozen=True)
class FlushResult:
    """Plans, one row a container; of a sealed one, as if it drained.

    Attributes
    ----------
    case : FlushCase
        What the plans start from.
    advice : Advice
        Schedule, passes, EC [dS/m] of the pore water, volumes [L], times [h].
    kept : (m,) ndarray
        Water of the wetting that stays in the container [L].
    settled : (m,) ndarray
        EC that the pore water of the middle container settles to after the plan [dS/m].
    reachable : (m,) ndarray of bool
        Where this water, and gypsum, let the medium get to its target at all.
    least_reachable : (m,) ndarray
        EC that no flush with this water gets below, as pore water [dS/m].
    two_volume_rule : (m,) ndarray
        Twice the volume of the container [L].
    check_own, check_pour_through : (m,) ndarray
        Reading at or below which the flush is done, by the medium's own extraction method and by
        pour-through [dS/m].
    not_cured : (m,) ndarray of bool
        Where a flush would not cure what is wrong.
    just_above : (m,) ndarray of bool
        Where the medium is above its target by less than samples scatter.
    ec_is_lower_bound : (m,) ndarray of bool
        Where the EC is only the least that the ions make, too little to tell litres from.
    """

    case: FlushCase
    advice: Column
    kept: Floats
    settled: Floats
    reachable: Flags
    least_reachable: Floats
    two_volume_rule: Floats
    check_own: Floats
    check_pour_through: Floats
    not_cured: Flags
    just_above: Flags
    ec_is_lower_bound: Flags

    @cached_property
    def told(self) -> Column:
        """What to do."""
        return self.advice.instruction

    @cached_property
    def works(self) -> Flags:
        """Where these litres, with the check and further rounds, get there as surely as asked."""
        return np.asarray(self.told.attained & (self.told.passes > 0))

    @cached_property
    def flushed(self) -> Flags:
        """Where the container is flushed as it is, by a plan that gets there."""
        return np.asarray(self.works & self.planned & np.logical_not(self.case.sealed))

    @cached_property
    def planned(self) -> Flags:
        """Where the salt is to be taken down, in one way or another."""
        held_back = self.not_cured | self.just_above | self.ec_is_lower_bound
        return np.asarray(self.case.needed & np.logical_not(held_back))

    @cached_property
    def infeasible(self) -> Flags:
        """Where a flush is needed and this water, or any sensible amount of it, will not do."""
        return self.case.needed & np.logical_not(self.works & self.reachable)

    @cached_property
    def gypsum_bound(self) -> Flags:
        """Where the plan ends with gypsum holding the medium above its target."""
        return np.asarray(self.case.gypsum_bound & self.told.attained)

    @cached_property
    def passes_run_out(self) -> Flags:
        """Where the number of passes stops the flush, not the water or its amount."""
        bound = np.asarray(self.case.flush.ceiling) < self.case.practical_water
        return np.asarray(
            self.reachable & np.logical_not(self.told.attained | self.case.too_close) & bound
        )

    @cached_property
    def many_pourings(self) -> Flags:
        """Where the plan takes more pourings than people do by hand."""
        return np.asarray(self.works & self.case.by_hand & np.logical_not(self.told.few_pourings))

    @cached_property
    def so_salty(self) -> Flags:
        """Where mixing or replacing the medium goes before a flush of many pourings."""
        least = SO_SALTY * np.asarray(self.case.target_pore_water)
        return np.asarray(np.asarray(self.case.flush.ec_medium) >= least)

    @cached_property
    def leads(self) -> Flags:
        """Where no other way goes before the flush in place."""
        return np.asarray(self.flushed & (self.many_pourings | np.logical_not(self.infeasible)))

    @cached_property
    def has_other_ways(self) -> Flags:
        """Where other ways are told."""
        return np.asarray(self.planned & (self.case.sealed | self.many_pourings | self.infeasible))

    @cached_property
    def drained(self) -> Floats:
        """Water that drains of the plan [L]."""
        return np.where(self.told.passes > 0, self.told.litres - self.kept, 0.0)

    @cached_property
    def ec_after(self) -> Floats:
        """EC of the pore water after the plan, or now where nothing is flushed [dS/m]."""
        return np.where(self.flushed, self.settled, self.case.flush.ec_medium)


def assess_flush_plan(assessment: Assessment) -> FlushResult:
    """Plan the flush of every container."""
    case = assessment.flush_case
    flush = case.flush
    advice = advise(case, flush)
    if assessment.to_limit:
        # By a schedule that is given none is held against another; it is chosen on the way there.
        chosen = assessment.to_limit.flush_plan.advice
        advice = advice._replace(rest_saves=chosen.rest_saves)
    wetting, check = filled(advice.instruction.wetting, 0.0), advice.instruction.check_ec
    pots, one, start = _middle(case, flush)
    after = settled_after(pots, one, start, advice.timing, advice.instruction.passes)
    return FlushResult(
        case=case,
        advice=advice,
        kept=water_kept(wetting, flush.deficit, case.known.start.reach),
        settled=np.fmax(flush.ec_water + after, case.gypsum_plateau),
        reachable=((flush.ec_water < case.target_pore_water) & ~case.gypsum_bound) | ~case.needed,
        least_reachable=np.fmax(flush.ec_water, case.gypsum_plateau),
        two_volume_rule=RULE_VOLUMES * case.volume,
        check_own=check / case.settled_over_reading,
        check_pour_through=check * case.target_pour_through / case.target_pore_water,
        not_cured=not_cured(assessment)[case.owner],
        just_above=just_above(assessment),
        ec_is_lower_bound=assessment.ec_is_lower_bound[case.owner],
    )


def advise(case: FlushCase, flush: Flush, timing: Timing | None = None) -> Advice:
    """Choose instructions for another water or target, by a given schedule or the best one."""
    return advise_flush(
        flush,
        case.known,
        case.reading,
        case.confidence,
        timing or case.timing,
    )


def middle_pots(case: FlushCase) -> cycles.Pots:
    """Return how each middle container loses its salt."""
    efficiency, immobile, rate, store = (
        filled(interval.value, 0.5) for interval in case.known.washout
    )
    return cycles.Pots.of(efficiency, immobile, rate, store, LAYERS)


def _middle(case: FlushCase, flush: Flush) -> tuple[cycles.Pots, Floats, Floats]:
    """Return the middle containers, what a pass does to them, and their excess once wetted."""
    pots = middle_pots(case)
    with np.errstate(divide="ignore", invalid="ignore"):
        drained = filled(np.asarray(flush.pass_volume) / np.asarray(flush.water_held), 0.0)
        wetted = WETTED * np.asarray(flush.deficit) / np.asarray(flush.water_held)
    one = cycles.pass_map(pots, drained, filled(flush.duration, 0.0))
    soaked = np.asarray(flush.ec_water) * wetted / pots.capacity
    return pots, one, cycles.even_excess(pots, flush.ec_medium + soaked, flush.ec_water)


def assess_flush_course(assessment: Assessment) -> Course:
    """Follow the plan of every middle container pass by pass, above the water."""
    result = assessment.flush_plan
    flush = result.case.flush
    drained = np.asarray(flush.pass_volume) / np.asarray(flush.water_held)
    passes = np.where(result.flushed, result.told.passes, 0)
    return course(*_middle(result.case, flush), result.advice.timing, passes, drained)


def daily_use(batch: Batch, case: FlushCase) -> Floats:
    """Water use of each container [L/day]."""
    return batch.samples.evapotranspiration[case.owner] * case.area / 10_000.0
