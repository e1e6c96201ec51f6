"""Weigh evidence for and against each cause of stalled seedlings.

There are no probabilities here, since none are published. Evidence has a direction (for or
against) and one of four strengths, and it is weighed kind by kind:

1. decisive evidence first: more for than against gives *supported*, more against than for gives
   *unlikely*;
2. where decisive evidence is balanced or absent, strong evidence decides in the same way;
3. where that is balanced or absent too, the cause stays open: *possible* if moderate evidence
   speaks for it, or any at all once its deciding measure was read, otherwise *undetermined*.
   Moderate and weak evidence alone never support a cause and never rule one out.

One reading is one piece of evidence: of the rules on one side of a cause that rest on the same
reading only the strongest counts. A figure at `FAR_BEYOND` times its limit, or more, counts as two
pieces. For and against weigh the same, and more evidence for a cause never lowers its verdict or
rank. A cause that comes after another ranks behind it where both are supported.

A figure is an interval. A rule counts only where its conditions hold over the whole interval, so
an uncertain reading leaves a cause open instead of settling it falsely.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.science._arrays import Codes, Flags, Floats, in_shape

STRENGTHS = ("weak", "moderate", "strong", "decisive")
WEAK, MODERATE, STRONG, DECISIVE = range(len(STRENGTHS))
"""Kinds of evidence, weakest first; their positions are the codes used here."""

VERDICTS = ("unlikely", "undetermined", "possible", "supported")
"""Verdicts, least support first; their positions are the codes used here."""

UNLIKELY, CANNOT_TELL, POSSIBLE, SUPPORTED = range(len(VERDICTS))

ROUNDING = 1e-9
"""Share of a threshold that a figure may miss it by and still count as equal [-]: the conversion
of units leaves that much."""

FAR_BEYOND = 2.0
"""How many times its limit a figure must reach, or fall short of it, to count twice (judgement)."""

NO_CAUSE = -1
"""Where a cause comes after none."""

_MOST_RULES = 1000  # more rules of one kind for one cause than any table has


@dataclass(frozen=True)
class RuleArrays:
    """Rules of evidence as flat columns.

    Attributes
    ----------
    condition_rule : ndarray of int, shape (n_conditions,)
        The rule that a condition belongs to; ascending, and every rule has one at least.
    condition_figure : ndarray of int, shape (n_conditions,)
        The figure that a condition looks at.
    condition_sign : ndarray of float, shape (n_conditions,)
        1 where the figure must exceed the threshold, −1 where it must stay under it.
    condition_strict : ndarray of bool, shape (n_conditions,)
        Whether the threshold itself is left out.
    condition_threshold : ndarray of float, shape (n_conditions,)
        In the unit of the figure.
    rule_cause : ndarray of int, shape (n_rules,)
    rule_direction : ndarray of int, shape (n_rules,)
        1 for, −1 against the cause.
    rule_strength : ndarray of int, shape (n_rules,)
        Position in `STRENGTHS`.
    rule_reading : ndarray of int, shape (n_rules,)
        What the rule rests on; rules that rest on the same reading have the same number.
    rule_graded : ndarray of bool, shape (n_rules,)
        Whether its first condition is on a figure whose ratio to the limit tells how bad it is.
    cause_deciding_figure : ndarray of int, shape (n_causes,)
        The figure without which weak evidence leaves the cause open, or −1 where signs decide.
    cause_after : ndarray of int, shape (n_causes,)
        The cause that comes before it where both are supported, or −1.
    """

    condition_rule: Codes
    condition_figure: Codes
    condition_sign: Floats
    condition_strict: Flags
    condition_threshold: Floats
    rule_cause: Codes
    rule_direction: Codes
    rule_strength: Codes
    rule_reading: Codes
    rule_graded: Flags
    cause_deciding_figure: Codes
    cause_after: Codes

    @cached_property
    def first_conditions(self) -> Codes:
        """Place of the first condition of each rule."""
        return np.searchsorted(self.condition_rule, np.arange(self.rule_cause.size))

    @cached_property
    def on_one_reading(self) -> _Groups:
        """The rules that rest on one reading, for one cause and on one side of it."""
        side = (self.rule_direction < 0).astype(np.int64)
        keys = np.stack([self.rule_cause, side, self.rule_reading])
        groups, group = np.unique(keys, axis=1, return_inverse=True)
        order = np.argsort(group.ravel(), kind="stable")
        starts = np.searchsorted(group.ravel()[order], np.arange(groups.shape[1]))
        return _Groups(groups[0], groups[1], order, starts)


class _Groups(NamedTuple):
    """Rules group by group."""

    cause: Codes
    against: Codes
    """Cause of each group, and 1 where it speaks against it; shape (n_groups,)."""
    order: Codes
    """The rules, those of a group side by side."""
    starts: Codes
    """Where each group begins in that order."""


@dataclass(frozen=True)
class Diagnosis:
    """What the evidence says of each cause.

    Attributes
    ----------
    met : ndarray of bool, shape (n_samples, n_rules)
        Rules that hold.
    evidence_for, evidence_against : ndarray of int, shape (n_samples, n_causes, 4)
        Pieces of evidence by strength, in the order of `STRENGTHS`.
    verdict : ndarray of int, shape (n_samples, n_causes)
        Position in `VERDICTS`.
    rank : ndarray of int, shape (n_samples, n_causes)
        1 for the best supported cause; causes that tie share a rank.
    """

    met: Flags
    evidence_for: Codes
    evidence_against: Codes
    verdict: Codes
    rank: Codes


def conditions_met(
    lower: ArrayLike,
    upper: ArrayLike,
    sign: ArrayLike,
    strict: ArrayLike,
    threshold: ArrayLike,
) -> Flags:
    """Tell where a figure surely lies on one side of a threshold.

    Parameters
    ----------
    lower, upper : array_like
        Bounds of the figure [unit of the threshold]; NaN where that side is unknown.
    sign : array_like
        1 where the figure must exceed the threshold, −1 where it must stay under it [-].
    strict : array_like of bool
        Whether the threshold itself is left out [-].
    threshold : array_like
        The limit [unit of the figure].

    Returns
    -------
    ndarray of bool
        The broadcast shape of the arguments. False where the figure is unknown.

    Examples
    --------
    Surely above 4 from the lower end on; an unknown figure meets nothing.

    >>> print(conditions_met([4.2, 3.9, np.nan], [5.0, 4.5, np.nan], 1, True, 4.0))
    [ True False False]
    """
    nearest = np.where(np.asarray(sign) > 0, lower, upper)
    limit = np.asarray(threshold, dtype=np.float64)
    excess = np.asarray(sign) * (nearest - limit)
    noise = ROUNDING * np.abs(limit)
    met: Flags = np.where(strict, excess > noise, excess >= -noise)
    return met


def verdicts(evidence_for: ArrayLike, evidence_against: ArrayLike, decidable: ArrayLike) -> Codes:
    """Give the verdict on causes from counts of evidence, by the rule of this module.

    Parameters
    ----------
    evidence_for, evidence_against : array_like of int, shape (..., 4)
        Pieces of evidence, by strength in the order of `STRENGTHS` [-].
    decidable : array_like of bool, shape (...)
        Whether the deciding measure of the cause is known [-].

    Returns
    -------
    ndarray of int, shape (...)
        Position in `VERDICTS`.

    Examples
    --------
    One strong piece for the cause; then the same with a decisive one against it.

    >>> found = verdicts([[0, 0, 1, 0], [0, 0, 1, 0]], [[0, 0, 0, 0], [0, 0, 0, 1]], True)
    >>> [VERDICTS[code] for code in found]
    ['supported', 'unlikely']
    """
    pro, contra = np.asarray(evidence_for), np.asarray(evidence_against)
    net = np.sign(pro - contra)
    settled = np.where(net[..., DECISIVE] != 0, net[..., DECISIVE], net[..., STRONG])
    telling = pro[..., MODERATE:].any(axis=-1)
    told = telling | (pro.any(axis=-1) & np.asarray(decidable))
    is_open = np.where(told, POSSIBLE, CANNOT_TELL)
    verdict: Codes = np.where(settled > 0, SUPPORTED, np.where(settled < 0, UNLIKELY, is_open))
    return verdict


def ranks(
    verdict: ArrayLike,
    evidence_for: ArrayLike,
    evidence_against: ArrayLike,
    after: ArrayLike = NO_CAUSE,
) -> Codes:
    """Order causes by verdict, then by net evidence, the strongest kind first.

    Where a cause and the one that it comes after are both supported, it ranks behind that one
    whatever the evidence: what is fed against a shortage makes a salty medium saltier.

    Parameters
    ----------
    verdict : array_like of int, shape (..., n_causes)
        Position in `VERDICTS` [-].
    evidence_for, evidence_against : array_like of int, shape (..., n_causes, 4)
        Pieces of evidence, by strength in the order of `STRENGTHS` [-].

    Returns
    -------
    ndarray of int, shape (..., n_causes)
        1 is first. Causes with the same verdict and the same net evidence share a rank, and the
        next one is as far down as the number of causes above it.

    Examples
    --------
    >>> print(ranks([SUPPORTED, POSSIBLE], [[0, 0, 1, 0], [1, 0, 0, 0]], np.zeros((2, 4))))
    [1 2]

    The first comes after the second, and both are supported.

    >>> print(ranks([SUPPORTED] * 2, [[0, 0, 2, 0], [0, 0, 1, 0]], np.zeros((2, 4)), [1, NO_CAUSE]))
    [2 1]
    """
    net = np.asarray(evidence_for) - np.asarray(evidence_against)
    net = net.astype(np.int64)
    base = 2 * _MOST_RULES
    standing = np.asarray(verdict)
    for strength in reversed(range(len(STRENGTHS))):
        standing = standing * base + net[..., strength] + _MOST_RULES
    standing = 2 * standing
    before = in_shape(np.asarray(after), standing.shape)
    rival = np.take_along_axis(standing, before, axis=-1)
    settled = np.take_along_axis(np.asarray(verdict), before, axis=-1) == SUPPORTED
    standing = np.where((before != NO_CAUSE) & settled, np.minimum(standing, rival - 1), standing)
    above: Flags = standing[..., np.newaxis, :] > standing[..., :, np.newaxis]
    rank: Codes = 1 + above.sum(axis=-1, dtype=np.int64)
    return rank


def diagnose(lower: ArrayLike, upper: ArrayLike, rules: RuleArrays) -> Diagnosis:
    """Weigh the evidence on every cause for a batch of samples.

    Parameters
    ----------
    lower, upper : array_like, shape (n_samples, n_figures)
        Bounds of each figure [its own unit]; NaN where unknown. A sign is 1 where it was seen, 0
        where it was looked for and not found, NaN where nobody reported on it.
    rules : RuleArrays
        The evidence, with figures by their column here.

    Returns
    -------
    Diagnosis

    Raises
    ------
    ValueError
        If the two bounds differ in shape or a lower bound exceeds its upper bound.

    Examples
    --------
    One cause with one strong rule: the first figure is above 4.

    >>> rules = RuleArrays(
    ...     condition_rule=np.array([0]),
    ...     condition_figure=np.array([0]),
    ...     condition_sign=np.array([1.0]),
    ...     condition_strict=np.array([True]),
    ...     condition_threshold=np.array([4.0]),
    ...     rule_cause=np.array([0]),
    ...     rule_direction=np.array([1]),
    ...     rule_strength=np.array([STRENGTHS.index("strong")]),
    ...     rule_reading=np.array([0]),
    ...     rule_graded=np.array([False]),
    ...     cause_deciding_figure=np.array([0]),
    ...     cause_after=np.array([NO_CAUSE]),
    ... )
    >>> found = diagnose([[5.0], [3.0]], [[6.0], [5.0]], rules)
    >>> [VERDICTS[code] for code in found.verdict[:, 0]]
    ['supported', 'undetermined']
    """
    low = np.asarray(lower, dtype=np.float64)
    high = np.asarray(upper, dtype=np.float64)
    if low.shape != high.shape:
        raise ValueError("lower and upper bounds differ in shape")
    if (low > high).any():
        raise ValueError("a lower bound exceeds its upper bound")
    column = rules.condition_figure
    holds = conditions_met(
        low[:, column],
        high[:, column],
        rules.condition_sign,
        rules.condition_strict,
        rules.condition_threshold,
    )
    met = np.logical_and.reduceat(holds, rules.first_conditions, axis=1)
    pieces = np.where(_far_beyond(low, high, rules), 2, 1)
    pro, contra = _tally(met, pieces, rules)

    known = np.isfinite(low) & np.isfinite(high)
    deciding = rules.cause_deciding_figure
    decidable = known[:, deciding] & (deciding >= 0)
    verdict = verdicts(pro, contra, decidable)
    return Diagnosis(met, pro, contra, verdict, ranks(verdict, pro, contra, rules.cause_after))


def _far_beyond(low: Floats, high: Floats, rules: RuleArrays) -> Flags:
    """Tell where the first figure of a graded rule is surely far beyond its limit."""
    starts = rules.first_conditions
    column, limit = rules.condition_figure[starts], rules.condition_threshold[starts]
    above = rules.condition_sign[starts] > 0
    far: Flags = np.where(
        above, low[:, column] >= FAR_BEYOND * limit, high[:, column] * FAR_BEYOND <= limit
    )
    return far & rules.rule_graded


def _tally(met: Flags, pieces: Codes, rules: RuleArrays) -> tuple[Codes, Codes]:
    """Count the evidence for and against each cause by strength, each reading once."""
    groups = rules.on_one_reading
    # Of two rules of one strength the one that counts twice is the stronger.
    weight = np.where(met, 3 * (rules.rule_strength + 1) + pieces, 0)
    best = np.maximum.reduceat(weight[:, groups.order], groups.starts, axis=1)
    counts = np.zeros((2, met.shape[0], rules.cause_deciding_figure.size, len(STRENGTHS)), int)
    sample, place = np.nonzero(best)
    strength, count = divmod(best[sample, place], 3)
    where = groups.against[place], sample, groups.cause[place], strength - 1
    np.add.at(counts, where, count)
    return counts[0], counts[1]


def separating_measurement(
    first: ArrayLike, rivals: ArrayLike, outcome: ArrayLike, cost: ArrayLike
) -> Codes:
    """Choose the cheapest measurement that sets one cause apart from its rivals.

    Parameters
    ----------
    first : array_like of int, shape (n_samples,)
        The cause to set apart [-].
    rivals : array_like of bool, shape (n_samples, n_causes)
        The causes to set it apart from; of several, from as many as one measurement can [-].
    outcome : array_like of int, shape (n_samples, n_measurements, n_causes)
        A code for what each measurement would show of each cause beyond what is known; equal codes
        tell nothing [-].
    cost : array_like of int, shape (n_measurements,) or (n_samples, n_measurements)
        Rank of the cost; the lowest is the cheapest [-].

    Returns
    -------
    ndarray of int, shape (n_samples,)
        The measurement, or −1 where none is left that separates any.

    Examples
    --------
    The second measurement alone would show something else of the rival.

    >>> print(separating_measurement([0], [[False, True]], [[[1, 1], [1, 2]]], [1, 3]))
    [1]
    """
    code, rank = np.asarray(outcome), np.asarray(cost)
    shown_first = np.take_along_axis(code, np.asarray(first)[:, np.newaxis, np.newaxis], axis=2)
    apart = ((code != shown_first) & np.asarray(rivals)[:, np.newaxis, :]).sum(axis=2)
    dearest = rank.max(initial=0) + 1
    # One that sets more causes apart stands above any that sets fewer, whatever it costs.
    standing = apart * dearest - rank
    return np.where((apart > 0).any(axis=1), standing.argmax(axis=1), -1).astype(np.int64)
