"""Weigh every cause of stalled seedlings for a batch of media, from the tables of evidence."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.data.causes import (
    EvidenceRule,
    Tellers,
    causes,
    diagnostic_measures,
    evidence_rules,
    next_measurements,
)
from saltcalc.data.observations import observations
from saltcalc.science._arrays import Codes as Ints
from saltcalc.science._arrays import Flags as Bools
from saltcalc.science._arrays import Floats
from saltcalc.science.diagnosis import (
    STRENGTHS,
    SUPPORTED,
    UNLIKELY,
    Diagnosis,
    RuleArrays,
    diagnose,
    separating_measurement,
)

NONE_LEFT = -1
"""Stands for no measurement at all in arrays of measurements."""

SIGNS_OF_A_STALL = (
    "stalled_at_first_leaves",
    "died_at_first_true_leaves",
    "died_at_cotyledons",
    "poor_emergence",
    "uneven_stand",
    "every_crop_stalls",
    "dark_stunted_plants",
    "pale_whole_plant",
    "yellow_older_leaves",
    "wilting_while_wet",
    "marginal_burn",
)
LOOKS_WITHOUT_A_SUSPECT = ("look_at_roots", "root_zone_thermometer", "cress_three_ways")
"""What to look at, in this order, where plants stall and nothing known explains it."""

SALTS = "total_salts"
SEALED = "sealed"
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
        The cheapest measurement not yet made that separates the two leading causes, those best
        supported among the causes that some evidence speaks for. Where the second place is tied,
        one that sets the leading cause apart from as many of its rivals as can be, the cheapest of
        these; where nothing is left that separates the two, the leading one and the next. With one
        such cause, what separates it from a sound medium; with none, the first reading to take.
        That reading comes before all else where nothing is known of the EC and salts are not
        unlikely. Where nothing is left to separate, a look at the plants if they stall, or
        `NONE_LEFT`.
    separated : ndarray of int, shape (n_samples, 2)
        The causes that it tells apart; `NONE_LEFT` in place of those that are missing.
    settling_measurement : ndarray of int, shape (n_samples, n_causes)
        The cheapest measurement that would rule each cause in or out, or `NONE_LEFT`; one that
        gives the missing deciding measure of the cause comes first.
    open_groups : tuple of ndarray of bool, shape (n_samples, n_groups)
        For each measurement, which groups of its figures are not known yet.
    """

    diagnosis: Diagnosis
    lower: Floats
    upper: Floats
    order: Ints
    next_measurement: Ints
    separated: Ints
    settling_measurement: Ints
    open_groups: tuple[Bools, ...]


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
        cause_deciding_figure=np.array(
            [column.get(cause.deciding_measure, -1) for cause in causes().values()]
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
        unknown.
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
    column = figure_columns()
    lower, upper = (np.full((count, len(column)), np.nan) for _ in range(2))
    for measure, (low, high) in figures.items():
        lower[:, column[measure]], upper[:, column[measure]] = low, high
    state = np.full((count, len(column)), np.nan)
    for sign, missed in not_seen.items():
        state[np.asarray(missed, dtype=bool), column[sign]] = 0.0
        if opposite := observations()[sign].opposite:
            state[np.asarray(missed, dtype=bool), column[opposite]] = 1.0
    for sign, reported in signs.items():
        state[np.asarray(reported, dtype=bool), column[sign]] = 1.0
    is_sign = ~np.isnan(state)
    return np.where(is_sign, state, lower), np.where(is_sign, state, upper)


def weigh_causes(
    figures: Mapping[str, tuple[ArrayLike, ArrayLike]],
    signs: Mapping[str, ArrayLike],
    count: int,
    *,
    not_seen: Mapping[str, ArrayLike] = MappingProxyType({}),
    mineral: ArrayLike = False,
) -> CauseFindings:
    """Weigh the causes of a batch of media and choose what to measure next.

    Parameters
    ----------
    figures, signs, count, not_seen
        As `figure_matrix` takes them.
    mineral : array_like of bool, shape (n_samples,)
        True for mineral soil, which is held to no limit of soilless media, and the other way round.

    Returns
    -------
    CauseFindings
    """
    rules = rule_arrays()
    lower, upper = figure_matrix(figures, signs, count, not_seen)
    is_mineral = np.broadcast_to(np.asarray(mineral, dtype=bool), (count,))
    scope = np.where(is_mineral, 1.0, 0.0)[:, np.newaxis]
    diagnosis = diagnose(np.hstack([lower, scope]), np.hstack([upper, scope]), rules)
    order = np.argsort(diagnosis.rank, axis=1, kind="stable")

    codes = _outcome_codes(lower, upper, is_mineral)
    settles = _settles(lower, upper)
    nothing_wrong = np.zeros((count, len(causes()) + 1), dtype=bool)
    nothing_wrong[:, -1] = True
    settling = np.stack(
        [
            separating_measurement(
                np.full(count, cause), nothing_wrong, codes, _costs(), settles[:, :, cause]
            )
            for cause in range(len(causes()))
        ],
        axis=1,
    )

    chosen, separated = _separating(diagnosis, order, codes, lower, upper)
    chosen, separated = _salts_first(diagnosis, codes, lower, upper, chosen, separated)
    chosen = _look_anyway(lower, upper, chosen)
    return CauseFindings(
        diagnosis, lower, upper, order, chosen, separated, settling, _open_groups(lower, upper)
    )


def _separating(
    diagnosis: Diagnosis, order: Ints, codes: Ints, lower: Floats, upper: Floats
) -> tuple[Ints, Ints]:
    """Choose what to measure next, and note the causes that it tells apart."""
    sample = np.arange(order.shape[0])
    suspected: Bools = diagnosis.evidence_for.any(axis=2) & (diagnosis.verdict != UNLIKELY)
    suspects_first = np.argsort(
        ~np.take_along_axis(suspected, order, axis=1), axis=1, kind="stable"
    )
    suspects = np.take_along_axis(order, suspects_first, axis=1)
    how_many, first = suspected.sum(axis=1), suspects[:, 0]
    leading = np.take_along_axis(codes, first[:, np.newaxis, np.newaxis], axis=2)
    rivals: Bools = suspected & (np.arange(suspected.shape[1]) != first[:, np.newaxis])
    separable: Bools = np.any(codes[:, :, :-1] != leading, axis=1) & rivals
    lowest = np.iinfo(np.int64).max
    best_rank = np.where(separable, diagnosis.rank, lowest).min(axis=1, keepdims=True)
    tied: Bools = separable & (diagnosis.rank == best_rank)
    lone: Bools = np.asarray(~np.any(tied, axis=1, keepdims=True))
    chosen = separating_measurement(first, np.hstack([tied, lone]), codes, _costs())
    told: Bools = (codes[sample, chosen, :-1] != leading[sample, chosen]) & tied
    rival = np.where(told.any(axis=1), told.argmax(axis=1), NONE_LEFT)

    reading = list(next_measurements()).index(FIRST_READING)
    read: Bools = ~_open_groups(lower, upper)[reading][:, 0]
    chosen = np.select([how_many > 0, ~read], [chosen, reading], NONE_LEFT)
    separated = np.stack([np.where(how_many > 0, first, NONE_LEFT), rival], axis=1)
    return chosen, separated


def _salts_first(
    diagnosis: Diagnosis, codes: Ints, lower: Floats, upper: Floats, chosen: Ints, separated: Ints
) -> tuple[Ints, Ints]:
    """Ask for the EC where nothing is known of it, unless salts are unlikely.

    A cheaper look that would show a supported cause comes before it.
    """
    sample, first = np.arange(chosen.size), separated[:, 0]
    salts = list(causes()).index(SALTS)
    ec = figure_columns()[causes()[SALTS].deciding_measure]
    unread: Bools = np.isnan(lower[:, ec]) & np.isnan(upper[:, ec])
    reading = list(next_measurements()).index(FIRST_READING)
    cheaper: Bools = (chosen != NONE_LEFT) & (_costs()[chosen] < _costs()[reading])
    shows: Bools = codes[sample, chosen, first] != codes[sample, chosen, -1]
    look: Bools = cheaper & shows & (diagnosis.verdict[sample, first] == SUPPORTED)
    ask: Bools = unread & ~look & (diagnosis.verdict[:, salts] != UNLIKELY)
    rival = np.where((first == NONE_LEFT) | (first == salts), NONE_LEFT, salts)
    return (
        np.where(ask, reading, chosen),
        np.where(ask[:, np.newaxis], np.stack([first, rival], axis=1), separated),
    )


def _look_anyway(lower: Floats, upper: Floats, chosen: Ints) -> Ints:
    """Where nothing is left to separate and trouble was seen, take the first look not yet taken."""
    troubles = [figure_columns()[sign] for sign in SIGNS_OF_A_STALL]
    troubled: Bools = (lower[:, troubles] == 1.0).any(axis=1)
    looked = np.full_like(chosen, NONE_LEFT)
    for look in reversed(LOOKS_WITHOUT_A_SUSPECT):
        place = list(next_measurements()).index(look)
        is_open: Bools = np.asarray(_open_groups(lower, upper)[place].all(axis=1))
        looked = np.where(troubled & is_open, place, looked)
    return np.where(chosen == NONE_LEFT, looked, chosen)


def _costs() -> Ints:
    return np.array([measurement.cost_rank for measurement in next_measurements().values()])


def _known(tellers: Tellers, read: Bools) -> Bools:
    """Return which groups of figures are known, shape (n_samples, n_groups)."""
    column = figure_columns()
    return np.stack(
        [read[:, [column[teller] for teller in group]].any(axis=1) for group in tellers], axis=1
    )


def _open_groups(lower: Floats, upper: Floats) -> tuple[Bools, ...]:
    """Return which groups of its figures each measurement would add."""
    read: Bools = np.isfinite(lower) & np.isfinite(upper)
    return tuple(
        ~_known(measurement.done_when, read) for measurement in next_measurements().values()
    )


def _outcome_codes(lower: Floats, upper: Floats, mineral: Bools) -> Ints:
    """Code what each measurement would still show under each cause, last where nothing is wrong.

    The shape is (n_samples, n_measurements, n_causes + 1). What is known already, and what could
    not be read off a limit for the kind of medium, is coded as where nothing is wrong.
    """
    read: Bools = np.isfinite(lower) & np.isfinite(upper)
    measurements = list(next_measurements().values())
    codes = np.zeros((lower.shape[0], len(measurements), len(causes()) + 1), dtype=np.int64)
    for row, measurement in enumerate(measurements):
        texts = [measurement.normal_outcome]
        for place, cause in enumerate(causes()):
            outcome = measurement.outcomes.get(cause)
            if outcome is None:
                continue
            if outcome.text not in texts:
                texts.append(outcome.text)
            told: Bools = np.asarray(_known(outcome.told_by, read).all(axis=1))
            if outcome.medium:
                told = np.asarray(told | (mineral != (outcome.medium == "mineral")))
            if measurement.needs_drainage:
                told = np.asarray(told | (lower[:, figure_columns()[SEALED]] == 1.0))
            codes[:, row, place] = np.where(told, 0, texts.index(outcome.text))
    return codes


def _settles(lower: Floats, upper: Floats) -> Bools:
    """Whether each measurement gives the missing deciding measure of each cause.

    The shape is (n_samples, n_measurements, n_causes).
    """
    deciding = rule_arrays().cause_deciding_figure
    missing: Bools = ~(np.isfinite(lower) & np.isfinite(upper))[:, deciding] & (deciding >= 0)
    gives: Bools = _tellers()[:, deciding] & (deciding >= 0)
    return missing[:, np.newaxis, :] & gives


@cache
def _tellers() -> Bools:
    """Which figures each measurement gives, shape (n_measurements, n_figures)."""
    column = figure_columns()
    measurements = next_measurements().values()
    tellers = np.zeros((len(measurements), len(column)), dtype=bool)
    for row, measurement in enumerate(measurements):
        tellers[row, [column[each] for group in measurement.done_when for each in group]] = True
    return tellers
