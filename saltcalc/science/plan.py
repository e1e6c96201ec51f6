"""The flush as a plan: how many passes of how much water, and how sure that is."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Codes, Flags, Floats
from saltcalc.science.flush import (
    LAYERS,
    SaltState,
    WashoutParameters,
    apply_water,
    rest,
    settled_ec,
    soak_up,
    uniform_state,
)
from saltcalc.science.passes import excess_over_water, pass_operator, repeat_pass
from saltcalc.science.uncertainty import HIGH, LOW, Interval, amount_at, normal_sample, share_at

_History = list[tuple[Codes, Floats, Floats, Floats]]

PASS_HOURS = 0.25
"""Time a pass takes to sink in and drain (common practice). [h]"""

CEILING_VOLUMES = 10.0
"""Water over container volume beyond which flushing is not practical (judgement). [L/L]"""


LARGEST_PASS = 0.25
"""Most water of one pass, over the volume of the medium (judgement). [L/L]"""

SAMPLE_SIZE = 128
"""Size of the quasi-random sample behind an interval."""


class Flush(NamedTuple):
    """One flush of each container: what is there and what is wanted. Arrays of shape (...)."""

    ec_medium: npt.ArrayLike
    """EC of the medium's solution at container capacity. [dS/m]"""
    ec_target: npt.ArrayLike
    """EC to come down to, on the same basis. [dS/m]"""
    ec_water: npt.ArrayLike
    """EC of the water poured on. [dS/m]"""
    water_held: npt.ArrayLike
    """Water the container holds at capacity. [L]"""
    deficit: npt.ArrayLike
    """Water missing to capacity at the start, soaked up before any drains, its salt with it. [L]"""
    pass_volume: npt.ArrayLike
    """Water of one pass, at most what the head-space takes. [L]"""
    ceiling: npt.ArrayLike
    """Most water to apply before giving up. [L]"""
    duration: npt.ArrayLike
    """Time a pass takes. [h]"""
    rest_between: npt.ArrayLike
    """Rest between passes. [h]"""


class FlushPlan(NamedTuple):
    """Passes that bring each container to its target, and what to expect of each pass."""

    passes: Codes
    """Number of passes, shape (...); those up to the ceiling where the target is not reached."""
    reached: Flags
    """Whether the medium is at its target after them, shape (...)."""
    applied: Floats
    """Water poured on in all, shape (...). [L]"""
    drained: Floats
    """Water drained in all, shape (...). [L]"""
    hours: Floats
    """Time it takes, rests included, shape (...). [h]"""
    drained_each: Floats
    """Water drained by each pass, shape (..., most passes); NaN past a container's last. [L]"""
    ec_medium: Floats
    """EC the medium settles to after each pass, shape (..., most passes). [dS/m]"""
    ec_drainage: Floats
    """EC of each pass's drainage, shape (..., most passes). [dS/m]"""

    @property
    def ec_after(self) -> Floats:
        """EC [dS/m] the medium settles to after the last pass, shape (...); NaN without one."""
        return self._at_last_pass(self.ec_medium)

    @property
    def stop_reading(self) -> Floats:
        """EC [dS/m] of the drainage of the last pass, shape (...); NaN without one."""
        return self._at_last_pass(self.ec_drainage)

    def _at_last_pass(self, figures: Floats) -> Floats:
        if not figures.shape[-1]:
            return np.full(figures.shape[:-1], np.nan)
        last = np.maximum(self.passes - 1, 0)[..., np.newaxis]
        found = np.take_along_axis(figures, last, axis=-1)[..., 0]
        return np.where(self.passes > 0, found, np.nan)


def headspace_volume(
    volume: npt.ArrayLike, area: npt.ArrayLike, headspace: npt.ArrayLike
) -> Floats:
    """Water that fits on top of the medium.

    Parameters
    ----------
    volume : array_like, shape (...)
        Volume of the medium. [L]
    area : array_like, shape (...)
        Area of its surface. [cm²]
    headspace : array_like, shape (...)
        Room between medium and rim. [cm]

    Returns
    -------
    ndarray, shape (...)
        Volume of the head-space, at most :data:`LARGEST_PASS` of the medium's, so that shallow
        cells are not given more than they take in. [L]

    Examples
    --------
    3 cm over a pot of 380 cm² take 1.14 L.

    >>> print(headspace_volume(10.0, 380.0, 3.0).round(2))
    1.14
    """
    room = np.asarray(headspace, dtype=np.float64) * np.asarray(area, dtype=np.float64) / 1000.0
    return np.asarray(np.minimum(room, LARGEST_PASS * np.asarray(volume, dtype=np.float64)))


def plan_flush(
    flush: Flush, parameters: WashoutParameters, state: SaltState | None = None
) -> FlushPlan:
    """Pass by pass, wash each container until it settles at or below its target.

    Parameters
    ----------
    flush : Flush
        What is there and wanted; its arrays broadcast to shape (...).
    parameters : WashoutParameters
        Their arrays broadcast with shape (...).
    state : SaltState, optional
        Concentrations to start from, shape (..., layers), of a flush under way; without it the
        medium is even, at ``flush.ec_medium``.

    Returns
    -------
    FlushPlan
        Where the water's own EC is at or above the target, no passes and ``reached`` false (unless
        the medium is there already); where the ceiling comes first, the passes up to it and
        ``reached`` false; where an input is missing, no passes, false and NaN.

    Raises
    ------
    ValueError
        If a volume or a time is negative, or the pass volume is zero.

    Examples
    --------
    From 6 to 2 dS/m with water of 0.5, a litre a pass in a container that holds 5 L.

    >>> flush = Flush(6.0, 2.0, 0.5, 5.0, 0.0, 1.0, 100.0, PASS_HOURS, 0.5)
    >>> plan = plan_flush(flush, WashoutParameters(0.65, 0.25, 0.2, 0.1))
    >>> print(plan.passes, plan.applied, plan.ec_after.round(2), plan.reached)
    10 10.0 1.94 True
    """
    if state is not None:
        flush = flush._replace(ec_medium=settled_ec(state, parameters))
    ready = [np.asarray(part, dtype=np.float64) for part in flush]
    ready += [np.asarray(part, dtype=np.float64) for part in parameters[:4]]
    shape = np.broadcast_shapes(*(part.shape for part in ready))
    flat = [np.broadcast_to(part, shape).reshape(-1) for part in ready]
    ec, target, water, held, deficit, each, ceiling, duration, pause, *washout = flat
    _check(each, held, deficit, ceiling, duration, pause)
    known = ~np.isnan(np.stack(flat)).any(axis=0)
    there = known & (ec <= target)
    open_cases = np.flatnonzero(known & ~there & (water < target))

    count = np.zeros(ec.size, dtype=np.int64)
    drained_total = np.where(known, 0.0, np.nan)
    reached = there.copy()
    history: _History = []
    whole = uniform_state(ec.reshape(shape), parameters) if state is None else state
    above = excess_over_water(whole, water.reshape(shape))
    excess = above.reshape(-1, 2 * parameters.layers)[open_cases]
    step = 0
    operator: Floats | None = None
    while open_cases.size:
        step += 1
        i = open_cases
        drained = np.clip(step * each[i] - deficit[i], 0.0, each[i])
        if operator is None:
            now = _of_cases(washout, i, parameters.layers)
            if np.all(drained == each[i]):
                operator = pass_operator(now, drained / held[i], duration[i], pause[i])
        if operator is None:
            soaked = np.clip(deficit[i] - (step - 1) * each[i], 0.0, each[i]) / held[i]
            times = duration[i], pause[i]
            done = _soaking_pass(excess, now, soaked, drained / held[i], water[i], times)
        else:
            done = repeat_pass(operator, excess)
        excess, settled, drainage = done
        history.append((i, drained, settled + water[i], drainage + water[i]))
        count[i] = step
        drained_total[i] += drained
        reached[i] = settled + water[i] <= target[i]
        going = ~reached[i] & ((step + 1) * each[i] <= ceiling[i] * (1 + 1e-12))
        open_cases, excess = i[going], excess[going]
        operator = None if operator is None else operator[going]

    each_drained, medium, drainage = _as_columns(history, ec.size).reshape(3, *shape, step)
    applied = np.where(known, count * each, np.nan)
    hours = np.where(known, count * duration + np.maximum(count - 1, 0) * pause, np.nan)
    return FlushPlan(
        passes=count.reshape(shape),
        reached=reached.reshape(shape),
        applied=applied.reshape(shape),
        drained=drained_total.reshape(shape),
        hours=hours.reshape(shape),
        drained_each=each_drained,
        ec_medium=medium,
        ec_drainage=drainage,
    )


def _soaking_pass(
    excess: Floats,
    parameters: WashoutParameters,
    soaked: Floats,
    drained: Floats,
    water: Floats,
    times: tuple[Floats, Floats],
) -> tuple[Floats, Floats, Floats]:
    """Do a pass of which the medium keeps a part, as :func:`repeat_pass` does the later ones."""
    duration, pause = times
    mobile, immobile = np.split(excess + water[:, np.newaxis], 2, axis=-1)
    state = soak_up(SaltState(mobile, immobile), parameters, soaked, water)
    result = apply_water(state, parameters, drained, water, duration)
    settled = settled_ec(result.state, parameters)
    after = rest(result.state, parameters, pause)
    return excess_over_water(after, water), settled - water, result.ec_drainage - water


def _check(pass_volume: Floats, *volumes_and_times: Floats) -> None:
    if any(np.any(part < 0) for part in volumes_and_times):
        raise ValueError("volumes and times must not be negative")
    if np.any(pass_volume <= 0):
        raise ValueError("pass_volume must be above zero")


def _as_columns(history: _History, cases: int) -> Floats:
    """Lay what happened in each pass out as (figure, case, pass); NaN past a case's last."""
    series = np.full((3, cases, len(history)), np.nan)
    for column, (rows, *figures) in enumerate(history):
        series[:, rows, column] = figures
    return series


def _of_cases(washout: list[Floats], cases: Codes, layers: int) -> WashoutParameters:
    efficiency, immobile, rate, store = (part[cases] for part in washout)
    return WashoutParameters(efficiency, immobile, rate, store, layers)


class UncertainWashout(NamedTuple):
    """Washout parameters with their 80 % intervals, each of shape (...)."""

    efficiency: Interval
    immobile_share: Interval
    exchange_rate: Interval
    store_ratio: Interval
    layers: int = LAYERS


class WaterInterval(NamedTuple):
    """80 % interval of the water a flush takes. Shape (...)."""

    low: Floats
    """[L]"""
    high: Floats
    """[L] Infinite where one case in ten or more does not get there under the ceiling."""
    share_reaching: Floats
    """Share of the sample that reaches the target under the ceiling. [-]"""


def _litres_needed(plan: FlushPlan, flush: Flush) -> Floats:
    """Water that reaches the target, counted within the last pass instead of by whole passes.

    Between the EC before and after the last pass the excess over the water is taken to fall
    exponentially.
    """
    if not plan.ec_medium.shape[-1]:
        return plan.applied
    water, target = np.asarray(flush.ec_water), np.asarray(flush.ec_target)
    last_but_one = np.maximum(plan.passes - 2, 0)[..., np.newaxis]
    before = np.take_along_axis(plan.ec_medium, last_but_one, axis=-1)[..., 0]
    before = np.where(plan.passes > 1, before, flush.ec_medium)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.log((before - water) / (target - water)) / np.log(
            (before - water) / (plan.ec_after - water)
        )
    share = np.clip(np.nan_to_num(share, nan=1.0), 0.0, 1.0)
    return np.where(plan.passes > 0, plan.applied - (1.0 - share) * flush.pass_volume, 0.0)


def water_interval(
    flush: Flush,
    washout: UncertainWashout,
    water_held: Interval,
    ec_medium: Interval,
    conversion: Interval,
    size: int = SAMPLE_SIZE,
) -> WaterInterval:
    """80 % interval of the water that a flush takes, from the spread of what is not known exactly.

    The last pass counts by the part of it that reaches the target. A seeded quasi-random sample
    over efficiency, immobile share, exchange rate, stored salt, water held, the EC of the medium
    against its target (the conversion of the reading), and both against the EC of the water (the
    conversion to pore water), each independent.

    Parameters
    ----------
    flush : Flush
        What is there and wanted; its ``water_held`` and ``ec_medium`` are not used.
    washout : UncertainWashout
        The medium, with intervals.
    water_held : Interval
        Water the container holds. [L]
    ec_medium : Interval
        EC of the medium's solution at container capacity. [dS/m]
    conversion : Interval
        Factor on the EC of medium and target alike, around 1. [-]
    size : int
        Size of the sample, a power of two.

    Returns
    -------
    WaterInterval

    Examples
    --------
    >>> flush = Flush(6.0, 2.0, 0.5, 5.0, 0.0, 1.0, 100.0, PASS_HOURS, 0.5)
    >>> washout = UncertainWashout(
    ...     Interval.of(0.65, 0.5, 0.8),
    ...     Interval.of(0.25, 0.15, 0.4),
    ...     Interval.of(0.2, 0.1, 0.4),
    ...     Interval.of(0.1, 0.05, 0.2),
    ... )
    >>> held, start, exact = (Interval.of(x, x, x) for x in (5.0, 6.0, 1.0))
    >>> water = water_interval(flush, washout, held, start, exact)
    >>> print(water.low.round(1), water.high.round(1), water.share_reaching)
    7.7 14.2 1.0
    """
    scores = normal_sample(7, size)
    intervals = (*washout[:4], water_held, ec_medium, conversion)
    widened = [
        Interval(*(np.asarray(part, dtype=np.float64)[..., np.newaxis] for part in interval))
        for interval in intervals
    ]
    efficiency = share_at(scores[:, 0], widened[0])
    immobile = share_at(scores[:, 1], widened[1])
    rate, store, held, ec, factor = (
        amount_at(scores[:, column], widened[column]) for column in range(2, 7)
    )
    widened_flush = Flush(*(np.asarray(part, dtype=np.float64)[..., np.newaxis] for part in flush))
    drawn = widened_flush._replace(
        ec_medium=ec * factor,
        ec_target=np.asarray(widened_flush.ec_target) * factor,
        water_held=held,
    )
    plan = plan_flush(
        drawn,
        WashoutParameters(efficiency, immobile, rate, store, washout.layers),
    )
    litres = np.where(plan.reached, _litres_needed(plan, drawn), np.inf)
    litres = np.where(np.isnan(plan.applied), np.nan, litres)
    low, high = np.quantile(litres, [LOW, HIGH], axis=-1, method="inverted_cdf")
    return WaterInterval(low, high, plan.reached.mean(axis=-1))
