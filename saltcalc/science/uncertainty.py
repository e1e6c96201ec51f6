"""From 80 % intervals to a seeded quasi-random sample, and back.

References
----------
.. [1] Owen, A.B. (1998). Scrambling Sobol' and Niederreiter-Xing points. J. Complexity 14:466-489.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.special import expit, logit, ndtri
from scipy.stats import qmc

from saltcalc.science._arrays import Floats

LOW, HIGH = 0.1, 0.9
"""The quantiles that bound an 80 % interval."""

Z_HIGH = float(ndtri(HIGH))
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


def normal_sample(dimensions: int, size: int, seed: int = SEED) -> Floats:
    """Quasi-random sample of independent standard normals.

    Parameters
    ----------
    dimensions : int
        Number of uncertain figures.
    size : int
        Number of samples, a power of two.
    seed : int
        Seed of the scrambling.

    Returns
    -------
    ndarray, shape (size, dimensions)

    Raises
    ------
    ValueError
        If ``size`` is not a power of two.

    References
    ----------
    Scrambled Sobol' points, Owen (1998) [1]_.

    Examples
    --------
    >>> sample = normal_sample(2, 128)
    >>> print(sample.shape, abs(sample.mean()) < 0.01)
    (128, 2) True
    """
    power = int(np.log2(size)) if size > 0 else -1
    if power < 0 or 2**power != size:
        raise ValueError("size must be a power of two")
    return _sample(dimensions, power, seed)


@cache
def _sample(dimensions: int, power: int, seed: int) -> Floats:
    """Draw a sample once: every plan uses the same, and none may change it."""
    points = qmc.Sobol(dimensions, scramble=True, rng=np.random.default_rng(seed)).random_base2(
        power
    )
    sample = np.asarray(ndtri(np.clip(points, 1e-9, 1 - 1e-9)))
    sample.setflags(write=False)
    return sample


def share_at(z: npt.ArrayLike, interval: Interval) -> Floats:
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
    >>> print(share_at([0.0, Z_HIGH], Interval.of(0.65, 0.5, 0.8)).round(2))
    [0.65 0.8 ]
    """
    return _at(z, interval, logit, expit)


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


def _at(z: npt.ArrayLike, interval: Interval, scale: np.ufunc, back: np.ufunc) -> Floats:
    """Move on a scale from the value by a score, with the width of the side it lies on."""
    score = np.asarray(z, dtype=np.float64)
    value, low, high = (np.asarray(part, dtype=np.float64) for part in interval)
    with np.errstate(divide="ignore", invalid="ignore"):
        middle = scale(value)
        width = np.where(score < 0, middle - scale(low), scale(high) - middle)
        moved = back(middle + width / Z_HIGH * score)
    return np.where((low == high) | (score == 0), value + 0.0 * score, moved)
