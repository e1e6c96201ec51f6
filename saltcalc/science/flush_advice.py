"""The flush that is advised: the schedule that suits the medium, and the instruction by it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Floats
from saltcalc.science.cycles import Timing
from saltcalc.science.instruction import (
    CONFIDENCE,
    SAMPLE_SIZE,
    Instruction,
    Reading,
    instruct,
)
from saltcalc.science.plan import Flush, UncertainWashout
from saltcalc.science.sampled_pots import Start
from saltcalc.science.schedule import RESTS, Labour, choose_timing, timings
from saltcalc.science.uncertainty import Interval


class Advice(NamedTuple):
    """A schedule and the instruction by it. Arrays of shape (m,)."""

    timing: Timing
    instruction: Instruction
    rest_saves: Floats
    """Share of the water of passes without rests that this schedule saves. [L/L]"""


def advise_flush(
    flush: Flush,
    washout: UncertainWashout,
    water_held: Interval,
    ec_medium: Interval,
    conversion: Interval,
    volume: npt.ArrayLike,
    start: Start | None = None,
    reading: Reading | None = None,
    confidence: float = CONFIDENCE,
    labour: Labour | None = None,
    size: int = SAMPLE_SIZE,
) -> Advice:
    """Choose a schedule, and say what to do by it.

    Where the schedule that costs least does not attain the confidence under the ceiling, one pass
    a day is tried, which takes the least water.

    Parameters
    ----------
    flush : Flush
        As for :func:`saltcalc.science.instruction.instruct`; its ``duration`` is the time a pass
        takes, and its ``rest_between`` is not used.
    washout, water_held, ec_medium, conversion, volume, start, reading, confidence, size
        As there.
    labour : Labour, optional
        What work is worth.

    Returns
    -------
    Advice

    Raises
    ------
    ValueError
        As there.

    Examples
    --------
    A 10 L pot of peat and perlite at 8 dS/m in its pore water, to come to 3 with water of 0.5.

    >>> peat = UncertainWashout(
    ...     Interval.of(0.8, 0.55, 0.97),
    ...     Interval.of(0.25, 0.08, 0.45),
    ...     Interval.of(0.3, 0.1, 0.9),
    ...     Interval.of(0.05, 0.02, 0.15),
    ... )
    >>> held, before = Interval.of(6.0, 5.4, 6.6), Interval.of(8.0, 7.0, 9.0)
    >>> conversion = Interval.of(1.0, 0.9, 1.1)
    >>> flush = Flush(8.0, 3.0, 0.5, 6.0, 0.0, 1.0, 30.0, 0.25, 0.0)
    >>> advice = advise_flush(flush, peat, held, before, conversion, 10.0)
    >>> print(advice.instruction.litres, advice.timing.rest, advice.instruction.wait)
    [13.] [0.] [12.]
    """
    schedule = choose_timing(flush, washout, volume, flush.duration, labour)
    given = (flush, washout, water_held, ec_medium, conversion, volume)
    told = instruct(*given, schedule.timing, start, reading, confidence, size)
    timing, litres = schedule.timing, schedule.litres
    chosen = schedule.chosen
    short = ~told.attained & ~np.isnan(told.litres)
    if np.any(short):
        daily = timings(np.asarray(schedule.timing.duration))[-1]
        again = instruct(*given, daily, start, reading, confidence, size)
        better = short & (again.share_reachable > told.share_reachable)
        told = Instruction(
            *(np.where(better, new, old) for new, old in zip(again, told, strict=True))
        )
        timing = Timing(*(np.where(better, n, o) for n, o in zip(daily, timing, strict=True)))
        chosen = np.where(better, len(RESTS), chosen)
    used = np.take_along_axis(litres, chosen[:, np.newaxis], axis=-1)[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        saved = 1.0 - used / litres[:, 0]
    return Advice(timing, told, np.where(np.isfinite(used), np.nan_to_num(saved, nan=0.0), np.nan))
