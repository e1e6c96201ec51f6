"""The flush that is advised: the schedule that suits the medium, and the instruction by it."""

from __future__ import annotations

from functools import cache
from typing import Any, NamedTuple, TypeVar

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import (
    Codes,
    Flags,
    Floats,
    figures_of,
    filled,
    of_columns,
    picked,
    side_by_side,
)
from saltcalc.science.instruction import CONFIDENCE, Instruction, Reading, instruct
from saltcalc.science.pass_days import Timing
from saltcalc.science.plan import Flush, UncertainWashout
from saltcalc.science.sampled_pots import Start, Uncertain
from saltcalc.science.schedule import RESTS, choose_timing, timings
from saltcalc.science.uncertainty import Interval

Record = TypeVar("Record", Timing, Instruction)


class Advice(NamedTuple):
    """A schedule and the instruction by it. Arrays of shape (m,)."""

    timing: Timing
    instruction: Instruction
    rest_saves: Floats
    """Share of the water of passes without rests that this schedule saves. [L/L]

    NaN where those would not do.
    """


def advise_flush(
    flush: Flush,
    known: Uncertain,
    reading: Reading | None = None,
    confidence: npt.ArrayLike = CONFIDENCE,
    timing: Timing | None = None,
) -> Advice:
    """Choose a schedule, and say what to do by it.

    Where the schedule that suits does not attain the confidence under the ceiling, the longest rest
    within a day is tried, and then one pass a day, which takes the least water.

    Parameters
    ----------
    flush : Flush
        As for :func:`saltcalc.science.instruction.instruct`; its ``duration`` is the time a pass
        takes.
    known : Uncertain
        The containers, of shape (m,).
    reading : Reading, optional
        How the check strays.
    confidence : array_like, shape (m,)
        Share of containers to bring to their target with the litres stated. [-]
    timing : Timing, optional
        What is given of the schedule, shape (m,): a row whose ``duration`` is missing is chosen.

    Returns
    -------
    Advice

    Raises
    ------
    ValueError
        As for :func:`saltcalc.science.instruction.instruct`.

    Examples
    --------
    A 10 L pot of peat and perlite at 8 dS/m in its pore water, to come to 3 with water of 0.5.

    >>> from saltcalc.science.plan import UncertainWashout
    >>> from saltcalc.science.sampled_pots import Start
    >>> from saltcalc.science.uncertainty import Interval
    >>> peat = UncertainWashout(
    ...     Interval.of(0.8, 0.55, 0.97),
    ...     Interval.of(0.25, 0.08, 0.45),
    ...     Interval.of(0.3, 0.1, 0.9),
    ...     Interval.of(0.05, 0.02, 0.15),
    ... )
    >>> held, before = Interval.of(6.0, 5.4, 6.6), Interval.of(8.0, 7.0, 9.0)
    >>> known = Uncertain(peat, held, before, Interval.of(1.0, 0.9, 1.1), Start())
    >>> flush = Flush(8.0, 3.0, 0.5, 6.0, 0.0, 1.0, 30.0, 0.25)
    >>> advice = advise_flush(flush, known)
    >>> print(advice.instruction.litres, advice.timing.rest, advice.instruction.wait)
    [10.] [1.] [12.]
    """
    given = timing if timing is not None else Timing(np.nan, np.nan, np.nan, np.nan)
    asked = _Asked(flush, known, reading or Reading(), confidence, given)
    table = side_by_side(figures_of(asked), (1,))
    whole = np.asarray(~np.isnan(table[:, : -len(given)]).any(axis=1))
    # What is not known, or has nothing to wash with, is not worked out.
    advice = _advise(of_columns(asked, iter(table[whole].T))) if whole.any() else _on_nothing()
    return advice if whole.all() else _spread(advice, whole)


@cache
def _on_nothing() -> Advice:
    """Return the advice on no container at all."""
    none = np.zeros(0)
    alike = Interval(none, none, none)
    known = Uncertain(UncertainWashout(*[alike] * 4), alike, alike, alike, Start())
    timing, flush = Timing(none, none, none, none), Flush(*[none] * len(Flush._fields))
    return _advise(_Asked(flush, known, Reading(), none, timing))


class _Asked(NamedTuple):
    flush: Flush
    known: Uncertain
    reading: Reading
    confidence: npt.ArrayLike
    timing: Timing
    """Of which anything may be missing."""


def _rows(parts: Any, rows: Codes) -> Any:
    """Choose some rows of nested records."""
    if isinstance(parts, tuple):
        return type(parts)(*[_rows(each, rows) for each in parts])
    return parts[rows]


def _spread(parts: Any, rows: Flags) -> Any:
    """Put rows of nested records in their places; what is not known is missing, none or false."""
    if isinstance(parts, tuple):
        return type(parts)(*[_spread(each, rows) for each in parts])
    whole = np.full(rows.shape, np.nan if parts.dtype.kind == "f" else 0, dtype=parts.dtype)
    whole[rows] = parts
    return whole


def _advise(asked: _Asked) -> Advice:
    flush, known, _, _, timing = asked
    given = ~np.isnan(np.asarray(timing.duration))
    if given.all():
        return Advice(timing, _instruct(asked, timing), np.zeros(given.shape))
    schedule = choose_timing(flush, known)
    litres, chosen = schedule.litres, schedule.chosen
    times = _where(given, timing, schedule.timing)
    told = _instruct(asked, times)
    short = np.flatnonzero(~given & ~told.attained & (chosen < len(RESTS)) & (told.passes > 0))
    if short.size:
        told, times, chosen = _with_longer_rests(asked, told, times, chosen, short)
    used = picked(litres, chosen)
    at_once = litres[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        saved = np.where(given | (used == at_once), 0.0, 1.0 - used / at_once)
    comparable = given | (np.isfinite(used) & np.isfinite(at_once))
    return Advice(times, told, np.where(comparable, filled(saved, 0.0), np.nan))


def _with_longer_rests(
    asked: _Asked, told: Instruction, times: Timing, chosen: Codes, short: Codes
) -> tuple[Instruction, Timing, Codes]:
    """Give some rows the longest rest of a day where that attains, else one pass a day."""
    every = timings(np.asarray(times.duration)[short])
    both = Timing(*(np.asarray(part)[:, -2:].T.reshape(-1) for part in every))
    again = _instruct(_rows(asked, np.tile(short, 2)), both)
    number = len(short)
    rested = again.attained[:number] & (chosen[short] < len(RESTS) - 1)
    place = np.where(rested, 0, number) + np.arange(number)
    better = again.share_reachable[place] > told.share_reachable[short]
    rows, place, rested = short[better], place[better], rested[better]
    chosen = chosen.copy()
    chosen[rows] = np.where(rested, len(RESTS) - 1, len(RESTS))
    return _put(told, rows, again, place), _put(times, rows, both, place), chosen


def _put(old: Record, rows: Codes, new: Record, place: Codes) -> Record:
    """Put rows of one record in the place of rows of another."""
    parts: list[Any] = [np.array(each) for each in old]
    for part, each in zip(parts, new, strict=True):
        part[rows] = np.asarray(each)[place]
    return type(old)(*parts)


def _instruct(asked: _Asked, timing: Timing) -> Instruction:
    flush, (washout, held, ec, conversion, start), reading, confidence, _ = asked
    return instruct(flush, washout, held, ec, conversion, timing, start, reading, confidence)


def _where(rows: npt.ArrayLike, new: Record, old: Record) -> Record:
    return type(old)(*(np.where(rows, n, o) for n, o in zip(new, old, strict=True)))
