"""Choose what to measure next, and what would settle each cause."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from itertools import chain, pairwise
from typing import NamedTuple

import numpy as np

from saltcalc.data.causes import DeterminedBy, causes, next_measurements
from saltcalc.data.corrections import corrections
from saltcalc.parts.causes.evidence import figure_columns, rule_arrays
from saltcalc.science._arrays import Codes, Flags, Floats
from saltcalc.science.diagnosis import (
    SUPPORTED,
    UNLIKELY,
    Diagnosis,
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
OF_ONE_ION = ("sodium_toxicity", "chloride_toxicity", "boron_toxicity")
"""Causes that are a salt, though the total of salts be in its range."""

SEALED = "sealed"
AGAINST_AMMONIA = "air_and_lower_ph"
"""Correction that tells not to warm a medium that gives off ammonia."""

FIRST_READING = "ec_reading"
"""What to measure where nothing is known yet: the reading that anyone can take."""


class Choice(NamedTuple):
    """What to measure next, one row a sample.

    Attributes
    ----------
    measurement : ndarray of int, shape (n_samples,)
        Place in the table, or `NONE_LEFT`.
    separated : ndarray of int, shape (n_samples, 2)
        The causes that it tells apart; `NONE_LEFT` in place of those that are missing.
    """

    measurement: Codes
    separated: Codes


def choose_next(
    diagnosis: Diagnosis,
    order: Codes,
    before_water: Flags,
    codes: Codes,
    lower: Floats,
    upper: Floats,
    to_do: tuple[Flags, ...],
) -> Choice:
    """Choose the cheapest measurement not yet made that separates the two leading causes.

    A cause that is dealt with before any water leads; else the best supported does, of the causes
    that some evidence speaks for. One that shows the leading cause itself goes before any other; of
    a cause that is supported no other is chosen, but what the water brings of it comes first where
    that is not known.

    Causes that bring each other about are not separated; and of two that are supported neither is
    a rival of the other, since both may be at work. Where the second place is tied, take one that
    sets the leading cause apart from as many of its rivals as can be, and the cheapest of these;
    where nothing is left that separates the two, the leading one and the next. With one such cause,
    take what separates it from a sound medium; with none, the first reading to take. That reading
    comes before all else where nothing is known of the EC and salts are not unlikely. Where nothing
    is left to separate and nothing is supported, take a look at the plants if they stall.
    What each measurement would still add is given in `to_do`, as by :func:`open_groups`.
    """
    chosen = _separating(diagnosis, order, before_water, codes, to_do)
    chosen = _source_first(diagnosis, order, figures_read(lower, upper), chosen)
    chosen = _salts_first(diagnosis, codes, lower, upper, chosen)
    unexplained: Flags = ~(diagnosis.verdict == SUPPORTED).any(axis=1)
    looked = _look_anyway(lower, to_do, chosen.measurement)
    return chosen._replace(measurement=np.where(unexplained, looked, chosen.measurement))


def settling_measurements(lower: Floats, upper: Floats, codes: Codes) -> Codes:
    """Choose the cheapest measurement that would rule each cause in or out, or `NONE_LEFT`.

    The shape is (n_samples, n_causes). One that gives the missing deciding measure of the cause
    comes first.
    """
    tells: Flags = codes[:, :, :-1] != codes[:, :, -1:]
    cheapness = _costs().max() + 1 - _costs()[:, np.newaxis]
    first = np.where(_settles(lower, upper), cheapness.max() + cheapness, cheapness)
    best = np.where(tells, first, 0).argmax(axis=1)
    return np.where(tells.any(axis=1), best, NONE_LEFT)


def _separating(
    diagnosis: Diagnosis, order: Codes, before_water: Flags, codes: Codes, to_do: tuple[Flags, ...]
) -> Choice:
    sample = np.arange(order.shape[0])
    suspected: Flags = diagnosis.evidence_for.any(axis=2) & (diagnosis.verdict != UNLIKELY)
    suspects_first = np.argsort(
        ~np.take_along_axis(suspected, order, axis=1), axis=1, kind="stable"
    )
    suspects = np.take_along_axis(order, suspects_first, axis=1)
    how_many, early = suspected.sum(axis=1), np.take_along_axis(before_water, order, axis=1)
    first = np.where(early.any(axis=1), order[sample, early.argmax(axis=1)], suspects[:, 0])
    rivals: Flags = suspected & ~_akin()[first]
    is_settled: Flags = diagnosis.verdict[sample, first] == SUPPORTED
    shows_first: Flags = codes[sample, :, first] != codes[:, :, -1]
    useful = np.asarray(shows_first | ~(is_settled[:, np.newaxis] | _of_the_water()))
    codes = np.where(useful[:, :, np.newaxis], codes, 0)
    leading = codes[sample, :, first][:, :, np.newaxis]
    rivals &= ~is_settled[:, np.newaxis] | (diagnosis.verdict != SUPPORTED)
    separable: Flags = (codes[:, :, :-1] != leading).any(axis=1) & rivals
    lowest = np.iinfo(np.int64).max
    best_rank = np.where(separable, diagnosis.rank, lowest).min(axis=1, keepdims=True)
    tied: Flags = separable & (diagnosis.rank == best_rank)
    lone: Flags = np.asarray(~tied.any(axis=1, keepdims=True))
    # Of a supported cause the cheapest that shows it, of these what separates most; else the
    # other way round.
    parts = ((codes[:, :, :-1] != leading) & tied[:, np.newaxis, :]).sum(axis=2)
    own = len(causes()) * _costs() - parts
    cost = np.where(is_settled[:, np.newaxis], own, _costs() + _costs().max() * ~shows_first)
    among = np.hstack([tied & ~is_settled[:, np.newaxis], lone | is_settled[:, np.newaxis]])
    chosen = separating_measurement(first, among, codes, cost)
    apart: Flags = (codes[sample, chosen, :-1] != leading[sample, chosen]) & tied
    rival = np.where(apart.any(axis=1), apart.argmax(axis=1), NONE_LEFT)

    reading = list(next_measurements()).index(FIRST_READING)
    read: Flags = ~to_do[reading][:, 0]
    chosen = np.where(how_many > 0, chosen, np.where(read, NONE_LEFT, reading))
    separated = np.stack([np.where(how_many > 0, first, NONE_LEFT), rival], axis=1)
    return Choice(chosen, separated)


@cache
def _of_the_water() -> Flags:
    """Which measurements tell what the irrigation water brings, and of no other cause."""
    water = [figure_columns()[each.brought_by] for each in causes().values() if each.brought_by]
    return np.asarray(_figures_given()[:, water].any(axis=1))


def _source_first(diagnosis: Diagnosis, order: Codes, read: Flags, chosen: Choice) -> Choice:
    """Ask what the water brings of a supported cause that was measured in the medium.

    That is the leading cause or, where too much salt leads, the first of single ions.
    """
    first, place = chosen.separated[:, 0], {cause: i for i, cause in enumerate(causes())}
    column, deciding = figure_columns(), rule_arrays().cause_deciding_figure
    found = np.zeros(diagnosis.verdict.shape, dtype=bool)
    measurement = np.full(len(place), NONE_LEFT)
    for cause in causes().values():
        if cause.brought_by:
            at = place[cause.id]
            found[:, at] = read[:, deciding[at]] & ~read[:, column[cause.brought_by]]
            found[:, at] &= (first == at) | ((first == place[SALTS]) & (cause.id in OF_ONE_ION))
            measurement[at] = _figures_given()[:, column[cause.brought_by]].argmax()
    found &= diagnosis.verdict == SUPPORTED
    ranked = np.take_along_axis(found, order, axis=1)
    brought = order[np.arange(first.size), ranked.argmax(axis=1)]
    alone = np.stack([brought, np.full_like(brought, NONE_LEFT)], axis=1)
    asked: Flags = np.asarray(ranked.any(axis=1))
    return Choice(
        np.where(asked, measurement[brought], chosen.measurement),
        np.where(asked[:, np.newaxis], alone, chosen.separated),
    )


@cache
def _akin() -> Flags:
    """Which causes are one, or bring the other about, shape (n_causes, n_causes)."""
    place = {cause: i for i, cause in enumerate(causes())}
    akin = np.eye(len(place), dtype=bool)
    for cause in causes().values():
        for other in cause.comes_of:
            akin[place[cause.id], place[other]] = akin[place[other], place[cause.id]] = True
    return akin


def _salts_first(
    diagnosis: Diagnosis, codes: Codes, lower: Floats, upper: Floats, chosen: Choice
) -> Choice:
    """Ask for the EC where nothing is known of it, unless salts are unlikely.

    A cheaper look that would show a supported cause comes before it.
    """
    measurement, separated = chosen
    sample, first = np.arange(measurement.size), separated[:, 0]
    salts = list(causes()).index(SALTS)
    ec = figure_columns()[causes()[SALTS].deciding_measure]
    unread: Flags = np.isnan(lower[:, ec]) & np.isnan(upper[:, ec])
    reading = list(next_measurements()).index(FIRST_READING)
    cheaper: Flags = (measurement != NONE_LEFT) & (_costs()[measurement] < _costs()[reading])
    shows: Flags = codes[sample, measurement, first] != codes[sample, measurement, -1]
    look: Flags = cheaper & shows & (diagnosis.verdict[sample, first] == SUPPORTED)
    ask: Flags = unread & ~look & (diagnosis.verdict[:, salts] != UNLIKELY)
    rival = np.where((first == NONE_LEFT) | (first == salts), NONE_LEFT, salts)
    return Choice(
        np.where(ask, reading, measurement),
        np.where(ask[:, np.newaxis], np.stack([first, rival], axis=1), separated),
    )


def _look_anyway(lower: Floats, to_do: tuple[Flags, ...], chosen: Codes) -> Codes:
    """Where nothing is left to separate and trouble was seen, take the first look not yet taken."""
    troubles = [figure_columns()[sign] for sign in SIGNS_OF_A_STALL]
    troubled: Flags = (lower[:, troubles] == 1.0).any(axis=1)
    looked = np.full_like(chosen, NONE_LEFT)
    for look in reversed(LOOKS_WITHOUT_A_SUSPECT):
        place = list(next_measurements()).index(look)
        is_open: Flags = np.asarray(to_do[place].all(axis=1))
        looked = np.where(troubled & is_open, place, looked)
    return np.where(chosen == NONE_LEFT, looked, chosen)


@cache
def _costs() -> Codes:
    return np.array([measurement.cost_rank for measurement in next_measurements().values()])


class _Groups(NamedTuple):
    """Groups of figures, of each of which any one will do; those that go together in a row."""

    columns: Codes
    """The figures of the groups, group by group."""
    begins: Codes
    """First column of each group, shape (n_groups,)."""
    starts: Codes
    """First group of each row, shape (n_rows,)."""

    @classmethod
    def of(cls, rows: Iterable[DeterminedBy]) -> _Groups:
        """Lay out rows of groups."""
        every, column = list(rows), figure_columns()
        groups = list(chain.from_iterable(every))
        columns = np.array([column[each] for group in groups for each in group])
        begins = np.cumsum([0, *map(len, groups)])[:-1]
        return cls(columns, begins, np.cumsum([0, *map(len, every)])[:-1])

    def known(self, read: Flags) -> Flags:
        """Return which groups are known, shape (n_samples, n_groups)."""
        return np.logical_or.reduceat(read[:, self.columns], self.begins, axis=1)


def figures_read(lower: Floats, upper: Floats) -> Flags:
    """Return which figures are known, shape (n_samples, n_figures)."""
    return np.isfinite(lower) & np.isfinite(upper)


@cache
def _of_measurements() -> _Groups:
    return _Groups.of(each.done_when for each in next_measurements().values())


def open_groups(read: Flags) -> tuple[Flags, ...]:
    """Return which groups of its figures each measurement would add."""
    groups = _of_measurements()
    added = ~groups.known(read)
    ends = pairwise([*groups.starts.tolist(), added.shape[1]])
    return tuple(added[:, first:end] for first, end in ends)


class _Outcomes(NamedTuple):
    """What every measurement shows under each cause that it bears on. Shape (n_outcomes,)."""

    groups: _Groups
    """The figures that tell it, a row an outcome."""
    measurement: Codes
    cause: Codes
    code: Codes
    """Alike for what reads alike; 0 where nothing is wrong."""
    medium: Codes
    """1 where it can be read in mineral soil alone, 0 in soilless media alone, −1 in any."""
    needs_drainage: Flags
    warms: Flags
    needs_pots: Flags


@cache
def _outcomes() -> _Outcomes:
    told, rows = [], []
    for row, measurement in enumerate(next_measurements().values()):
        texts = [measurement.normal_outcome]
        for place, cause in enumerate(causes()):
            outcome = measurement.outcomes.get(cause)
            if outcome is None:
                continue
            if outcome.id not in texts:
                texts.append(outcome.id)
            told.append(outcome.determined_by)
            medium = ("soilless", "mineral").index(outcome.medium) if outcome.medium else -1
            code = texts.index(outcome.id)
            wants = (measurement.needs_drainage, measurement.warms, measurement.needs_pots)
            rows.append((row, place, code, medium, *wants))
    measurement, cause, code, medium, *wanted = np.array(rows).T
    drains, warms, pots = (each.astype(bool) for each in wanted)
    return _Outcomes(_Groups.of(told), measurement, cause, code, medium, drains, warms, pots)


def outcome_codes(lower: Floats, upper: Floats, mineral: Flags, without_pots: Flags) -> Codes:
    """Code what each measurement would still show under each cause, last where nothing is wrong.

    The shape is (n_samples, n_measurements, n_causes + 1). What is known already, and what could
    not be read off a limit for the kind of medium, is coded as where nothing is wrong; so is what
    warms a medium where that sets free the ammonia that harms, and in a field what takes pots.
    """
    told = _outcomes()
    known = np.logical_and.reduceat(
        told.groups.known(figures_read(lower, upper)), told.groups.starts, axis=1
    )
    out_of_scope: Flags = (told.medium >= 0) & (told.medium != mineral[:, np.newaxis])
    sealed: Flags = lower[:, [figure_columns()[SEALED]]] == 1.0
    ammonia, harm = _free_ammonia()
    harmed: Flags = upper[:, [ammonia]] >= harm
    useless = known | out_of_scope | (told.needs_drainage & sealed) | (told.warms & harmed)
    useless |= told.needs_pots & without_pots[:, np.newaxis]
    codes = np.zeros((lower.shape[0], len(next_measurements()), len(causes()) + 1), dtype=np.int64)
    codes[:, told.measurement, told.cause] = np.where(useless, 0, told.code)
    return codes


@cache
def _free_ammonia() -> tuple[int, float]:
    """Return the column of free ammonia, and from where on nobody should warm the medium."""
    (told,) = corrections()[AGAINST_AMMONIA].wanted
    return figure_columns()[told.measure], told.threshold


def _settles(lower: Floats, upper: Floats) -> Flags:
    """Whether each measurement gives the missing deciding measure of each cause.

    The shape is (n_samples, n_measurements, n_causes).
    """
    deciding = rule_arrays().cause_deciding_figure
    missing: Flags = ~figures_read(lower, upper)[:, deciding] & (deciding >= 0)
    gives: Flags = _figures_given()[:, deciding] & (deciding >= 0)
    return missing[:, np.newaxis, :] & gives


@cache
def _figures_given() -> Flags:
    """Which figures each measurement gives, shape (n_measurements, n_figures)."""
    column = figure_columns()
    measurements = next_measurements().values()
    given = np.zeros((len(measurements), len(column)), dtype=bool)
    for row, measurement in enumerate(measurements):
        given[row, [column[each] for group in measurement.done_when for each in group]] = True
    return given
