"""From 80 % intervals to a seeded quasi-random sample, and back.

References
----------
.. [1] Richtmyer, R.D. (1951). The evaluation of definite integrals, and a quasi-Monte-Carlo method
   based on the properties of algebraic numbers. Los Alamos report LA-1342.
.. [2] Cranley, R. & Patterson, T.N.L. (1976). Randomization of number theoretic methods for
   multiple integration. SIAM J. Numer. Anal. 13:904-914.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from statistics import NormalDist
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Floats

LOW, HIGH = 0.1, 0.9
"""The quantiles that bound an 80 % interval."""

_STANDARD = NormalDist()

_PRIMES = (2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37)


def normal_score(probability: npt.ArrayLike) -> Floats:
    """Standard-normal score below which a share of the cases lies.

    Parameters
    ----------
    probability : array_like, shape (...)
        Between 0 and 1, both excluded; NaN gives NaN. [-]

    Returns
    -------
    ndarray, shape (...)

    Raises
    ------
    ValueError
        If a probability is not between 0 and 1.

    Examples
    --------
    >>> print(normal_score([0.1, 0.5, 0.9]).round(4))
    [-1.2816  0.      1.2816]
    """
    share = np.asarray(probability, dtype=np.float64)
    if ((share <= 0) | (share >= 1)).any():
        raise ValueError("probability must be between 0 and 1")
    quantile = _STANDARD.inv_cdf
    scores = [math.nan if math.isnan(each) else quantile(each) for each in share.ravel().tolist()]
    return np.array(scores, dtype=np.float64).reshape(share.shape)


Z_HIGH = float(normal_score(HIGH))
"""Standard-normal score of the upper bound of an 80 % interval [-]."""

SEED = 19740517
"""Seed of the quasi-random sample, so that the same request gives the same answer."""


class Interval(NamedTuple):
    """A figure with its 80 % interval, each of the same shape and unit.

    Equal bounds mean that the figure is taken as exact.
    """

    value: Floats
    low: Floats
    high: Floats

    @classmethod
    def of(cls, value: npt.ArrayLike, low: npt.ArrayLike, high: npt.ArrayLike) -> Interval:
        """Make an interval of plain numbers or arrays.

        Parameters
        ----------
        value, low, high : array_like, shape (...)
            In any one unit.
        """
        return cls(*(np.asarray(part, dtype=np.float64) for part in (value, low, high)))


def quantile_of(ordered: Floats, share: float) -> Floats:
    """Value below which a share of a sample lies, between its two nearest in proportion.

    Parameters
    ----------
    ordered : ndarray, shape (..., size)
        The sample, ascending along the last axis.
    share : float
        [-]

    Returns
    -------
    ndarray, shape (...)

    Examples
    --------
    >>> float(quantile_of(np.array([1.0, 2.0, 4.0]), 0.75))
    3.0
    """
    place = share * (ordered.shape[-1] - 1)
    below, above = ordered[..., math.floor(place)], ordered[..., math.ceil(place)]
    return np.asarray(below + (above - below) * (place % 1.0))


def normal_sample(dimensions: int, size: int, seed: int = SEED) -> Floats:
    """Quasi-random sample of independent standard normals.

    Parameters
    ----------
    dimensions : int
        Number of uncertain figures.
        At most as many as there are primes in :data:`_PRIMES`.
    size : int
        Number of samples.
    seed : int
        Seed of the shift.

    Returns
    -------
    ndarray, shape (size, dimensions)

    Raises
    ------
    ValueError
        If there are more dimensions than primes, or no sample is asked for.

    References
    ----------
    Multiples of the roots of primes, modulo one (Richtmyer 1951 [1]_), shifted at random
    (Cranley & Patterson 1976 [2]_).

    Examples
    --------
    >>> sample = normal_sample(2, 128)
    >>> print(sample.shape, abs(sample.mean()) < 0.03)
    (128, 2) True
    """
    if not 0 < dimensions <= len(_PRIMES) or size < 1:
        raise ValueError(f"1 to {len(_PRIMES)} dimensions, at least one sample")
    return _sample(dimensions, size, seed)


@cache
def _sample(dimensions: int, size: int, seed: int) -> Floats:
    """Draw a sample once: every plan uses the same, and none may change it."""
    shift = np.random.default_rng(seed).random(dimensions)
    points = np.outer(np.arange(size), np.sqrt(_PRIMES[:dimensions])) + shift
    sample = normal_score(np.clip(points % 1.0, 1e-9, 1 - 1e-9))
    sample.setflags(write=False)
    return sample


def logit_normal_quantile(z: npt.ArrayLike, interval: Interval) -> Floats:
    """Value of a share (between 0 and 1) at a standard-normal score.

    Parameters
    ----------
    z : array_like, shape (...)
        Standard-normal score; 0 gives the value, −1.28 the low and 1.28 the high bound.
    interval : Interval
        Its arrays broadcast with ``z``.

    Returns
    -------
    ndarray, shape (...)
        A normal on the logit scale, with a width of its own on either side of the value.

    Examples
    --------
    >>> print(logit_normal_quantile([0.0, Z_HIGH], Interval.of(0.65, 0.5, 0.8)).round(2))
    [0.65 0.8 ]
    """
    return _at(z, interval, _logit, _expit)


def amount_at(z: npt.ArrayLike, interval: Interval) -> Floats:
    """Value of a positive amount at a standard-normal score.

    Parameters
    ----------
    z : array_like, shape (...)
        Standard-normal score.
    interval : Interval
        Its arrays broadcast with ``z``.

    Returns
    -------
    ndarray, shape (...)
        A normal on the log scale, with a width of its own on either side of the value.

    Examples
    --------
    >>> print(amount_at([-Z_HIGH, 0.0], Interval.of(5.0, 4.0, 6.5)).round(2))
    [4. 5.]
    """
    return _at(z, interval, np.log, np.exp)


def _logit(share: Floats) -> Floats:
    return np.asarray(np.log(share / (1.0 - share)))


def _expit(odds: Floats) -> Floats:
    return np.asarray(1.0 / (1.0 + np.exp(-odds)))


_Scale = Callable[[Floats], Floats]


def _at(z: npt.ArrayLike, interval: Interval, scale: _Scale, back: _Scale) -> Floats:
    """Move on a scale from the value by a score, with the width of the side it lies on."""
    score = np.asarray(z, dtype=np.float64)
    value, low, high = (np.asarray(part, dtype=np.float64) for part in interval)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        middle = scale(value)
        width = np.where(score < 0, middle - scale(low), scale(high) - middle)
        moved = back(middle + width / Z_HIGH * score)
    return np.where((low == high) | (score == 0), value + 0.0 * score, moved)
