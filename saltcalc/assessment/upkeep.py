"""Keeping salt down between flushes: where the medium's EC goes with this water, and how soon."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from saltcalc.assessment.batch import Batch, FloatArray
from saltcalc.assessment.flush_case import FlushCase
from saltcalc.assessment.flush_plan import daily_use
from saltcalc.science.buildup import (
    days_to_limit,
    ec_over_days,
    leaching_fraction_for,
    steady_state_ec,
)

FRACTIONS = (0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5)
"""Leaching fractions for which the steady state is given."""

DAYS = tuple(range(0, 85, 7))
"""Days for which the build-up is given."""

EFFICIENCY = 1.0
"""Share of the drainage that is the medium's solution, in the salt balance of the handbooks.

Small daily waterings soak in, where a flush poured on runs past in part.
"""

FLUSHED_TO = 0.7
"""EC a flush between times brings the medium to, over its limit (judgement)."""


@dataclass(frozen=True)
class Upkeep:
    """Salt between flushes, one row a container.

    Attributes
    ----------
    ec_applied : (m,) ndarray
        EC of water and feed together [dS/m].
    limit : (m,) ndarray
        EC of the pore water not to go beyond [dS/m].
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
    flushed : (m,) ndarray
        EC just after a flush between times [dS/m].
    build_up : (m, days) ndarray
        EC at each of :data:`DAYS` after it [dS/m].
    days_from_now, flush_interval : (m,) ndarray
        Days until the limit is crossed, from the EC now and from just after a flush; infinite
        where it never is.
    """

    ec_applied: FloatArray
    limit: FloatArray
    irrigation: FloatArray
    use: FloatArray
    leaching_fraction: FloatArray
    leaching_fraction_needed: FloatArray
    steady_state: FloatArray
    curve: FloatArray
    flushed: FloatArray
    build_up: FloatArray
    days_from_now: FloatArray
    flush_interval: FloatArray


def assess_upkeep(batch: Batch, case: FlushCase) -> Upkeep:
    """Follow the salt of every container between flushes.

    Parameters
    ----------
    batch : Batch
        With its gaps filled.
    case : FlushCase
        Of its containers.
    """
    owner, samples = case.owner, batch.samples
    applied = np.asarray(case.flush.ec_water) + samples.feed_ec[owner]
    use = daily_use(batch, case)
    given = samples.irrigation[owner] * case.area / 10_000.0
    given = np.where(case.sealed, np.minimum(given, use), given)
    with np.errstate(divide="ignore", invalid="ignore"):
        fraction = np.where(given > 0, np.maximum(given - use, 0.0) / given, 0.0)
    stated = samples.leaching_efficiency[owner]
    efficiency = np.where(np.isnan(stated), EFFICIENCY, stated)
    held = np.asarray(case.flush.water_held)
    limit = case.target_pore_water
    flushed = np.fmax(FLUSHED_TO * limit, np.minimum(applied, limit))
    course = (applied, given, use, held)
    needed = leaching_fraction_for(applied, limit, efficiency)
    return Upkeep(
        ec_applied=applied,
        limit=limit,
        irrigation=given,
        use=use,
        leaching_fraction=fraction,
        leaching_fraction_needed=np.where(case.sealed, np.nan, needed),
        steady_state=steady_state_ec(applied, fraction, efficiency),
        curve=steady_state_ec(applied[:, np.newaxis], FRACTIONS, efficiency[:, np.newaxis]),
        flushed=flushed,
        build_up=ec_over_days(flushed, *course, np.array(DAYS, dtype=float), efficiency),
        days_from_now=days_to_limit(limit, case.flush.ec_medium, *course, efficiency),
        flush_interval=days_to_limit(limit, flushed, *course, efficiency),
    )
