"""A flush under way: what its readings say of one container."""

from __future__ import annotations

import numpy as np

from saltcalc.case.batch import FloatArray
from saltcalc.parts.flush_case import FlushCase
from saltcalc.science.plan import Flush, UncertainWashout
from saltcalc.science.progress import Progress, Readings, estimate_progress
from saltcalc.science.uncertainty import Interval


def drained_by_default(case: FlushCase, row: int, applied: FloatArray) -> FloatArray:
    """Water that drains from each pass if the drainage was not measured [L]: what is not soaked up.

    Parameters
    ----------
    case : FlushCase
    row : int
        Which container.
    applied : (passes,) ndarray
        Water poured on in each pass [L].
    """
    soaked = float(np.asarray(case.flush.deficit)[row])
    through = np.maximum(np.cumsum(applied) - soaked, 0.0)
    return np.diff(through, prepend=0.0)


def follow_flush(
    case: FlushCase, row: int, applied: FloatArray, drained: FloatArray, ec_drainage: FloatArray
) -> Progress:
    """Re-estimate how a container washes out, and what is left to do.

    Parameters
    ----------
    case : FlushCase
        Before the flush.
    row : int
        Which container.
    applied, drained : (passes,) ndarray
        Of each pass so far [L]; drained NaN where it was not measured.
    ec_drainage : (passes,) ndarray
        EC of each pass's drainage at 25 °C [dS/m]; NaN where it was not read.
    """
    ceiling = float(np.asarray(case.flush.ceiling)[row]) - float(applied.sum())
    each = float(np.asarray(case.flush.pass_volume)[row])
    one = Flush(*(float(np.asarray(part)[row]) for part in case.flush))
    efficiency, immobile, rate, store = (_row(interval, row) for interval in case.washout[:4])
    usual = drained_by_default(case, row, applied)
    return estimate_progress(
        Readings(np.where(np.isnan(drained), usual, drained), ec_drainage),
        one._replace(ceiling=max(ceiling, each)),
        UncertainWashout(efficiency, immobile, rate, store, case.washout.layers),
        _row(case.held, row),
        _starting_ec(case, row),
    )


def _row(interval: Interval, row: int) -> Interval:
    return Interval.of(*_three(interval, row))


def _three(interval: Interval, row: int) -> tuple[float, float, float]:
    value, low, high = (float(np.asarray(part)[row]) for part in interval)
    return value, low, high


def _starting_ec(case: FlushCase, row: int) -> Interval:
    """EC before the flush, with the spread of both conversions together."""
    value, low, high = _three(case.start, row)
    factor, weaker, stronger = _three(case.conversion, row)
    down = np.hypot(np.log(low / value), np.log(weaker / factor))
    up = np.hypot(np.log(high / value), np.log(stronger / factor))
    return Interval.of(value, value * np.exp(-down), value * np.exp(up))
