"""What was done in a flush, in the order of time, and what containers would have shown of it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science import cycles
from saltcalc.science._arrays import Flags, Floats
from saltcalc.science.pass_days import Timing
from saltcalc.science.plan import Flush
from saltcalc.science.sampled_pots import SampledPots, Uncertain, sample_pots

_DROP = 1e-6

_ONE_CHECK = 6.0
"""Hours within which readings of the medium are of one check (judgement): the pots of a bench."""


class Log(NamedTuple):
    """What was done and read, in the order of time; arrays of shape (n,).

    An entry may pour, read the medium, or both; then the medium was read before the water.
    """

    applied: npt.ArrayLike
    """Water poured on; 0 where only the medium was read. [L]"""
    drained: npt.ArrayLike
    """Water that drained of it; NaN where it was not measured. [L]"""
    ec_drainage: npt.ArrayLike
    """EC of that drainage, mixed; NaN where it was not read. [dS/m]"""
    ec_solution: npt.ArrayLike
    """Reading by the grower's own method, as pore water; NaN where there is none. [dS/m]"""
    hours: npt.ArrayLike
    """When, from the first pass; NaN where it was as the schedule has it. [h]"""


class Course(NamedTuple):
    """What a sample of containers would have shown at each entry."""

    scores: Floats
    """Of the sample, shape (size, DIMENSIONS)."""
    drainage: Floats
    """Shape (n, size). [dS/m]"""
    solution: Floats
    """Shape (n, size). [dS/m]"""
    excess: Floats
    """After the last entry, shape (most layers, 2, size). [dS/m]"""
    sample: SampledPots


class Story(NamedTuple):
    """A log with its gaps filled, and the container that it is of."""

    applied: Floats
    drained: Floats
    ec_drainage: Floats
    ec_solution: Floats
    hours: Floats
    duration: float
    flush: Flush
    known: Uncertain
    by_drainage: bool

    @property
    def water(self) -> float:
        """EC of the water, in dS/m."""
        return float(np.asarray(self.flush.ec_water))

    def rested(self, long_enough: float) -> Flags:
        """Tell where the medium was read so many hours after the last water, or later."""
        rested, end = [], -np.inf
        for entry, at in enumerate(self.hours):
            rested.append(not np.isnan(self.ec_solution[entry]) and at - end >= long_enough)
            if self.applied[entry] > 0:
                end = at + self.duration
        return np.array(rested)

    def course_of(self, scores: Floats) -> Course:
        """Follow a sample of containers through the log."""
        sample = sample_pots(self.known, self.water, self.flush.deficit, scores)
        pots = sample.pots
        salt = sample.start[..., np.newaxis] * sample.profile
        excess = salt - cycles.even_excess(pots, self.water, 0.0)
        drainage = np.full((len(self.applied), len(scores)), np.nan)
        solution = np.full_like(drainage, np.nan)
        look = cycles.bottom_excess if self.by_drainage else cycles.settled_excess
        maps: dict[float, Floats] = {}
        end = float(self.hours[0])
        for entry, at in enumerate(self.hours):
            if at > end:
                excess = cycles.moved_by(cycles.rest_map(pots, at - end), excess)
                end = float(at)
            solution[entry] = (look(pots, excess) + self.water) / sample.factor
            if self.applied[entry] == 0:
                continue
            volume, after = float(self.drained[entry]), excess
            if volume > _DROP * sample.held.max():
                if volume not in maps:
                    maps[volume] = cycles.pass_map(pots, volume / sample.held, self.duration)
                after = cycles.moved_by(maps[volume], excess)
                lost = cycles.settled_excess(pots, excess) - cycles.settled_excess(pots, after)
                drainage[entry] = lost * pots.capacity * sample.held / volume + self.water
            elif volume > 0:
                drop = pots.efficiency * cycles.bottom_excess(pots, excess)
                drainage[entry] = drop + self.water
            excess, end = after, end + self.duration
        return Course(scores, drainage, solution, excess, sample)


def story_of(
    log: Log, flush: Flush, known: Uncertain, timing: Timing, by_drainage: bool, wait: float = 0.0
) -> Story:
    """Check a log, and fill in what was not measured: drained volumes and times.

    Of several pots read in one check the highest reading is left: the flush is for all.

    Times are as the schedule has them. Where one that was told lies before those, the passes above
    it were done sooner: they are taken to have left the wait that a reading of the medium asks for.

    Parameters
    ----------
    log, flush, known, timing, by_drainage
        As for :func:`saltcalc.science.flush_readings.follow_readings`.
    wait : float
        From the last pass to a reading of the medium, as the plan asks for it [h].

    Returns
    -------
    Story

    Raises
    ------
    ValueError
        As there.

    Examples
    --------
    Two passes a day, of which the first wets what is short of half a litre.

    >>> missing = [np.nan] * 3
    >>> log = Log([1.0] * 3, missing, missing, missing, missing)
    >>> flush = Flush(8.0, 3.0, 0.5, 6.0, 0.5, 1.0, 30.0, 0.25)
    >>> story = story_of(log, flush, None, Timing(0.25, 0.5, 2, 23.0), False)
    >>> print(story.drained, story.hours)
    [0.5 1.  1. ] [ 0.    0.75 24.  ]

    A day after the first, the medium was read: both others were poured on that day.

    >>> none, when = [np.nan] * 4, [np.nan] * 3 + [24.0]
    >>> log = Log([1.0] * 3 + [0.0], none, none, [np.nan] * 3 + [2.0], when)
    >>> print(story_of(log, flush, None, Timing(0.25, 0.5, 2, 23.0), False, 12.0).hours.round(2))
    [ 0.    0.37 11.75 24.  ]
    """
    applied, drained, ec_drainage, ec_solution, hours = (
        np.atleast_1d(np.asarray(part, dtype=np.float64)).copy() for part in log
    )
    if applied.size == 0 or len({np.shape(np.atleast_1d(part)) for part in log}) > 1:
        raise ValueError("there must be at least one entry, and each figure for every entry")
    if np.any(applied < 0) or np.any(drained < 0):
        raise ValueError("applied and drained must not be negative")
    if np.any(ec_drainage <= 0) or np.any(ec_solution <= 0):
        raise ValueError("a reading must be above zero")
    through = np.maximum(np.cumsum(applied) - float(np.asarray(flush.deficit)), 0.0)
    drained = np.where(np.isnan(drained), np.diff(through, prepend=0.0), drained)
    duration, rest, per_day, night = (float(np.squeeze(part)) for part in timing)
    following, today, was_told = 0.0, 0, ~np.isnan(hours)
    for entry in range(len(hours)):
        if not was_told[entry]:
            hours[entry] = following
        following = float(hours[entry])
        if applied[entry] > 0:
            today += 1
            following += duration + (night if today % per_day == 0 else rest)
    told_before = 0
    for entry in np.flatnonzero(was_told).tolist():
        start, last = hours[told_before], hours[max(entry - 1, told_before)]
        latest = max(hours[entry] - duration - (wait if applied[entry] == 0 else 0.0), start)
        if last > latest and last > start:
            between = slice(told_before, entry)
            hours[between] = start + (hours[between] - start) * (latest - start) / (last - start)
        told_before = entry
    hours = np.maximum.accumulate(hours)
    story = Story(
        applied, drained, ec_drainage, ec_solution, hours, duration, flush, known, by_drainage
    )
    return _highest_of_each_check(story)


def _highest_of_each_check(story: Story) -> Story:
    """Leave of the pots that are read in one check the highest reading: the flush is for all."""
    solution, highest = story.ec_solution.copy(), -1
    for entry in np.flatnonzero(~np.isnan(solution)).tolist():
        poured = story.applied[highest:entry].any()
        if highest < 0 or poured or story.hours[entry] - story.hours[highest] > _ONE_CHECK:
            highest = entry
            continue
        lower, highest = sorted((highest, entry), key=lambda each: float(solution[each]))
        solution[lower] = np.nan
    return story._replace(ec_solution=solution)
