"""Causes of stalled seedlings, the evidence for and against each, and what to measure next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from itertools import chain
from types import MappingProxyType
from typing import Literal

import marshmallow as ma

from saltcalc.data.observations import observations
from saltcalc.data.sources import Sourced
from saltcalc.data.tables import Row, TableError, column, keyed, read_keyed, read_table, words

Comparison = Literal["above", "at_least", "below", "at_most"]
Direction = Literal["for", "against"]
Strength = Literal["weak", "moderate", "strong", "decisive"]
MediumScope = Literal["", "soilless", "mineral"]
"""What a limit was published for: any medium, soilless media alone, or mineral soil alone."""


DeterminedBy = tuple[tuple[str, ...], ...]
"""Figures that determine an outcome: all groups are needed, and of a group any measure or sign."""


def _determined_by(text: str) -> DeterminedBy:
    """Read figures that are all needed, parted by ``;``, with stand-ins parted by ``|``."""
    return tuple(tuple(group.split("|")) for group in text.split(";"))


@dataclass(frozen=True, kw_only=True)
class DiagnosticMeasure(Row):
    """A figure that evidence compares with a published limit."""

    id: str
    unit: str
    basis: str = ""
    """Id of the words for the extraction or table that it is on."""
    reading: str = ""
    """What it was read from, where several measures rest on one reading; else it is its own."""
    graded: bool = False
    """Whether twice the limit is twice as bad, so that how far it lies beyond it counts."""
    nutrient: str = ""
    """The nutrient, or ``ph``, that it holds against an end of the range that governs."""
    end: Literal["", "low", "high"] = ""
    """The end that it is held against."""
    bars: bool = False
    """Whether it is known of the crop, 1 or 0, and keeps rules for crops in general from speaking:
    0 where it is not known, and never shown."""
    note: str = ""
    """For those who keep the table."""


@dataclass(frozen=True, kw_only=True)
class Cause(Sourced):
    """A reason why seedlings stall."""

    id: str
    deciding_measure: str = ""
    """Id of the measure without which the cause stays open; empty where signs decide."""
    after: str = ""
    """Id of the cause that comes before it where both are supported.

    What is fed against a shortage is salt, so that too much salt is put right first (common
    practice, no source). The calcium that a sodic medium is given lowers its pH (Handbook 60).
    """
    comes_of: tuple[str, ...] = column((), read=words(";"))
    """Ids of causes that bring this one about, so that no check is asked to part them."""
    brought_by: str = ""
    """Id of the measure of the irrigation water that may bring it."""


@dataclass(frozen=True, kw_only=True)
class ConditionRow(Row):
    """One condition of a rule: a measure against a limit, or a reported sign."""

    rule: str
    measure: str = ""
    """Id of a measure, or empty."""
    observation: str = ""
    """Id of a sign, or empty; a sign counts as 1 when seen, 0 when looked for and not seen."""
    comparison: Comparison | None = None
    threshold: float | None = None
    """In ``unit``."""
    unit: str = ""
    bars: bool = False
    """Whether it bars what it is a condition of, where it holds; of corrections alone."""

    def check(self) -> None:
        """Refuse a condition on both or neither, and a comparison that does not fit."""
        given = (self.comparison, self.threshold)
        if bool(self.measure) == bool(self.observation):
            raise ma.ValidationError("names a measure or an observation, not both, not neither")
        if self.measure and None in given:
            raise ma.ValidationError("a measure needs a comparison and a threshold")
        if self.observation and given not in {(None, None), ("at_most", 0.0)}:
            raise ma.ValidationError("a sign is seen (no comparison) or not seen (at_most 0)")


@dataclass(frozen=True, kw_only=True)
class Condition(ConditionRow):
    """A condition in full: a sign that was seen is at least 1."""

    comparison: Comparison
    threshold: float


@dataclass(frozen=True, kw_only=True)
class RuleRow(Sourced):
    """Evidence for or against a cause."""

    id: str = column(data_key="rule")
    cause: str
    direction: Direction
    strength: Strength
    medium: MediumScope = ""
    """The kind of medium it holds for; empty for any."""


@dataclass(frozen=True, kw_only=True)
class EvidenceRule(RuleRow):
    """A rule with its conditions; it is met when all of them hold."""

    conditions: tuple[Condition, ...]

    @property
    def reading(self) -> str:
        """What the rule rests on: the reading of its first figure, or else its first sign."""
        figures = [each.measure for each in self.conditions if each.measure]
        if not figures:
            return self.conditions[0].observation
        return diagnostic_measures()[figures[0]].reading or figures[0]

    @property
    def graded(self) -> bool:
        """Whether how far its first figure lies beyond the limit counts."""
        first = self.conditions[0].measure
        return bool(first) and diagnostic_measures()[first].graded


@dataclass(frozen=True, kw_only=True)
class Outcome(Row):
    """What a measurement shows under a cause, or where none of the named causes is at work."""

    measurement: str
    cause: str = ""
    id: str = column(data_key="outcome")
    """Of the sentence; causes under which the measurement shows the same have the same."""
    determined_by: DeterminedBy = column((), read=_determined_by)
    """The measures or signs that show it: all groups are needed, of a group any one. Where they
    are known, doing the measurement again tells nothing new of the cause."""
    medium: MediumScope = ""
    """The kind of medium in which it can be read off a published limit; empty for any."""


@dataclass(frozen=True, kw_only=True)
class MeasurementRow(Sourced):
    """Something cheap to try or measure next."""

    id: str
    cost_rank: int = column(validate=ma.validate.Range(min=1))
    """1 is a look, 6 is an outside laboratory."""
    done_when: DeterminedBy = column(read=_determined_by)
    """Ids of all the measures or signs that it gives, grouped as in `Outcome.determined_by`."""
    needs_drainage: bool
    """Whether it cannot be done in a sealed container."""
    warms: bool
    """Whether the medium is warmed for it."""
    needs_pots: bool
    """Whether it cannot be done in a field."""


@dataclass(frozen=True, kw_only=True)
class NextMeasurement(MeasurementRow):
    """A measurement with what it shows: where no named cause is at work, and by cause id."""

    normal_outcome: str
    outcomes: Mapping[str, Outcome]

    def shows(self, cause: str) -> str:
        """Return the id of what it shows under a cause."""
        outcome = self.outcomes.get(cause)
        return outcome.id if outcome else self.normal_outcome


def _known(table: str, kind: str, key: str, keys: Iterable[str]) -> str:
    if key not in keys:
        raise TableError(f"{table}: {kind} {key!r} is not in its table")
    return key


@cache
def diagnostic_measures() -> Mapping[str, DiagnosticMeasure]:
    """Return every figure that evidence can use, by id."""
    return read_keyed("diagnostic_measures.csv", DiagnosticMeasure, lambda row: row.id)


@cache
def causes() -> Mapping[str, Cause]:
    """Return every cause by id, in the order of the table.

    Raises
    ------
    TableError
        If an id occurs twice, or a source, deciding measure or cause to go before is unknown.
    """
    table = "causes.csv"
    rows = read_keyed(table, Cause, lambda cause: cause.id)
    for cause in rows.values():
        if cause.deciding_measure:
            _known(table, "measure", cause.deciding_measure, diagnostic_measures())
        if cause.after:
            _known(table, "cause", cause.after, rows)
        for other in cause.comes_of:
            _known(table, "cause", other, rows)
        if cause.brought_by:
            _known(table, "measure", cause.brought_by, diagnostic_measures())
    return rows


def conditions_in(table: str) -> dict[str, tuple[Condition, ...]]:
    """Return the conditions of a table by what they are conditions of.

    Raises
    ------
    TableError
        If a measure, a sign or a unit is unknown.
    """
    conditions: dict[str, tuple[Condition, ...]] = {}
    for row in read_table(table, ConditionRow):
        columns = vars(row)
        if row.measure:
            _known(table, "measure", row.measure, diagnostic_measures())
            if row.unit != diagnostic_measures()[row.measure].unit:
                raise TableError(f"{table}: {row.rule!r} gives {row.measure!r} another unit")
        else:
            _known(table, "observation", row.observation, observations())
            if row.comparison is None:
                columns = columns | {"comparison": "at_least", "threshold": 1.0}
        conditions[row.rule] = (*conditions.get(row.rule, ()), Condition(**columns))
    return conditions


@cache
def evidence_rules() -> Mapping[str, EvidenceRule]:
    """Return every rule of evidence by id, each with its conditions.

    Raises
    ------
    TableError
        If an id occurs twice, a rule has no condition, a condition has no rule, or a cause,
        measure, sign, unit or source is unknown.
    """
    table = "cause_evidence.csv"
    conditions = conditions_in("evidence_conditions.csv")
    rules = []
    for row in read_table(table, RuleRow):
        if row.id not in conditions:
            raise TableError(f"{table}: {row.id!r} has no condition")
        _known(table, "cause", row.cause, causes())
        rules.append(EvidenceRule(**vars(row), conditions=conditions[row.id]))
    by_id = keyed(table, rules, lambda one: one.id)
    for rule in conditions:
        _known("evidence_conditions.csv", "rule", rule, by_id)
    return by_id


def _check_figures(table: str, groups: DeterminedBy) -> None:
    known = {*diagnostic_measures(), *observations()}
    for figure in chain.from_iterable(groups):
        _known(table, "measure or observation", figure, known)


@cache
def next_measurements() -> Mapping[str, NextMeasurement]:
    """Return every measurement that can be proposed, by id, with what it shows under each cause.

    Raises
    ------
    TableError
        If an id occurs twice, or a cause, sign, measure or source is unknown.
    """
    table = "measurement_outcomes.csv"
    normal: dict[str, str] = {}
    outcomes: dict[str, dict[str, Outcome]] = {}
    for outcome in read_table(table, Outcome):
        _check_figures(table, outcome.determined_by)
        if outcome.cause:
            cause = _known(table, "cause", outcome.cause, causes())
            outcomes.setdefault(outcome.measurement, {})[cause] = outcome
        else:
            normal[outcome.measurement] = outcome.id
    table = "next_measurements.csv"
    rows = []
    for row in read_table(table, MeasurementRow):
        _check_figures(table, row.done_when)
        shown = {
            cause: outcome
            if outcome.determined_by
            else replace(outcome, determined_by=row.done_when)
            for cause, outcome in outcomes.get(row.id, {}).items()
        }
        rows.append(
            NextMeasurement(
                **vars(row),
                normal_outcome=normal[_known(table, "normal outcome of", row.id, normal)],
                outcomes=MappingProxyType(shown),
            )
        )
    return keyed(table, rows, lambda measurement: measurement.id)
