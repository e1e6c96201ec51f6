"""A flush under way: learn from the drainage readings how this container really washes out."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares
from scipy.stats import norm

from saltcalc.science._arrays import Floats
from saltcalc.science.flush import (
    SaltState,
    WashoutParameters,
    apply_water,
    rest,
    settled_ec,
    soak_up,
    uniform_state,
)
from saltcalc.science.plan import Flush, UncertainWashout, plan_flush
from saltcalc.science.uncertainty import Interval, amount_at, normal_sample, share_at

READING_SPREAD = 0.10
"""Relative standard deviation of a drainage reading, meter and sampling together (judgement)."""

CONFIDENCE = 0.90
"""Probability of the intervals stated here."""

_FARTHEST = 4.0
_MOST_TRIALS = 60
_STEP = 1e-4
_Z = float(norm.ppf(0.5 + CONFIDENCE / 2))


class Readings(NamedTuple):
    """What was measured, pass by pass, first to last; shape (passes,)."""

    drained: npt.ArrayLike
    """Water drained. [L]"""
    ec_drainage: npt.ArrayLike
    """EC of that drainage, mixed. [dS/m] NaN where not measured."""


class Range(NamedTuple):
    """A figure with its 90 % interval."""

    value: float
    low: float
    high: float


class Progress(NamedTuple):
    """What the readings so far say."""

    efficiency: Range
    """Share of the drainage that moves solution. [L/L]"""
    immobile_share: Range
    """Share of the held water that does not flow. [L/L]"""
    ec_medium: Range
    """EC the medium would settle to now. [dS/m]"""
    remaining: Range
    """Water still to apply; infinite where the ceiling comes first. [L]"""
    remaining_passes: int
    """Passes still to do."""
    stop_reading: float
    """EC of the drainage of the last of them; NaN if there are none. [dS/m]"""
    reached: bool
    """Whether the target is reached after them, under the ceiling."""


class _Prior(NamedTuple):
    washout: UncertainWashout
    water_held: Interval
    ec_medium: Interval

    def at(self, z: Floats) -> tuple[WashoutParameters, Floats, Floats]:
        """Parameters, water held and starting EC at scores of shape (..., 6)."""
        washout = self.washout
        parameters = WashoutParameters(
            share_at(z[..., 0], washout.efficiency),
            share_at(z[..., 1], washout.immobile_share),
            amount_at(z[..., 2], washout.exchange_rate),
            amount_at(z[..., 3], washout.store_ratio),
            washout.layers,
        )
        return (
            parameters,
            amount_at(z[..., 4], self.water_held),
            amount_at(z[..., 5], self.ec_medium),
        )


def _follow(
    prior: _Prior, z: Floats, flush: Flush, drained: Floats
) -> tuple[SaltState, WashoutParameters, Floats, Floats]:
    """Wash as it was done; return the state now, the parameters, the water held, the drainage."""
    parameters, held, ec = prior.at(z)
    state = soak_up(
        uniform_state(ec, parameters), parameters, np.asarray(flush.deficit) / held, flush.ec_water
    )
    drainage = []
    for volume in drained:
        result = apply_water(state, parameters, volume / held, flush.ec_water, flush.duration)
        drainage.append(result.ec_drainage)
        state = rest(result.state, parameters, flush.rest_between)
    return state, parameters, held, np.stack(drainage, axis=-1)


def estimate_progress(
    readings: Readings,
    flush: Flush,
    washout: UncertainWashout,
    water_held: Interval,
    ec_medium: Interval,
    reading_spread: float = READING_SPREAD,
    size: int = 128,
) -> Progress:
    r"""Re-estimate one container's washout from its drainage, and what is left to do.

    Least squares on the logarithm of the readings, with the default intervals as prior: each
    uncertain figure is a standard-normal score, and

    .. math::

        \min_z \sum_i \left(\frac{\ln \hat C_i(z) - \ln C_i}{\sigma}\right)^2
        + \lVert z\rVert^2

    within four standard deviations. The intervals come from the curvature at the minimum.

    Parameters
    ----------
    readings : Readings
        Passes done so far, at least one.
    flush : Flush
        Plain numbers: target, water, pass volume, times; ``ceiling`` is the most water still to
        apply. Its ``water_held`` and ``ec_medium`` are not used.
    washout : UncertainWashout
        The medium's defaults, plain numbers.
    water_held : Interval
        Water the container holds. [L]
    ec_medium : Interval
        EC of the medium's solution before the flush. [dS/m]
    reading_spread : float
        Relative standard deviation of a reading. [-]
    size : int
        Size of the sample behind the interval of the remaining water, a power of two.

    Returns
    -------
    Progress

    Raises
    ------
    ValueError
        If there is no pass, a volume is negative, or a reading is not above zero.

    References
    ----------
    Gelman, A. et al. (2013). Bayesian Data Analysis, 3rd ed., section 4.1: normal approximation at
    the mode.

    Examples
    --------
    Two passes that washed better than expected.

    >>> flush = Flush(6.0, 2.0, 0.5, 5.0, 0.0, 1.0, 100.0, 0.25, 0.5)
    >>> washout = UncertainWashout(
    ...     Interval.of(0.65, 0.5, 0.8),
    ...     Interval.of(0.25, 0.15, 0.4),
    ...     Interval.of(0.2, 0.1, 0.4),
    ...     Interval.of(0.1, 0.05, 0.2),
    ... )
    >>> held, start = Interval.of(5.0, 4.5, 5.5), Interval.of(6.0, 5.0, 7.0)
    >>> found = estimate_progress(Readings([1.0, 1.0], [5.2, 4.6]), flush, washout, held, start)
    >>> found.efficiency.value > 0.65, found.remaining_passes
    (True, 8)
    """
    drained = np.atleast_1d(np.asarray(readings.drained, dtype=np.float64))
    measured = np.atleast_1d(np.asarray(readings.ec_drainage, dtype=np.float64))
    if drained.size == 0 or drained.shape != measured.shape:
        raise ValueError(
            "each pass needs a drained volume and an EC, and there must be at least one pass"
        )
    if np.any(drained < 0) or np.any(measured <= 0):
        raise ValueError("drained must not be negative and ec_drainage must be above zero")
    prior = _Prior(washout, water_held, ec_medium)
    there = ~np.isnan(measured) & (drained > 0)

    def misfit(z: Floats) -> Floats:
        predicted = _follow(prior, z, flush, drained)[3][..., there]
        gap = np.log(np.maximum(predicted, 1e-12)) - np.log(measured[there])
        return np.concatenate([gap / reading_spread, z], axis=-1)

    def slope(z: Floats) -> Floats:
        moved = misfit(np.vstack([z + _STEP * np.eye(z.size), z - _STEP * np.eye(z.size)]))
        return np.asarray((moved[: z.size] - moved[z.size :]).T / (2 * _STEP))

    fit = least_squares(
        misfit, np.zeros(6), jac=slope, bounds=(-_FARTHEST, _FARTHEST), max_nfev=_MOST_TRIALS
    )
    curvature = slope(fit.x)
    covariance = np.linalg.inv(curvature.T @ curvature)
    width = np.sqrt(np.diag(covariance))

    scores = fit.x + normal_sample(6, size) @ np.linalg.cholesky(covariance).T
    scores = np.vstack([fit.x, np.clip(scores, -_FARTHEST, _FARTHEST)])
    state, parameters, held, _ = _follow(prior, scores, flush, drained)
    now = settled_ec(state, parameters)
    plan = plan_flush(flush._replace(water_held=held, deficit=0.0), parameters, state)
    litres = np.where(plan.reached, plan.applied, np.inf)
    return Progress(
        efficiency=_range_of_share(fit.x[0], width[0], washout.efficiency),
        immobile_share=_range_of_share(fit.x[1], width[1], washout.immobile_share),
        ec_medium=_range_of_sample(now),
        remaining=_range_of_sample(litres),
        remaining_passes=int(plan.passes[0]),
        stop_reading=float(plan.ec_drainage[0, plan.passes[0] - 1]) if plan.passes[0] else np.nan,
        reached=bool(plan.reached[0]),
    )


def _range_of_share(score: float, width: float, interval: Interval) -> Range:
    low, high = score - _Z * width, score + _Z * width
    return Range(*(float(share_at(z, interval)) for z in (score, low, high)))


def _range_of_sample(values: Floats) -> Range:
    """Value first, sample after it."""
    tails = [(1 - CONFIDENCE) / 2, (1 + CONFIDENCE) / 2]
    low, high = np.quantile(values[1:], tails, method="inverted_cdf")
    middle = float(values[0])
    return Range(middle, min(float(low), middle), max(float(high), middle))
