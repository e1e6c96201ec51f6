r"""A flush as an instruction that fails safe: so many litres, a rest, a check, and what if not.

The litres are those after which a stated share of all containers that fit what is known is at its
target, not those of the middle one. What ends the flush is a reading taken after a rest, by a
method that takes the medium's solution, since the drainage while pouring is thinned by water that
ran past and runs ahead of the standing water. The figure to reach is set below the target by the
spread of the reading,

.. math:: C_\text{check} = C_t\,e^{-z\,\sigma}, \qquad
    \sigma = \sqrt{\sigma_m^2 + \sigma_s^2 / n}

with the errors of the meter and of a sample, n samples, and z the score of the confidence, so that
the mean of containers exactly at their target passes no more often than the confidence allows. No
sample may read more than that figure, which is stricter than their mean: on a bench of unlike pots
a mean hides the pot in which the water runs past.

References
----------
.. [1] NC State Extension. Using the pour-through procedure: saturate, wait 30 to 120 minutes, pour
   a little, catch the first 50 mL of three to five pots.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Codes, Flags, Floats, in_shape, picked, side_by_side
from saltcalc.science.pass_days import Timing
from saltcalc.science.plan import Flush, UncertainWashout
from saltcalc.science.sampled_pots import Goals, Start, Uncertain, wash_rows
from saltcalc.science.uncertainty import HIGH, LOW, Interval, normal_score, quantile_of
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
"""Pots read in a check: three to five [1]_."""

EXTRA_SHARE = 0.25
"""Water of each further round over that of the plan, if the check is not met (judgement). [L/L]"""

MOST_ROUNDS = 4
"""Further rounds before it is time to stop and ask why (judgement).

Each takes a day with its check, and four of them double the water of the plan.
"""

CLOSEST_WATER = 0.25
"""Least distance of the water below the target, over the target, that is a plan (judgement). [-]

With a water nearer than that, a check of three pots that are at their target is failed more often
than not, by the error of meter and sample, whatever more is poured.
"""

SAMPLE_SIZE = 128
"""Size of the quasi-random sample, a power of two."""

_PLACES = 2.0**44
"""Binary places, of the 53 that there are, by which figures are told apart."""

_ROWS, _KINDS = 128, 16
"""Most containers worked out at a time, and most kinds of them, so that memory stays bounded."""


class Reading(NamedTuple):
    """How a reading strays from the pot it is taken of. Arrays of shape (m,) or plain."""

    meter_error: npt.ArrayLike = METER_ERROR
    """Relative standard deviation of the meter. [-]"""
    sample_error: npt.ArrayLike = SAMPLE_ERROR
    """Relative standard deviation of one sample. [-]"""
    samples: npt.ArrayLike = SAMPLES
    """Number of samples read."""

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
    """EC of the solution that no sample may exceed where the flush is done. [dS/m]"""
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

    Containers with the same figures are worked out once, and those that differ in size alone: what
    becomes of a medium rests on its volumes over the water that it holds.

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
        If a figure is missing, a volume or a time is negative, the pass volume is zero, or the
        confidence lies outside 0.5 to 0.99.

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
    start, reading = start or Start(), reading or Reading()
    held = np.asarray(water_held.value, dtype=np.float64)
    size_of = np.where(held > 0, held, 1.0)
    volumes = (*water_held, flush.deficit, flush.pass_volume, flush.ceiling)
    *holds, deficit, each, ceiling = (np.asarray(part) / size_of for part in volumes)
    of_size = Flush(
        ec_medium.value, flush.ec_target, flush.ec_water, holds[0], deficit, each, ceiling, 0.0
    )
    of_medium = [part for interval in washout for part in interval]
    in_pot = [*start.top_over_rest, start.height, *start.unswept]
    of_row = [*of_size, *of_medium, *holds, *ec_medium, *conversion, *timing, *in_pot]
    table = side_by_side([*of_row, start.reach, reading.spread, confidence], (1,))
    _check(table.T, of_size, timing)
    if len(table) == 1:
        return _in_litres(_instruct(table.T, 1, size if _is_washed(table)[0] else 1), flush)
    _, first, where = np.unique(_blurred(table), axis=0, return_index=True, return_inverse=True)
    unlike = table[first]
    # What a pass does is worked out once for pots that differ in their salt and target alone.
    of_pass = [each, *of_medium, *holds, *timing, *in_pot]
    passes = _blurred(side_by_side(of_pass, table.shape[:1])[first])
    kind = np.unique(passes, axis=0, return_inverse=True)[1].reshape(-1)
    per_day = in_shape(timing.passes_a_day, table.shape[:1])[first]
    # One pot stands for all where nothing is washed out. In lots, so that memory stays bounded.
    washed = _is_washed(unlike)
    lots = [
        (rows, alike, number)
        for some, number in ((washed, size), (~washed, 1))
        for rows, alike in _lots(np.flatnonzero(some), kind, per_day)
    ] or [(np.arange(0), 1, size)]
    found = [_instruct(unlike[rows].T, alike, number) for rows, alike, number in lots]
    order = np.argsort(np.concatenate([rows for rows, *_ in lots]))
    where = order[where.reshape(-1)]
    told = Instruction(*(np.concatenate(part)[where] for part in zip(*found, strict=True)))
    return _in_litres(told, flush)


def _blurred(table: Floats) -> Floats:
    """Leave out the last digits, in which figures differ that were rounded on other ways."""
    part, power = np.frexp(table)
    return np.ldexp(np.round(part * _PLACES) / _PLACES, power)


def _in_litres(told: Instruction, flush: Flush) -> Instruction:
    """Tell in litres what is told in passes, with the wetting before them."""
    each, deficit = np.asarray(flush.pass_volume), np.asarray(flush.deficit)
    wetting = water_for(WETTED * deficit, deficit, 1.0)

    def poured(passes: Floats) -> Floats:
        return np.where(passes > 0, wetting + passes * each, 0.0)

    return told._replace(
        wetting=np.where(told.passes > 0, wetting, 0.0),
        litres=poured(told.litres),
        likely=poured(told.likely),
        low=poured(told.low),
        high=poured(told.high),
        more=told.more * each,
    )


def _is_washed(table: Floats) -> Flags:
    """Tell which rows have salt to lose: their EC, then their target, come first."""
    return np.asarray(table[:, 0] > table[:, 1])


def _lots(rows: Codes, kind: Codes, per_day: Floats) -> Iterator[tuple[Codes, int]]:
    """Yield rows in lots, kind by kind, with so many of each kind and passes a day in a lot."""
    ordered = rows[np.argsort(kind[rows], kind="stable")]
    like: dict[tuple[int, float], list[Codes]] = {}
    for alike in np.split(ordered, np.flatnonzero(np.diff(kind[ordered])) + 1):
        for first in range(0, len(alike), _ROWS):
            piece = alike[first : first + _ROWS]
            like.setdefault((len(piece), float(per_day[piece[0]])), []).append(piece)
    for (number, _), pieces in like.items():
        together = min(_ROWS // number, _KINDS)
        for first in range(0, len(pieces), together):
            yield np.concatenate(pieces[first : first + together]), number


def _instruct(rows: Floats, alike: int, size: int) -> Instruction:
    """Instruct for rows kind by kind, so many of each kind, with a sample of this size a row.

    Volumes go in over the water held, and come out in passes, without the wetting.
    """
    figures = iter(rows.reshape(len(rows), -1, alike))

    def interval() -> Interval:
        return Interval(next(figures), next(figures), next(figures))

    flush = Flush(*(next(figures) for _ in Flush._fields))
    washout = UncertainWashout(*(interval() for _ in UncertainWashout._fields))
    uncertain = washout, interval(), interval(), interval()
    timing = Timing(*(next(figures) for _ in Timing._fields))
    start = Start(interval(), next(figures), interval(), next(figures))
    spread, confidence = next(figures), next(figures)
    target, water, each = (
        np.asarray(part) for part in (flush.ec_target, flush.ec_water, flush.pass_volume)
    )
    per_day = np.maximum(np.asarray(timing.passes_a_day), 1.0).astype(np.int64)

    # A medium that repels water gets no less of it, and keeps less.
    deficit = np.asarray(flush.deficit)
    wetting = water_for(WETTED * deficit, deficit, 1.0)
    kept = water_kept(wetting, deficit, start.reach)
    left = np.maximum(np.asarray(flush.ceiling) - wetting, 0.0)
    most = np.floor(left / each * (1 + 1e-12)).astype(np.int64)

    given = Uncertain(*uncertain, start)
    drawn, drainage = wash_rows(given, Goals(target, water, each, most), kept, timing, size)
    number = np.sort(drawn, axis=-1)
    share_reachable = (number <= most[..., np.newaxis]).mean(axis=-1)
    needed = np.asarray(flush.ec_medium) > target
    # The fewest passes that are enough for these shares of the containers.
    ends = np.array([number[..., _place(share, size)] for share in (LOW, 0.5, HIGH)])
    low, likely, high = np.where(needed, np.where(ends <= most, ends, np.inf), 0.0)
    place = np.ceil(confidence * size - 1e-9).astype(np.int64) - 1
    asked = picked(number, place)
    near = too_close(target, water)
    passes = np.where(needed & ~near, np.minimum(asked, most), 0)
    share_reached = (number <= passes[..., np.newaxis]).mean(axis=-1)
    extra = np.maximum(np.ceil(EXTRA_SHARE * passes), 1.0)
    rounds = np.where(needed, np.minimum((most - passes) // extra, MOST_ROUNDS), 0).astype(np.int64)

    check = target * np.exp(-normal_score(confidence) * spread)
    attained = (
        (share_reachable >= np.maximum(confidence, HIGH))
        & ~near
        & (check > water * (1 + METER_ERROR))
    ) | ~needed
    days = -(-passes // per_day)
    flushed = passes > 0
    pauses = (passes - days) * np.asarray(timing.rest) + (days - 1) * np.asarray(timing.night)
    strength = np.sort(drainage, axis=-1)
    marks = [np.where(flushed, quantile_of(strength, share), np.nan) for share in (LOW, 0.5, HIGH)]
    told: Any = Instruction(
        attained=attained,
        wetting=wetting,
        passes=passes,
        litres=passes,
        likely=likely,
        low=low,
        high=high,
        share_reached=np.where(needed, share_reached, 1.0),
        share_reachable=np.where(needed, share_reachable, 1.0),
        wait=wait_before_check(*(part.value for part in washout[1:])),
        check_ec=check,
        more=np.where(flushed, extra, 0.0),
        rounds=rounds,
        way_mark=marks[1],
        way_mark_low=marks[0],
        way_mark_high=marks[2],
        days=days,
        hours=np.where(flushed, passes * np.asarray(timing.duration) + pauses, 0.0),
        few_pourings=passes <= PRACTICAL_POURINGS,
    )
    return Instruction(*(part.reshape(-1) for part in told))


def _place(share: float, size: int) -> int:
    """Return the place of the least of so many ordered figures that covers a share of them."""
    return math.ceil(share * size - 1e-9) - 1


def _check(rows: Floats, flush: Flush, timing: Timing) -> None:
    if np.isnan(rows).any():
        raise ValueError("no figure may be missing")
    parts = (flush.water_held, flush.deficit, flush.ceiling, *timing)
    if any((np.asarray(part) < 0).any() for part in parts):
        raise ValueError("volumes and times must not be negative")
    if (np.asarray(flush.pass_volume) <= 0).any():
        raise ValueError("pass_volume must be above zero")
    if (rows[-1] < 0.5).any() or (rows[-1] > 0.99).any():
        raise ValueError("confidence must lie between 0.5 and 0.99")
