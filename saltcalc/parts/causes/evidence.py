"""The tables of evidence as arrays, and the figures and signs that the rules look at."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.data.causes import EvidenceRule, causes, diagnostic_measures, evidence_rules
from saltcalc.data.observations import observations
from saltcalc.science._arrays import Floats
from saltcalc.science.diagnosis import NO_CAUSE, STRENGTHS, RuleArrays


@cache
def figure_columns() -> dict[str, int]:
    """Return the column of each measure and each sign."""
    return {key: i for i, key in enumerate([*diagnostic_measures(), *observations()])}


@cache
def rule_arrays() -> RuleArrays:
    """Return the tables of evidence as flat columns.

    The column after all figures tells mineral soil, 1, from soilless media, 0; a rule for one kind
    of medium has a condition on it.
    """
    column = figure_columns()
    cause_position = {key: i for i, key in enumerate(causes())}
    rules = list(evidence_rules().values())
    readings = list(dict.fromkeys(rule.reading for rule in rules))
    conditions = [
        (number, *condition)
        for number, rule in enumerate(rules)
        for condition in _conditions(rule, column, mineral=len(column))
    ]
    number, figure, sign, strict, threshold = (
        np.array(part) for part in zip(*conditions, strict=True)
    )
    return RuleArrays(
        condition_rule=number,
        condition_figure=figure,
        condition_sign=sign,
        condition_strict=strict,
        condition_threshold=threshold,
        rule_cause=np.array([cause_position[rule.cause] for rule in rules]),
        rule_direction=np.array([1 if rule.direction == "for" else -1 for rule in rules]),
        rule_strength=np.array([STRENGTHS.index(rule.strength) for rule in rules]),
        rule_reading=np.array([readings.index(rule.reading) for rule in rules]),
        rule_graded=np.array([rule.graded for rule in rules]),
        cause_deciding_figure=np.array(
            [column.get(cause.deciding_measure, -1) for cause in causes().values()]
        ),
        cause_after=np.array(
            [cause_position.get(cause.after, NO_CAUSE) for cause in causes().values()]
        ),
    )


def _conditions(
    rule: EvidenceRule, column: Mapping[str, int], mineral: int
) -> Iterator[tuple[int, float, bool, float]]:
    """Yield the figure, side, strictness and threshold of every condition of a rule."""
    for condition in rule.conditions:
        yield (
            column[condition.measure or condition.observation],
            1.0 if condition.comparison in {"above", "at_least"} else -1.0,
            condition.comparison in {"above", "below"},
            condition.threshold,
        )
    if rule.medium:
        is_mineral = rule.medium == "mineral"
        yield mineral, 1.0 if is_mineral else -1.0, False, 1.0 if is_mineral else 0.0


def figure_matrix(
    figures: Mapping[str, tuple[ArrayLike, ArrayLike]],
    signs: Mapping[str, ArrayLike],
    count: int,
    not_seen: Mapping[str, ArrayLike] = MappingProxyType({}),
) -> tuple[Floats, Floats]:
    """Lay measures and signs out as the columns that the rules look at.

    Parameters
    ----------
    figures : mapping of str to pair of array_like, shape (n_samples,)
        Lower and upper bound of each known measure [unit of the table of measures]; NaN where
        unknown. What bars rules and is not given is 0.
    signs, not_seen : mapping of str to array_like of bool, shape (n_samples,)
        True where a sign was seen, and where it was looked for and not seen. Not seeing a sign is
        seeing its opposite, where it has one.
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
    column, measures = figure_columns(), len(diagnostic_measures())
    lower, upper = (np.full((len(column), count), np.nan) for _ in range(2))
    barring = [column[each.id] for each in diagnostic_measures().values() if each.bars]
    lower[barring], upper[barring] = 0.0, 0.0
    for measure, (low, high) in figures.items():
        place = column[measure]
        lower[place], upper[place] = low, high
    for sign, missed in not_seen.items():
        flags = np.asarray(missed, dtype=bool)
        lower[column[sign], flags] = 0.0
        if opposite := observations()[sign].opposite:
            lower[column[opposite], flags] = 1.0
    for sign, reported in signs.items():
        lower[column[sign], np.asarray(reported, dtype=bool)] = 1.0
    upper[measures:] = lower[measures:]
    return lower.T, upper.T
