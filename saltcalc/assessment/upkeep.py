"""Keeping salt down between flushes: where the medium's EC goes with this water, and how soon."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from saltcalc.assessment.batch import NOT_GIVEN, Batch, FloatArray
from saltcalc.assessment.flush_case import FlushCase
from saltcalc.assessment.flush_plan import FlushResult, central, daily_use
from saltcalc.data.slow_release import slow_releases
from saltcalc.science.buildup import (
    days_to_limit,
    ec_over_days,
    ec_that_lasts,
    leaching_fraction_for,
    steady_state_ec,
)
from saltcalc.science.flush import apply_water, settled_ec, uniform_state
from saltcalc.science.plan import FlushPlan, plan_flush

FRACTIONS = (0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5)
"""Leaching fractions for which the steady state is given."""

DAYS = tuple(range(0, 85, 7))
"""Days for which the build-up is given."""

LASTING_DAYS = 28.0
"""Days that a flush should last for (judgement)."""

EFFICIENCY = 1.0
"""Share of the drainage that is the medium's solution, in the salt balance of the handbooks.

Small daily waterings soak in, where a flush poured on runs past in part.
"""


@dataclass(frozen=True)
class Upkeep:
    """Salt between flushes, one row a container.

    Attributes
    ----------
    ec_applied : (m,) ndarray
        EC of water and feed together, with what a slow release gives off spread over them [dS/m].
    release : (m,) ndarray
        The part of it that is slow release [dS/m].
    limit : (m,) ndarray
        EC of the pore water not to go beyond: the target of the flush, or what gypsum holds it at
        where that is more [dS/m].
    irrigation, use : (m,) ndarray
        Water given and used, daily [L/day].
    leaching_fraction : (m,) ndarray
        Share of the daily water that drains [L/L].
    leaching_fraction_needed : (m,) ndarray
        The share that holds the limit [L/L]; NaN where none does, or where nothing can drain.
    steady_state : (m,) ndarray
        EC the pore water comes to as watered now [dS/m]; infinite where nothing drains.
    curve : (m, fractions) ndarray
        The same at each of :data:`FRACTIONS` [dS/m].
    start : (m,) ndarray
        EC to start from: after the flush that is planned, or now where none is [dS/m].
    build_up : (m, days) ndarray
        EC at each of :data:`DAYS` from there [dS/m].
    days_to_limit : (m,) ndarray
        Days from there until the limit is crossed; infinite where it never is.
    regular_flush, after_regular_flush : (m,) ndarray
        A flush of twice the container's volume, given at the limit [L], and the EC after it [dS/m];
        NaN where nothing can drain.
    lasting_target : (m,) ndarray
        EC to flush on to so that the limit is crossed only after :data:`LASTING_DAYS` [dS/m]; NaN
        where the flush that is planned lasts as long, or none is.
    lasting_plan : FlushPlan
        The flush down to it, from now.
    flush_interval : (m,) ndarray
        Days until the limit is crossed again after it, which is how often it is due; infinite
        where the limit is never crossed, NaN where such a flush does not get below it.
    """

    ec_applied: FloatArray
    release: FloatArray
    limit: FloatArray
    irrigation: FloatArray
    use: FloatArray
    leaching_fraction: FloatArray
    leaching_fraction_needed: FloatArray
    steady_state: FloatArray
    curve: FloatArray
    start: FloatArray
    build_up: FloatArray
    days_to_limit: FloatArray
    regular_flush: FloatArray
    after_regular_flush: FloatArray
    flush_interval: FloatArray
    lasting_target: FloatArray
    lasting_plan: FlushPlan


def assess_upkeep(batch: Batch, result: FlushResult) -> Upkeep:
    """Follow the salt of every container between flushes.

    Parameters
    ----------
    batch : Batch
        With its gaps filled.
    result : FlushResult
        Of its containers.
    """
    case, samples = result.case, batch.samples
    owner = case.owner
    use = daily_use(batch, case)
    given = samples.irrigation[owner] * case.area / 10_000.0
    given = np.where(case.sealed, np.minimum(given, use), given)
    with np.errstate(divide="ignore", invalid="ignore"):
        fraction = np.where(given > 0, np.maximum(given - use, 0.0) / given, 0.0)
    release = _release(batch, case, given)
    applied = np.asarray(case.flush.ec_water) + samples.feed_ec[owner] + release
    stated = samples.leaching_efficiency[owner]
    efficiency = np.where(np.isnan(stated), EFFICIENCY, stated)
    held = np.asarray(case.flush.water_held)
    limit = np.asarray(case.flush.ec_target)
    after = np.where(case.sealed, np.nan, _after_regular_flush(result, limit))
    interval = days_to_limit(limit, after, applied, given, use, held, efficiency)
    course = (applied, given, use, held)
    days = days_to_limit(limit, result.ec_after, *course, efficiency)
    lasting = ec_that_lasts(limit, LASTING_DAYS, *course, efficiency)
    worth = result.flushed & (days < LASTING_DAYS) & (lasting > 0)
    lasting = np.where(worth, lasting, np.nan)
    needed = leaching_fraction_for(applied, limit, efficiency)
    return Upkeep(
        ec_applied=applied,
        release=release,
        limit=limit,
        irrigation=given,
        use=use,
        leaching_fraction=fraction,
        leaching_fraction_needed=np.where(case.sealed, np.nan, needed),
        steady_state=steady_state_ec(applied, fraction, efficiency),
        curve=steady_state_ec(applied[:, np.newaxis], FRACTIONS, efficiency[:, np.newaxis]),
        start=result.ec_after,
        build_up=ec_over_days(result.ec_after, *course, np.array(DAYS, dtype=float), efficiency),
        days_to_limit=days,
        regular_flush=np.where(case.sealed, np.nan, result.pot_rule),
        after_regular_flush=after,
        flush_interval=np.where(after < limit, interval, np.nan),
        lasting_target=lasting,
        lasting_plan=plan_flush(case.flush._replace(ec_target=lasting), central(case)),
    )


def _release(batch: Batch, case: FlushCase, given: FloatArray) -> FloatArray:
    """Salt of a slow release, as EC of each day's water [dS/m]."""
    rates = np.array([each.rate for each in slow_releases().values()] + [0.0])
    code = batch.samples.slow_release[case.owner]
    daily = np.where(code == NOT_GIVEN, 0.0, rates[code]) * np.asarray(case.flush.water_held)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(given > 0, daily / given, 0.0)


def _after_regular_flush(result: FlushResult, limit: FloatArray) -> FloatArray:
    """EC that a medium at its limit settles to after twice the container's volume [dS/m].

    Poured on evenly over the time that its passes and the rests between them take.
    """
    case, flush = result.case, result.case.flush
    passes = np.ceil(result.pot_rule / np.asarray(flush.pass_volume))
    hours = passes * np.asarray(flush.duration) + (passes - 1) * np.asarray(flush.rest_between)
    parameters = central(case)
    washed = apply_water(
        uniform_state(limit, parameters),
        parameters,
        result.pot_rule / np.asarray(flush.water_held),
        flush.ec_water,
        hours,
    )
    return np.fmax(settled_ec(washed.state, parameters), case.gypsum_plateau)
