"""Weigh every cause of stalled seedlings for a batch of media, from the tables of evidence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.data.causes import causes, diagnostic_measures, evidence_rules, next_measurements
from saltcalc.data.observations import observations
from saltcalc.science.diagnosis import (
    STRENGTHS,
    UNLIKELY,
    Bools,
    Diagnosis,
    Floats,
    Ints,
    RuleArrays,
    diagnose,
    separating_measurement,
)

NONE_LEFT = -1
"""Stands for no measurement at all in arrays of measurements."""

FIRST_READING = "ec_reading"
"""What to measure where nothing is known yet: the reading that anyone can take."""


@dataclass(frozen=True)
class CauseFindings:
    """The weighed causes of a batch of media.

    Attributes
    ----------
    diagnosis : Diagnosis
        Samples by causes and by rules, in the order of their tables.
    lower, upper : ndarray of float, shape (n_samples, n_figures)
        The figures the rules looked at: measures, then signs, in the order of their tables.
    order : ndarray of int, shape (n_samples, n_causes)
        Causes from the best supported on; ties stand in the order of the table.
    next_measurement : ndarray of int, shape (n_samples,)
        The cheapest measurement that separates the two leading causes, those best supported among
        the causes that some evidence speaks for; where the second place is tied, the cheapest of
        its measurements, and where nothing is left that separates the two, the leading one and
        the next. With one such cause, what would settle it; with none, the
        first reading to take; `NONE_LEFT` where that is done.
    separated : ndarray of int, shape (n_samples, 2)
        The causes that it tells apart; `NONE_LEFT` in place of those that are missing.
    settling_measurement : ndarray of int, shape (n_samples, n_causes)
        The cheapest measurement that would rule each cause in or out, or `NONE_LEFT`.
    """

    diagnosis: Diagnosis
    lower: Floats
    upper: Floats
    order: Ints
    next_measurement: Ints
    separated: Ints
    settling_measurement: Ints


@cache
def figure_columns() -> dict[str, int]:
    """Return the column of each measure and each sign."""
    return {key: i for i, key in enumerate([*diagnostic_measures(), *observations()])}


@cache
def rule_arrays() -> RuleArrays:
    """Return the tables of evidence as flat columns."""
    column = figure_columns()
    cause_position = {key: i for i, key in enumerate(causes())}
    rules = list(evidence_rules().values())
    conditions = [
        (number, condition) for number, rule in enumerate(rules) for condition in rule.conditions
    ]
    return RuleArrays(
        condition_rule=np.array([number for number, _ in conditions]),
        condition_figure=np.array([column[c.measure or c.observation] for _, c in conditions]),
        condition_sign=np.array(
            [1.0 if c.comparison in {"above", "at_least"} else -1.0 for _, c in conditions]
        ),
        condition_strict=np.array([c.comparison in {"above", "below"} for _, c in conditions]),
        condition_threshold=np.array([c.threshold for _, c in conditions]),
        rule_cause=np.array([cause_position[rule.cause] for rule in rules]),
        rule_direction=np.array([1 if rule.direction == "for" else -1 for rule in rules]),
        rule_strength=np.array([STRENGTHS.index(rule.strength) for rule in rules]),
        cause_deciding_figure=np.array(
            [column.get(cause.deciding_measure, -1) for cause in causes().values()]
        ),
    )


@cache
def _outcome_codes() -> Ints:
    """Code what each measurement shows under each cause, and last where nothing is wrong."""
    rows = []
    for measurement in next_measurements().values():
        shown = [
            measurement.outcomes.get(cause, measurement.normal_outcome)
            for cause in [*causes(), "nothing wrong"]
        ]
        rows.append([shown.index(text) for text in shown])
    return np.array(rows)


def figure_matrix(
    figures: Mapping[str, tuple[ArrayLike, ArrayLike]], signs: Mapping[str, ArrayLike], count: int
) -> tuple[Floats, Floats]:
    """Lay measures and signs out as the columns that the rules look at.

    Parameters
    ----------
    figures : mapping of str to pair of array_like, shape (n_samples,)
        Lower and upper bound of each known measure [unit of the table of measures]; NaN where
        unknown.
    signs : mapping of str to array_like of bool, shape (n_samples,)
        True where a sign was reported.
    count : int
        Number of samples.

    Returns
    -------
    lower, upper : ndarray of float, shape (n_samples, n_figures)

    Raises
    ------
    KeyError
        If a measure or sign is not in its table.
    """
    column = figure_columns()
    lower, upper = (np.full((count, len(column)), np.nan) for _ in range(2))
    for measure, (low, high) in figures.items():
        lower[:, column[measure]], upper[:, column[measure]] = low, high
    for sign, reported in signs.items():
        seen = np.where(reported, 1.0, np.nan)
        lower[:, column[sign]] = upper[:, column[sign]] = seen
    return lower, upper


def weigh_causes(
    figures: Mapping[str, tuple[ArrayLike, ArrayLike]], signs: Mapping[str, ArrayLike], count: int
) -> CauseFindings:
    """Weigh the causes of a batch of media and choose what to measure next.

    Parameters
    ----------
    figures, signs, count
        As `figure_matrix` takes them.

    Returns
    -------
    CauseFindings
    """
    rules = rule_arrays()
    lower, upper = figure_matrix(figures, signs, count)
    diagnosis = diagnose(lower, upper, rules)
    order = np.argsort(diagnosis.rank, axis=1, kind="stable")

    done = _done(lower, upper)
    settles = _settles(lower, upper)
    nothing_wrong = np.full(count, len(causes()))
    settling = np.stack(
        [
            separating_measurement(
                np.full(count, cause),
                nothing_wrong,
                _outcome_codes(),
                _costs(),
                done,
                settles[:, :, cause],
            )
            for cause in range(len(causes()))
        ],
        axis=1,
    )

    chosen, separated = _separating(diagnosis, order, done, settles, settling)
    return CauseFindings(diagnosis, lower, upper, order, chosen, separated, settling)


def _separating(
    diagnosis: Diagnosis, order: Ints, done: Bools, settles: Bools, settling: Ints
) -> tuple[Ints, Ints]:
    """Choose what to measure next, and note the causes that it tells apart."""
    sample = np.arange(order.shape[0])
    suspected: Bools = diagnosis.evidence_for.any(axis=2) & (diagnosis.verdict != UNLIKELY)
    suspects_first = np.argsort(
        ~np.take_along_axis(suspected, order, axis=1), axis=1, kind="stable"
    )
    suspects = np.take_along_axis(order, suspects_first, axis=1)
    how_many, first = suspected.sum(axis=1), suspects[:, 0]
    reading = list(next_measurements()).index(FIRST_READING)
    chosen = np.select(
        [how_many > 0, ~done[:, reading]], [settling[sample, first], reading], NONE_LEFT
    )
    rivals = suspects[:, 1:]
    with_rival = np.stack(
        [
            separating_measurement(
                first,
                rival,
                _outcome_codes(),
                _costs(),
                done,
                settles[sample, :, first] | settles[sample, :, rival],
            )
            for rival in rivals.T
        ],
        axis=1,
    )
    rival_counts = np.arange(1, order.shape[1]) < how_many[:, np.newaxis]
    usable = rival_counts & (with_rival != NONE_LEFT)
    rank = np.take_along_axis(diagnosis.rank, rivals, axis=1)
    dearer = int(np.max(_costs())) + 1
    standing = np.where(usable, rank * dearer + _costs()[with_rival], np.iinfo(np.int64).max)
    best = standing.argmin(axis=1)
    has_rival = usable.any(axis=1)
    separated = np.stack(
        [
            np.where(how_many > 0, first, NONE_LEFT),
            np.where(has_rival, rivals[sample, best], NONE_LEFT),
        ],
        axis=1,
    )
    return np.where(has_rival, with_rival[sample, best], chosen), separated


def _costs() -> Ints:
    return np.array([measurement.cost_rank for measurement in next_measurements().values()])


def _tellers() -> Bools:
    """Which figures each measurement gives, shape (n_measurements, n_figures)."""
    column = figure_columns()
    measurements = next_measurements().values()
    tellers = np.zeros((len(measurements), len(column)), dtype=bool)
    for row, measurement in enumerate(measurements):
        tellers[row, [column[teller] for teller in measurement.done_when]] = True
    return tellers


def _done(lower: Floats, upper: Floats) -> Bools:
    """Whether each measurement was made: all its measures read, or one of its signs reported."""
    read: Bools = np.isfinite(lower) & np.isfinite(upper)
    tellers = _tellers()
    is_measure = np.arange(tellers.shape[1]) < len(diagnostic_measures())
    measures, signs = tellers & is_measure, tellers & ~is_measure
    all_read = measures.any(axis=1) & ~np.any(~read[:, np.newaxis, :] & measures, axis=2)
    done: Bools = all_read | np.any(read[:, np.newaxis, :] & signs, axis=2)
    return done


def _settles(lower: Floats, upper: Floats) -> Bools:
    """Whether each measurement gives the missing deciding measure of each cause.

    The shape is (n_samples, n_measurements, n_causes).
    """
    deciding = rule_arrays().cause_deciding_figure
    missing: Bools = ~(np.isfinite(lower) & np.isfinite(upper))[:, deciding] & (deciding >= 0)
    gives: Bools = _tellers()[:, deciding] & (deciding >= 0)
    return missing[:, np.newaxis, :] & gives
