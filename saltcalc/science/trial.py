"""What a few media tell by how a crop fared in them: plain logic over pairs of good and bad.

No statistics: five tubs have none. A figure is told as its ratio to the limit of the crop, above 1
where it harms; for a figure that harms when low it is the limit over the figure, and for pH the
ratio of the activities.
"""

from __future__ import annotations

from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.science._arrays import Codes, Flags, alike

_ROUNDING = 1e-9
"""Part of a ratio that division may add or take."""


class Tracking(IntEnum):
    """What a pair of a good and a bad medium says of a figure as the explanation."""

    SILENT = 0
    CONSISTENT = 1
    CONTRADICTED = 2


def differs(low: ArrayLike, high: ArrayLike, error: ArrayLike) -> Flags:
    """Tell where a figure differs among media by more than its error.

    Parameters
    ----------
    low, high : array_like, shape (media, ...)
        Ends of the figure in each medium, over a limit [-]; NaN where not known.
    error : array_like
        Ratio from which two figures differ [-].

    Returns
    -------
    ndarray of bool, shape (...)
        False where no two are known.

    Examples
    --------
    >>> print(differs([1.0, 1.2, 1.4], [1.0, 1.2, 1.4], [1.3]))
    [ True]
    """
    least = np.nanmin(np.where(np.isnan(high), np.inf, high), axis=0)
    most = np.nanmax(np.where(np.isnan(low), -np.inf, low), axis=0)
    apart: Flags = (most > least) & (most > np.asarray(error) * least)
    return apart


def track(
    bad_low: ArrayLike,
    bad_high: ArrayLike,
    good_low: ArrayLike,
    good_high: ArrayLike,
    error: ArrayLike,
) -> Codes:
    """Hold a figure as the explanation against pairs of a bad and a good medium of one crop.

    It is consistent where the bad medium is beyond the limit and worse than the good one by the
    error at least. It is contradicted where the bad medium is beyond the limit, and the crop did
    well with as much or more: with no less, or beyond the limit and short of it by less than the
    error. Else it is silent.

    Parameters
    ----------
    bad_low, bad_high, good_low, good_high : array_like
        Ends of the figure in either medium, over the limit of the crop [-]; NaN where not known.
    error : array_like
        Ratio from which two figures differ [-].

    Returns
    -------
    ndarray of int
        Values of `Tracking`.

    Examples
    --------
    A good medium within the limit, then one that has more of it than the bad one.

    >>> [Tracking(code).name for code in track(2.0, 2.0, [0.5, 2.4], [0.5, 2.4], 1.3)]
    ['CONSISTENT', 'CONTRADICTED']
    """
    low, high, bore_low, bore_high, ratio = alike(
        *(
            np.asarray(each, dtype=np.float64)
            for each in (bad_low, bad_high, good_low, good_high, error)
        )
    )
    blamed, also = low > 1.0, bore_low > 1.0
    consistent = blamed & (low > bore_high) & (low >= ratio * bore_high * (1 - _ROUNDING))
    as_much = (bore_low >= high) | (also & (bore_low * ratio > high * (1 + _ROUNDING)))
    return np.where(
        consistent,
        Tracking.CONSISTENT,
        np.where(blamed & as_much, Tracking.CONTRADICTED, Tracking.SILENT),
    )
