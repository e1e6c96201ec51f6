r"""A flush as an instruction that fails safe: so many litres, a rest, a check, and what if not.

The litres are those after which a stated share of all containers that fit what is known is at its
target, not those of the middle one. What ends the flush is a reading taken after a rest, by a
method that takes the medium's solution, since the drainage while pouring is thinned by water that
ran past and runs ahead of the standing water. The figure to reach is set below the target by the
spread of the reading,

.. math:: C_\text{check} = C_t\,e^{-z\,\sigma}, \qquad
    \sigma = \sqrt{\sigma_m^2 + \sigma_s^2 / n}

with the errors of the meter and of a sample, n samples, and z the score of the confidence, so that
a container exactly at its target is passed no more often than the confidence allows.

References
----------
.. [1] NC State Extension. Using the pour-through procedure: saturate, wait 30 to 120 minutes, pour
   a little, catch the first 50 mL of three to five pots.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Codes, Flags, Floats, side_by_side
from saltcalc.science.pass_days import Timing
from saltcalc.science.plan import Flush, UncertainWashout
from saltcalc.science.sampled_pots import Goals, Start, Uncertain, wash_rows
from saltcalc.science.uncertainty import HIGH, LOW, Interval, normal_score
from saltcalc.science.wetting import WETTED, water_for, water_kept

CONFIDENCE = 0.8
"""Share of containers that are at their target after the litres stated, unless chosen. [-]"""

PRACTICAL_VOLUMES = 3.0
"""Water over container volume beyond which other ways lead (judgement). [L/L]

Extension advice pours two through; half as much again is what people still do.
"""

PRACTICAL_POURINGS = 12
"""Pourings beyond which other ways lead (judgement)."""

NIGHT = 12.0
"""Hours from the evening to the next morning."""

EVENNESS = 0.8
"""Share of its surplus salt that the standing water has lost before a check (judgement). [-]"""

METER_ERROR = 0.05
"""Relative standard deviation of a portable EC meter (common practice). [-]"""

SAMPLE_ERROR = 0.15
"""Relative standard deviation of one pot's reading about the pot, meter apart (judgement).

The abstract of J. Environ. Hort. 6:105 (1988) says of the pour-through that readings varied much
within a treatment, without a figure. [-]
"""

SAMPLES = 3
"""Pots read and averaged in a check: three to five [1]_."""

EXTRA_SHARE = 0.25
"""Water of each further round over that of the plan, if the check is not met (judgement). [L/L]"""

MOST_ROUNDS = 4
"""Further rounds before it is time to stop and ask why (judgement).

Each takes a day with its check, and four of them double the water of the plan.
"""

CLOSEST_WATER = 0.15
"""Least distance of the water below the target, over the target, that is a plan (judgement). [-]

Twice a meter's error on either reading, and a little.
"""

SAMPLE_SIZE = 128
"""Size of the quasi-random sample, a power of two."""

_ROWS, _KINDS = 64, 16
"""Most containers worked out at a time, and most kinds of them, so that memory stays bounded."""


class Reading(NamedTuple):
    """How a reading strays from the pot it is taken of. Arrays of shape (m,) or plain."""

    meter_error: npt.ArrayLike = METER_ERROR
    """Relative standard deviation of the meter. [-]"""
    sample_error: npt.ArrayLike = SAMPLE_ERROR
    """Relative standard deviation of one sample. [-]"""
    samples: npt.ArrayLike = SAMPLES
    """Number of samples averaged."""

    @property
    def spread(self) -> Floats:
        """Standard deviation [-] of the logarithm of the reading."""
        number = np.asarray(self.samples, dtype=np.float64)
        return np.asarray(
            np.hypot(self.meter_error, np.asarray(self.sample_error) / np.sqrt(number))
        )


class Instruction(NamedTuple):
    """What to do to each container. Arrays of shape (m,)."""

    attained: Flags
    """Whether these litres, with the check and further rounds, do it with the confidence asked."""
    wetting: Floats
    """Water to wet a dry medium first, in small lots; part of ``litres``. [L]"""
    passes: Codes
    """Passes after wetting; 0 where nothing is needed or nothing helps."""
    litres: Floats
    """Water to pour in all before the check. [L] NaN where an input is missing."""
    likely: Floats
    """Water that the middle container takes; infinite if it does not get there. [L]"""
    low: Floats
    """Lower end of the 80 % interval of it. [L]"""
    high: Floats
    """Upper end; infinite where one in ten does not get there under the ceiling. [L]"""
    share_reached: Floats
    """Share of the containers that are at their target after ``litres``. [-]"""
    share_reachable: Floats
    """Share of them that this water brings there under the ceiling. [-]"""
    wait: Floats
    """Time from the last pass to the check. [h]"""
    check_ec: Floats
    """EC of the solution at or below which the flush is done. [dS/m]"""
    more: Floats
    """Water of a further round where the check is above it. [L]"""
    rounds: Codes
    """Most such rounds; past them stop, and blend or replace."""
    way_mark: Floats
    """EC expected of the last pass's drainage, the middle container's. [dS/m] Not a stop sign."""
    way_mark_low: Floats
    """[dS/m]"""
    way_mark_high: Floats
    """[dS/m]"""
    days: Codes
    """Days on which passes are poured."""
    hours: Floats
    """From the first pass to the end of the last, rests and nights with it. [h]"""
    few_pourings: Flags
    """Whether it takes no more pourings than people do by hand."""


def too_close(ec_target: npt.ArrayLike, ec_water: npt.ArrayLike) -> Flags:
    """Whether water is so near a target that meters cannot tell them apart.

    Parameters
    ----------
    ec_target, ec_water : array_like, shape (...)
        EC of the solution wanted and of the water, on one basis. [dS/m]

    Returns
    -------
    ndarray of bool, shape (...)
        True where the water is no better than :data:`CLOSEST_WATER` below the target, or above it.

    Examples
    --------
    >>> too_close(2.0, [0.5, 1.8, 2.5])
    array([False,  True,  True])
    """
    target = np.asarray(ec_target, dtype=np.float64)
    return np.asarray(target - np.asarray(ec_water) < CLOSEST_WATER * target)


def check_reading(
    ec_target: npt.ArrayLike,
    reading: Reading | None = None,
    confidence: npt.ArrayLike = CONFIDENCE,
) -> Floats:
    r"""EC that a rested check must show so that the target is met, not only read.

    Parameters
    ----------
    ec_target : array_like, shape (m,)
        EC of the solution wanted. [dS/m]
    reading : Reading, optional
        How the reading strays.
    confidence : array_like, shape (m,)
        Share of containers exactly at the target that are not passed. [-]

    Returns
    -------
    ndarray, shape (m,)
        On the same basis as the target. [dS/m]

    Examples
    --------
    >>> float(check_reading(2.0).round(2))
    1.84
    """
    spread = (reading or Reading()).spread
    target = np.asarray(ec_target, dtype=np.float64)
    margin = normal_score(confidence) * spread
    return np.asarray(target * np.exp(-margin))


def wait_before_check(
    immobile_water_fraction: npt.ArrayLike,
    mass_transfer_coefficient: npt.ArrayLike,
    sorbed_ratio: npt.ArrayLike,
) -> Floats:
    r"""Time until a check tells of the whole pot and not only of the water that flowed.

    .. math:: t = \frac{-\ln(1 - 0.8)}{k\,[1 + (\varphi + s) / (1 - \varphi)]}

    Parameters
    ----------
    immobile_water_fraction, mass_transfer_coefficient, sorbed_ratio : array_like, shape (...)
        As in :class:`saltcalc.science.flush.WashoutParameters`. [L/L], [1/h], [-]

    Returns
    -------
    ndarray, shape (...)
        A night, or so many more whole days as the standing water needs. [h]

    References
    ----------
    The exchange of :mod:`saltcalc.science.flush` at rest.

    Examples
    --------
    A peat pot: the next morning. Compost: the second.

    >>> wait_before_check([0.3, 0.25], [0.2, 0.05], [0.05, 0.2])
    array([12., 36.])
    """
    share, rate, store = (
        np.asarray(part, dtype=np.float64)
        for part in (immobile_water_fraction, mass_transfer_coefficient, sorbed_ratio)
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        hours = -np.log(1.0 - EVENNESS) / (rate * (1.0 + (share + store) / (1.0 - share)))
    hours = np.where(share + store == 0, 0.0, hours)
    return np.asarray(NIGHT + 24.0 * np.ceil(np.maximum(hours - NIGHT, 0.0) / 24.0))


def instruct(
    flush: Flush,
    washout: UncertainWashout,
    water_held: Interval,
    ec_medium: Interval,
    conversion: Interval,
    timing: Timing,
    start: Start | None = None,
    reading: Reading | None = None,
    confidence: npt.ArrayLike = CONFIDENCE,
    size: int = SAMPLE_SIZE,
) -> Instruction:
    """Say how much to pour, when to check, at what figure it is done, and what if not.

    Containers with the same figures are worked out once.

    Parameters
    ----------
    flush : Flush
        What is there and wanted, shape (m,). Its ``water_held``, ``ec_medium`` and ``duration``
        are not used; ``ceiling`` is the most water, wetting and rounds with it.
    washout : UncertainWashout
        The medium, with 80 % intervals; the number of layers is drawn.
    water_held, ec_medium, conversion : Interval
        As for :func:`saltcalc.science.plan.water_interval`.
    timing : Timing
        Of the passes; see :func:`saltcalc.science.schedule.choose_timing`.
    start : Start, optional
        How salt and dryness lie in the pot; without it both evenly.
    reading : Reading, optional
        How the check strays.
    confidence : array_like, shape (m,)
        Share of containers to bring to their target with the litres stated. [-]
    size : int
        Size of the sample, a power of two.

    Returns
    -------
    Instruction
        Where the water is too close to the target, or too few get there, ``attained`` is false:
        then other water, a blend or a fresh medium leads, and ``litres`` holds what would come
        nearest, or 0 where the water is too close.

    Raises
    ------
    ValueError
        If a volume or a time is negative, the pass volume is zero, or the confidence lies
        outside 0.5 to 0.99.

    Examples
    --------
    A 10 L pot of peat and perlite at 8 dS/m in its pore water, to come to 3 with water of 0.5.

    >>> flush = Flush(8.0, 3.0, 0.5, 6.0, 0.0, 1.0, 100.0, 0.25)
    >>> peat = UncertainWashout(
    ...     Interval.of(0.8, 0.55, 0.97),
    ...     Interval.of(0.3, 0.1, 0.55),
    ...     Interval.of(0.2, 0.06, 0.8),
    ...     Interval.of(0.05, 0.02, 0.15),
    ... )
    >>> told = instruct(
    ...     flush,
    ...     peat,
    ...     Interval.of(6.0, 5.4, 6.6),
    ...     Interval.of(8.0, 7.0, 9.0),
    ...     Interval.of(1.0, 0.9, 1.1),
    ...     Timing(0.25, 0.0, 40),
    ... )
    >>> bool(told.attained[0]), bool(told.low[0] <= told.likely[0] <= told.litres[0])
    (True, True)
    """
    sure = np.asarray(confidence, dtype=np.float64)
    if np.any((sure < 0.5) | (sure > 0.99)):
        raise ValueError("confidence must lie between 0.5 and 0.99")
    start, reading = start or Start(), reading or Reading()
    flush = flush._replace(ec_medium=ec_medium.value, water_held=water_held.value, duration=0.0)
    of_medium = [part for interval in washout for part in interval]
    columns = [
        *flush,
        *of_medium,
        *water_held,
        *ec_medium,
        *conversion,
        *timing,
        *start.top_over_rest,
        start.height,
        *start.unswept,
        start.reach,
        reading.spread,
        sure,
    ]
    of_pass = [flush.pass_volume, *of_medium, *water_held, *timing, *start.unswept]
    shape = np.broadcast_shapes((1,), *map(np.shape, columns))
    table = side_by_side(columns, shape)
    # Missing figures count as alike, or each would be worked out alone.
    unlike, first, where = np.unique(
        table, axis=0, return_index=True, return_inverse=True, equal_nan=True
    )
    # What a pass does is worked out once for pots that differ in their salt and target alone.
    missing = np.isnan(unlike).any(axis=1, keepdims=True)
    passes = np.hstack([missing, side_by_side(of_pass, shape)[first]])
    kind = np.unique(passes, axis=0, return_inverse=True, equal_nan=True)[1].reshape(-1)
    # One pot stands for all where nothing is washed out. In lots, so that memory stays bounded.
    medium_ec, target_ec = unlike[:, 0], unlike[:, 1]
    washed = medium_ec > target_ec
    lots = [
        (rows, alike, number)
        for some, number in ((washed, size), (~washed, 1))
        for rows, alike in _lots(np.flatnonzero(some), kind)
    ] or [(np.arange(0), 1, size)]
    found = [_instruct(unlike[rows].T, alike, number) for rows, alike, number in lots]
    order = np.argsort(np.concatenate([rows for rows, *_ in lots]))
    where = order[where.reshape(-1)]
    return Instruction(*(np.concatenate(part)[where] for part in zip(*found, strict=True)))


def _lots(rows: Codes, kind: Codes) -> Iterator[tuple[Codes, int]]:
    """Yield rows in lots, kind by kind, with so many of each kind in a lot."""
    ordered = rows[np.argsort(kind[rows], kind="stable")]
    by_number: dict[int, list[Codes]] = {}
    for alike in np.split(ordered, np.flatnonzero(np.diff(kind[ordered])) + 1):
        for first in range(0, len(alike), _ROWS):
            piece = alike[first : first + _ROWS]
            by_number.setdefault(len(piece), []).append(piece)
    for number, pieces in by_number.items():
        together = min(_ROWS // number, _KINDS)
        for first in range(0, len(pieces), together):
            yield np.concatenate(pieces[first : first + together]), number


def _instruct(rows: Floats, alike: int, size: int) -> Instruction:
    """Instruct for rows kind by kind, so many of each kind, with a sample of this size a row."""
    figures = iter(rows)

    def interval() -> Interval:
        return Interval(next(figures), next(figures), next(figures))

    flush = Flush(*(next(figures) for _ in Flush._fields))
    washout = UncertainWashout(*(interval() for _ in UncertainWashout._fields))
    uncertain = washout, interval(), interval(), interval()
    timing = Timing(*(next(figures) for _ in Timing._fields))
    start = Start(interval(), next(figures), interval(), next(figures))
    spread, confidence = next(figures), next(figures)
    _check(flush, timing)
    known = np.asarray(~np.isnan(rows).any(axis=0))
    # Whole figures in place of missing ones; what comes of them is taken out at the end.
    target = np.where(known, flush.ec_target, 1.0)
    water = np.where(known, flush.ec_water, 0.0)
    each = np.where(known, flush.pass_volume, 1.0)
    deficit = np.where(known, flush.deficit, 0.0)
    ceiling = np.where(known, flush.ceiling, 0.0)
    reach = np.where(known, start.reach, 1.0)
    per_day = np.where(known, np.maximum(np.asarray(timing.passes_a_day), 1.0), 1.0).astype(int)

    # A medium that repels water gets no less of it, and keeps less.
    wetting = water_for(WETTED * deficit, deficit, 1.0)
    kept = water_kept(wetting, deficit, reach)
    left = np.maximum(ceiling - wetting, 0.0)
    most = np.floor(left / each * (1 + 1e-12)).astype(np.int64)

    goals = Goals(target, water, each, most)
    given = Uncertain(*uncertain, start)
    number, mark = wash_rows(given, known, goals, kept, timing, alike, size)
    there = number <= most[:, np.newaxis]
    share_reachable = there.mean(axis=1)
    litres_drawn = np.where(there, wetting[:, np.newaxis] + number * each[:, np.newaxis], np.inf)
    litres_drawn = np.where(number == 0, 0.0, litres_drawn)
    needed = np.asarray(flush.ec_medium) > target
    low, likely, high = np.quantile(litres_drawn, [LOW, 0.5, HIGH], axis=1, method="inverted_cdf")
    confidence = np.where(known, confidence, CONFIDENCE)
    place = np.ceil(confidence * size - 1e-9).astype(np.int64) - 1
    asked = np.take_along_axis(np.sort(number, axis=1), place[:, np.newaxis], axis=1)[:, 0]
    near = too_close(target, water)
    passes = np.where(needed & ~near, np.minimum(asked, most), 0)
    share_reached = (number <= passes[:, np.newaxis]).mean(axis=1)
    extra = np.maximum(np.ceil(EXTRA_SHARE * passes), 1.0)
    rounds = np.where(needed, np.minimum((most - passes) // extra, MOST_ROUNDS), 0).astype(np.int64)

    mark_low, mark_middle, mark_high = np.quantile(mark, [LOW, 0.5, HIGH], axis=1)

    check = target * np.exp(-normal_score(confidence) * spread)
    attained = (
        (share_reachable >= np.maximum(confidence, HIGH))
        & ~near
        & (check > water * (1 + METER_ERROR))
    ) | ~needed
    days = -(-passes // per_day)
    hours = passes * np.asarray(timing.duration) + np.where(
        passes > 0,
        (passes - days) * np.asarray(timing.rest) + (days - 1) * np.asarray(timing.night),
        0.0,
    )
    litres = np.where(passes > 0, wetting + passes * each, 0.0)
    flushed = known & (passes > 0)
    return Instruction(
        attained=known & attained,
        wetting=np.where(known, np.where(passes > 0, wetting, 0.0), np.nan),
        passes=np.where(known, passes, 0),
        litres=np.where(known, litres, np.nan),
        likely=np.where(known, np.where(needed, likely, 0.0), np.nan),
        low=np.where(known, np.where(needed, low, 0.0), np.nan),
        high=np.where(known, np.where(needed, high, 0.0), np.nan),
        share_reached=np.where(known, np.where(needed, share_reached, 1.0), np.nan),
        share_reachable=np.where(known, np.where(needed, share_reachable, 1.0), np.nan),
        wait=np.where(known, wait_before_check(*(part.value for part in washout[1:])), np.nan),
        check_ec=np.where(known, check, np.nan),
        more=np.where(flushed, extra * each, np.where(known, 0.0, np.nan)),
        rounds=np.where(known, rounds, 0),
        way_mark=np.where(flushed, mark_middle, np.nan),
        way_mark_low=np.where(flushed, mark_low, np.nan),
        way_mark_high=np.where(flushed, mark_high, np.nan),
        days=np.where(known, days, 0),
        hours=np.where(known, hours, np.nan),
        few_pourings=known & (passes <= PRACTICAL_POURINGS),
    )


def _check(flush: Flush, timing: Timing) -> None:
    parts = (flush.water_held, flush.deficit, flush.ceiling, *timing)
    if any(np.any(np.asarray(part) < 0) for part in parts):
        raise ValueError("volumes and times must not be negative")
    if np.any(np.asarray(flush.pass_volume) <= 0):
        raise ValueError("pass_volume must be above zero")
