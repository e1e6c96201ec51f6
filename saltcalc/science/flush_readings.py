r"""A flush under way: what its readings say of this container, and what to do next.

The same sample of containers that the instruction was counted over is followed through what was
poured, with its times, and weighed by how well each member foretells the readings. A reading
strays by a t distribution with few degrees of freedom, so that one bad reading moves little. The
sample is drawn anew about those that fit, two times over, by importance sampling [1]_.

A reading that cannot be is not believed: it is flagged, left out, and the flag says which it is.
Flags are codes; what a person reads is written elsewhere.

References
----------
.. [1] Gelman, A. et al. (2013). Bayesian Data Analysis, 3rd ed., sections 10.4 (importance
   sampling) and 17.2 (t errors for outlying observations).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from saltcalc.science import cycles
from saltcalc.science._arrays import Flags, Floats
from saltcalc.science.flush_story import Course, Log, Story, story_of
from saltcalc.science.instruction import (
    CONFIDENCE,
    METER_ERROR,
    PRACTICAL_POURINGS,
    PRACTICAL_VOLUMES,
    Reading,
    check_reading,
    wait_before_check,
)
from saltcalc.science.pass_days import Timing
from saltcalc.science.passes_needed import passes_needed
from saltcalc.science.plan import Flush
from saltcalc.science.retest import CHANGES, change_of, ratio_of
from saltcalc.science.sampled_pots import DIMENSIONS, Uncertain
from saltcalc.science.uncertainty import HIGH, LOW, SEED, normal_sample

DRAINAGE_SPREAD = 0.12
"""Relative standard deviation of the EC of one pass's drainage, meter included (judgement)."""

FREEDOM = 4.0
"""Degrees of freedom of the t distribution that readings stray by (judgement)."""

FLAGS = (
    "below_water",
    "slip_of_ten",
    "outlier",
    "above_medium",
    "first_drainage_low",
    "fed",
    "efficiency_at_edge",
    "too_soon",
    "unlike_medium",
    "unmoved",
)
"""What may be wrong with readings or with the pot.

``below_water``: weaker than the water poured on, which cannot be. ``slip_of_ten``: fits when taken
ten times larger or smaller. ``outlier``: far from what its neighbours foretell. ``above_medium``:
drainage much stronger than the medium was said to be. ``first_drainage_low``: under half of what
was expected from the start: meter, extraction method or a channel. ``fed``: the level does not fall
although water goes through: fertilizer, gypsum or compost gives salt off. ``efficiency_at_edge``:
nearly all water runs past. ``too_soon``: a reading of the medium before it had rested.
``unlike_medium``: a rested reading of the medium that the water poured since the first one cannot
have brought about. ``unmoved``: a rested reading no lower than the first one within their error,
although the water poured would have shown even in the slowest containers.
"""

VERDICTS = (
    "go_on",
    "check",
    "done",
    "measure_again",
    "stop_fed",
    "stop_rewet",
    "stop_unmoved",
    "stop",
)
"""What to do: pour what is asked; rest and read the medium; nothing more; read again before any
more water; stop, for it is being fed; stop and wet it through first; stop, and find out why the
medium did not fall; stop, and take another way.
"""

_DIGITS_TOLD = 2
"""Digits of the figure that a person is told to come down to."""

_ROUNDED = 1e-4
"""How far a figure may be off that a program is told. [-]"""

_FIRST_SAMPLE = 256
_SAMPLES = (256, 512)
_LEAST_ALIKE = 48.0
_LEAST_LEFT = 16.0
_WIDER = 1.3
_MOST_PASSES = 400
_SURELY_BELOW = 3.0
_TIMES_TEN = 1.5
_FAR = 3.5
_WEAK = 0.5
_STRONG = 1.5
_RARE = 0.05
_LEAST_READINGS = 4
_SLOWEST_FALL = 0.35
_CLEAR_FALL = 3.0


class Range(NamedTuple):
    """A figure with its 80 % interval."""

    value: float
    low: float
    high: float


class Flag(NamedTuple):
    """What is odd about one entry of a log, or about all of them."""

    code: str
    """One of :data:`FLAGS`."""
    entry: int
    """Which entry, from 0; −1 for the whole log."""
    read: float
    """What was read. [dS/m] For ``efficiency_at_edge`` the efficiency found. [L/L]"""
    expected: float
    """What was to be expected in its place."""


class FollowUp(NamedTuple):
    """What the readings say, and what to do next."""

    verdict: str
    """One of :data:`VERDICTS`."""
    flags: tuple[Flag, ...]
    efficiency: Range
    """Share of the drainage that moves solution. [L/L]"""
    ec_medium: Range
    """EC that the medium settles to now, on the basis of the target. [dS/m]"""
    needed: Range
    """Water still needed: that of the middle container, and its 80 % interval. [L]"""
    ask: float
    """Water to pour now, before the check; 0 unless the verdict is to go on. [L]

    No more than :data:`~saltcalc.science.instruction.PRACTICAL_POURINGS` passes of it.
    """
    ask_passes: int
    """The same as passes."""
    wait: float
    """Rest before the check. [h]"""
    check_ec: float
    """EC of the solution at or below which the flush is done. [dS/m]"""
    applied: float
    """Water poured on so far. [L]"""


def follow_readings(
    log: Log,
    flush: Flush,
    known: Uncertain,
    volume: float,
    timing: Timing,
    reading: Reading | None = None,
    by_drainage: bool = False,
    confidence: float = CONFIDENCE,
    at_least: bool = False,
    per_reading: float = 1.0,
) -> FollowUp:
    """Say how far a flush is, whether its readings can be, and what to do next.

    Parameters
    ----------
    log : Log
        Passes and readings so far, at least one.
    flush : Flush
        Plain numbers: what was there and is wanted; see
        :func:`saltcalc.science.instruction.instruct`.
    known : Uncertain
        What was known of the container before, plain numbers.
    volume : float
        Of the medium. [L]
    timing : Timing
        Of the passes, plain numbers.
    reading : Reading, optional
        How a reading of the medium strays.
    by_drainage : bool
        Whether the medium is read by a pour-through, which shows the flowing water of the lowest
        layer, and not by an extract of the whole.
    confidence : float
        As for the instruction. [-]
    at_least : bool
        Whether the EC before the flush is only the least that it was.
    per_reading : float
        EC of the solution over the reading by the method that the figure is told in. [-]

    Returns
    -------
    FollowUp

    Raises
    ------
    ValueError
        If nothing was done or read, a volume is negative, or a reading is not above zero.

    Examples
    --------
    Two passes as they should be, then a reading that is ten times too small.

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
    >>> conversion = Interval.of(1.0, 0.9, 1.1)
    >>> flush = Flush(8.0, 3.0, 0.5, 6.0, 0.0, 1.0, 30.0, 0.25)
    >>> missing = [np.nan] * 3
    >>> log = Log([1.0] * 3, missing, [6.3, 5.8, 0.52], missing, missing)
    >>> known = Uncertain(peat, held, before, conversion, Start())
    >>> found = follow_readings(log, flush, known, 10.0, Timing(0.25, 0.5, 14))
    >>> found.verdict, [(flag.code, flag.entry) for flag in found.flags]
    ('go_on', [('slip_of_ten', 2)])
    """
    story = story_of(log, flush, known, timing, by_drainage, _wait(known))
    spread = float((reading or Reading()).spread)
    before = story.course_of(normal_sample(DIMENSIONS, _FIRST_SAMPLE))
    flags = _cannot_be(story, before)
    believed = ~np.isnan(story.ec_drainage) & (story.drained > 0)
    believed[[flag.entry for flag in flags]] = False
    rested = story.rested(0.8 * _wait(known))
    now, weight = _fitting(story, before, believed, spread)
    outliers = _outliers(story, believed, now, weight)
    if outliers:
        believed[[flag.entry for flag in outliers]] = False
        now, weight = _fitting(story, before, believed, spread)
    pots = now.sample.pots
    efficiency = _range(pots.efficiency, weight)
    flags += [*outliers, *_odd_start(story, before, believed), *_fed(story, before, believed)]
    flags += [*_too_soon(story, rested), *_against_start(story, before, rested, at_least)]
    usual = before.sample.pots.efficiency
    if efficiency.value <= np.quantile(usual, _RARE):
        flags.append(Flag("efficiency_at_edge", -1, efficiency.value, float(np.median(usual))))

    settled = (cycles.settled_excess(pots, now.excess) + story.water) / now.sample.factor
    each = float(np.asarray(flush.pass_volume))
    left = _passes_left(story, now, timing)
    middle, low, high, asked = _quantiles(left, weight, (0.5, LOW, HIGH, confidence))
    poured = float(story.applied.sum())
    room = int((PRACTICAL_VOLUMES * volume - poured) / each + 1e-9)
    check = float(check_reading(flush.ec_target, reading, confidence))
    told = float(f"{check / per_reading:.{_DIGITS_TOLD}g}") * per_reading
    done = _met(story, rested, max(check, told) * (1 + _ROUNDED))
    verdict = _verdict(story, flags, done, middle, asked, room)
    # No more at a time than people pour: the reading after them says how to go on.
    passes = int(min(asked, room, PRACTICAL_POURINGS)) if verdict == "go_on" else 0
    return FollowUp(
        verdict=verdict,
        flags=tuple(flags),
        efficiency=efficiency,
        ec_medium=_range(settled, weight),
        needed=Range(each * middle, each * min(low, middle), each * max(high, middle)),
        ask=passes * each,
        ask_passes=passes,
        wait=_wait(known),
        check_ec=check,
        applied=poured,
    )


def _fitting(story: Story, before: Course, believed: Flags, spread: float) -> tuple[Course, Floats]:
    """Draw containers about those that foretell the readings; the sample and its weights."""
    course = before
    logs = _likelihood(story, course, believed, spread)
    for turn, size in enumerate(_SAMPLES):
        weight = _tempered(logs, _LEAST_ALIKE)
        centre = weight @ course.scores
        apart = course.scores - centre
        cover = _WIDER * (weight[:, np.newaxis] * apart).T @ apart + 0.05 * np.eye(DIMENSIONS)
        root = np.linalg.cholesky(cover)
        plain = normal_sample(DIMENSIONS, size, SEED + 1 + turn)
        course = story.course_of(centre + plain @ root.T)
        logs = _likelihood(story, course, believed, spread)
        # The prior over the density drawn from, up to a constant.
        logs += 0.5 * ((plain**2).sum(axis=1) - (course.scores**2).sum(axis=1))
    return course, _tempered(logs, _LEAST_LEFT)


def _likelihood(story: Story, course: Course, believed: Flags, spread: float) -> Floats:
    """Logarithm of how well each container foretells what was read, shape (size,)."""
    read = ~np.isnan(story.ec_solution)
    shown = np.concatenate([course.drainage[believed], course.solution[read]])
    seen = np.concatenate([story.ec_drainage[believed], story.ec_solution[read]])
    wide = np.concatenate([np.full(believed.sum(), DRAINAGE_SPREAD), np.full(read.sum(), spread)])
    strays = np.log(shown / seen[:, np.newaxis]) / wide[:, np.newaxis]
    return np.asarray(-(FREEDOM + 1) / 2 * np.log1p(strays**2 / FREEDOM).sum(axis=0))


def _tempered(logs: Floats, least: float) -> Floats:
    """Weights, flattened just so far that at least so many containers count."""
    logs = logs - logs.max()
    power, step = 1.0, 0.5
    weight = np.exp(logs)
    if weight.sum() ** 2 < least * (weight**2).sum():
        power = 0.0
        for _ in range(20):
            weight = np.exp((power + step) * logs)
            if weight.sum() ** 2 >= least * (weight**2).sum():
                power += step
            step /= 2
        weight = np.exp(power * logs)
    return np.asarray(weight / weight.sum())


def _quantiles(values: Floats, weight: Floats, at: tuple[float, ...]) -> list[float]:
    order = np.argsort(values)
    reached = np.cumsum(weight[order])
    last = len(order) - 1
    return [float(values[order[min(int(np.searchsorted(reached, q)), last)]]) for q in at]


def _range(values: Floats, weight: Floats) -> Range:
    return Range(*_quantiles(values, weight, (0.5, LOW, HIGH)))


def _cannot_be(story: Story, before: Course) -> list[Flag]:
    """Find drainage weaker than the water, and readings that fit when taken ten times over."""
    flags = []
    for entry in np.flatnonzero(~np.isnan(story.ec_drainage) & (story.drained > 0)):
        read = float(story.ec_drainage[entry])
        expected = float(np.median(before.drainage[entry]))
        tens = [
            max(ten * read / expected, expected / (ten * read)) < _TIMES_TEN for ten in (10.0, 0.1)
        ]
        if any(tens):
            flags.append(Flag("slip_of_ten", int(entry), read, expected))
        elif read < story.water * (1.0 - _SURELY_BELOW * METER_ERROR):
            flags.append(Flag("below_water", int(entry), read, story.water))
    return flags


def _outliers(story: Story, believed: Flags, now: Course, weight: Floats) -> list[Flag]:
    """Find readings far from what the containers that fit the others foretell."""
    entries = np.flatnonzero(believed)
    if len(entries) < 3:
        return []
    foretold = np.array([_quantiles(now.drainage[entry], weight, (0.5,))[0] for entry in entries])
    strays = np.abs(np.log(story.ec_drainage[entries] / foretold)) / DRAINAGE_SPREAD
    far = strays > _FAR
    if far.sum() > 0.4 * len(entries):
        return []
    return [
        Flag("outlier", int(entries[k]), float(story.ec_drainage[entries[k]]), float(foretold[k]))
        for k in np.flatnonzero(far)
    ]


def _odd_start(story: Story, before: Course, believed: Flags) -> list[Flag]:
    """Compare the first drainage that was read with what was to be expected of it."""
    entries = np.flatnonzero(believed)
    if not entries.size:
        return []
    first = int(entries[0])
    read, foretold = float(story.ec_drainage[first]), before.drainage[first]
    expected = float(np.median(foretold))
    rarely_low, rarely_high = np.quantile(foretold, [_RARE, 1 - _RARE])
    if read < min(_WEAK * expected, rarely_low):
        return [Flag("first_drainage_low", first, read, expected)]
    # Salt on top keeps the first drainage weaker than the medium, which is the more there may be.
    most = max(expected, float(np.squeeze(story.known.ec_medium.value)))
    if read > max(_STRONG * most, rarely_high):
        return [Flag("above_medium", first, read, most)]
    return []


def _fed(story: Story, before: Course, believed: Flags) -> list[Flag]:
    """Find a level that does not fall although the slowest containers' would."""
    entries = np.flatnonzero(believed)
    if len(entries) < _LEAST_READINGS:
        return []
    target = float(np.asarray(story.flush.ec_target))
    for count in range(_LEAST_READINGS, len(entries) + 1):
        last = entries[-count:]
        above = story.ec_drainage[last] - story.water
        if np.any(above <= 0.25 * (target - story.water)):
            return []
        steps = np.arange(count) - (count - 1) / 2
        per_step = float(steps @ np.log(above) / (steps @ steps))
        foretold = np.log(np.maximum(before.drainage[last] - story.water, 1e-9))
        slowest = float(np.quantile(-(steps @ foretold) / (steps @ steps), 0.2))
        error = DRAINAGE_SPREAD / np.sqrt(steps @ steps)
        if -per_step < _SLOWEST_FALL * slowest and slowest + per_step > _CLEAR_FALL * error / 2:
            read = float(story.ec_drainage[last].mean())
            expected = float(np.median(before.drainage[last[-1]]))
            return [Flag("fed", int(last[0]), read, expected)]
    return []


def _wait(known: Uncertain) -> float:
    immobile, rate, store = (
        float(np.squeeze(interval.value))
        for interval in (
            known.washout.immobile_water_fraction,
            known.washout.mass_transfer_coefficient,
            known.washout.sorbed_ratio,
        )
    )
    return float(wait_before_check(immobile, rate, store))


def _met(story: Story, rested: Flags, figure: float) -> bool:
    """Whether the last thing done was a check, and it reads no more than a figure."""
    last = np.flatnonzero(rested)[-1:]
    poured_since = last.size and story.applied[last[0] :].any()
    return bool(last.size and not poured_since and story.ec_solution[last] <= figure)


def _too_soon(story: Story, rested: Flags) -> list[Flag]:
    early = ~np.isnan(story.ec_solution) & ~rested
    return [
        Flag("too_soon", int(entry), float(story.ec_solution[entry]), np.nan)
        for entry in np.flatnonzero(early)
    ]


def _against_start(story: Story, before: Course, rested: Flags, at_least: bool) -> list[Flag]:
    """Hold the last rested reading of the medium against the first one and the water since.

    Where the EC before is a least value only, it may have fallen unseen.
    """
    entries = np.flatnonzero(rested)
    if not entries.size:
        return []
    last = int(entries[-1])
    read, foretold = float(story.ec_solution[last]), before.solution[last]
    start, expected = float(np.asarray(story.flush.ec_medium)), float(np.median(foretold))
    # A reading that all but the rarest containers miss is not yet impossible.
    lowest, highest = float(foretold.min()), float(np.quantile(foretold, 1 - _RARE))
    change = _changed(start, read)
    if _changed(lowest, read) == "fell" or (change == "rose" and not at_least):
        return [Flag("unlike_medium", last, read, expected)]
    if change == "no_change" and not at_least and _changed(start, highest) == "fell":
        return [Flag("unmoved", last, read, expected)]
    return []


def _changed(first: float, second: float) -> str:
    """Tell whether two readings differ beyond their error."""
    return CHANGES[int(change_of(ratio_of(first, second), 1.0))]


def _passes_left(story: Story, now: Course, timing: Timing) -> Floats:
    """Count the passes each container still needs; infinite where there is no end to them."""
    pots, size = now.sample.pots, now.sample.held.size
    each = float(np.asarray(story.flush.pass_volume))
    wanted = float(np.asarray(story.flush.ec_target)) * now.sample.factor - story.water
    times = Timing(*(np.full(size, float(np.squeeze(part))) for part in timing))
    pause = times.rest if story.applied[-1] > 0 else 0.0
    state = cycles.moved_by(cycles.rest_map(pots, pause), now.excess)
    one = cycles.pass_map(pots, each / now.sample.held, story.duration)
    whole = np.ones((size, 1, 1))
    left = passes_needed(
        pots, one, state[:, np.newaxis], whole, wanted[:, np.newaxis], _MOST_PASSES, times
    ).passes[:, 0]
    return np.where(left > _MOST_PASSES, np.inf, left.astype(np.float64))


def _verdict(
    story: Story, flags: list[Flag], done: bool, middle: float, asked: float, room: int
) -> str:
    codes = {flag.code for flag in flags}
    wrong = sum(flag.code in ("below_water", "slip_of_ten") for flag in flags)
    readings = int((~np.isnan(story.ec_drainage)).sum())
    # What no water explains is doubted before it is believed.
    if "unlike_medium" in codes:
        return "measure_again"
    if done:
        return "done"
    if wrong and 2 * wrong >= readings:
        return "measure_again"
    # A level that holds from a good start is fed; from a weak one the water runs past.
    if "fed" in codes and "first_drainage_low" not in codes:
        return "stop_fed"
    if "efficiency_at_edge" in codes:
        return "stop_rewet"
    if codes & {"first_drainage_low", "above_medium"}:
        return "measure_again"
    if "unmoved" in codes:
        return "stop_unmoved"
    if asked == 0:
        return "check"
    if middle > room or room < 1:
        return "stop"
    return "go_on"
