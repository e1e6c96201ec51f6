"""A sample against an earlier one of the same medium: whether a figure changed beyond its error."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.science._arrays import Codes
from saltcalc.science.instruction import METER_ERROR, SAMPLE_ERROR
from saltcalc.science.uncertainty import Z_HIGH, Interval

FIGURE_SPREAD = float(np.hypot(METER_ERROR, SAMPLE_ERROR))
"""Standard deviation of the logarithm of one figure of one sample, analysis included (judgement).

That of an EC reading; taken for a reported ion too. [-]
"""

PH_SPREAD = 0.15
"""Standard deviation of the pH of one sample, analysis included (judgement). [-]"""

CHANGES = ("fell", "no_change", "rose", "undetermined")
"""What an interval of the change says, by the codes of :func:`change_of`."""


def ratio_of(
    before: ArrayLike,
    now: ArrayLike,
    spread_before: ArrayLike = FIGURE_SPREAD,
    spread_now: ArrayLike = FIGURE_SPREAD,
) -> Interval:
    r"""Figure of a sample over that of an earlier one, with its 80 % interval.

    .. math:: s^2 = s_{before}^2 + s_{now}^2

    with the standard deviations of the logarithms; the two errors are independent.

    Parameters
    ----------
    before, now : array_like, shape (...)
        Figures above zero, in any one unit.
    spread_before, spread_now : array_like, shape (...)
        Standard deviation of the logarithm of each [-].

    Returns
    -------
    Interval of ndarray, shape (...)
        [-]; NaN where a figure is missing or not above zero.

    Examples
    --------
    Two single readings of the same tub may differ by a third without anything having changed.

    >>> found = ratio_of(2.0, [1.8, 1.0])
    >>> print(found.high.round(2))
    [1.2  0.67]
    """
    first, second = (np.asarray(each, dtype=np.float64) for each in (before, now))
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where((first > 0) & (second > 0), second / first, np.nan)
    wide = np.exp(Z_HIGH * np.hypot(spread_before, spread_now))
    return Interval(ratio, ratio / wide, ratio * wide)


def difference_of(before: ArrayLike, now: ArrayLike, spread: ArrayLike = PH_SPREAD) -> Interval:
    """Figure of a sample less that of an earlier one, with its 80 % interval.

    Parameters
    ----------
    before, now : array_like, shape (...)
        In any one unit.
    spread : array_like, shape (...)
        Standard deviation of each, in that unit.

    Returns
    -------
    Interval of ndarray, shape (...)
        In that unit.

    Examples
    --------
    >>> found = difference_of(5.2, 5.9)
    >>> print(found.value.round(2), found.low.round(2), found.high.round(2))
    0.7 0.43 0.97
    """
    change = np.asarray(now, dtype=np.float64) - np.asarray(before, dtype=np.float64)
    wide = Z_HIGH * np.sqrt(2.0) * np.asarray(spread, dtype=np.float64)
    return Interval(change, change - wide, change + wide)


def change_of(change: Interval, same: float) -> Codes:
    """Tell whether a figure fell or rose beyond its error, by the interval of its change.

    Parameters
    ----------
    change : Interval, shape (...)
        A ratio or a difference; an open end is infinite, or 0 for a ratio.
    same : float
        What it is without a change: 1 for a ratio, 0 for a difference.

    Returns
    -------
    ndarray of int, shape (...)
        Places in :data:`CHANGES`. An interval with an open end that does not decide is
        undetermined: a bound concludes on its own side only.

    Examples
    --------
    >>> codes = change_of(ratio_of(2.0, [1.0, 1.8, 3.5]), 1.0)
    >>> print([CHANGES[code] for code in codes])
    ['fell', 'no_change', 'rose']
    """
    low, high = np.asarray(change.low), np.asarray(change.high)
    undecided = np.isinf(high) | np.isinf(low) | (low == 0.0) | np.isnan(low) | np.isnan(high)
    found = np.select([high < same, low > same, undecided], [0, 2, 3], default=1)
    return np.asarray(found, dtype=np.int64)
