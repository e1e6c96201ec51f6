"""Causes of stalled seedlings, the evidence for and against each, and what to measure next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from itertools import chain
from types import MappingProxyType
from typing import Any, Literal

import marshmallow as ma

from saltcalc.data.observations import observations
from saltcalc.data.sources import SourcedSchema
from saltcalc.data.tables import (
    DATA_DIR,
    TableError,
    TableSchema,
    keyed,
    read_keyed,
    read_table,
)

Comparison = Literal["above", "at_least", "below", "at_most"]
Direction = Literal["for", "against"]
Strength = Literal["weak", "strong", "decisive"]
MediumScope = Literal["", "soilless", "mineral"]
"""What a limit was published for: any medium, soilless media alone, or mineral soil alone."""


@dataclass(frozen=True)
class DiagnosticMeasure:
    """A figure that evidence compares with a published limit."""

    id: str
    name: str
    unit: str
    basis: str
    description: str


@dataclass(frozen=True)
class Cause:
    """A reason why seedlings stall.

    Attributes
    ----------
    id, name : str
    deciding_measure : str
        Id of the measure without which the cause stays open; empty where signs decide.
    usual_remedy, mechanism : str
        In generic terms, for people.
    source, provenance, note : str
    """

    id: str
    name: str
    deciding_measure: str
    usual_remedy: str
    mechanism: str
    source: str
    provenance: str
    note: str


@dataclass(frozen=True)
class Condition:
    """One condition of a rule: a measure against a limit, or a reported sign.

    Attributes
    ----------
    measure : str
        Id of a measure, or empty.
    observation : str
        Id of a sign, or empty; a sign counts as 1 when seen, 0 when looked for and not seen.
    comparison : {'above', 'at_least', 'below', 'at_most'}
    threshold : float
        In ``unit``.
    unit : str
    """

    measure: str
    observation: str
    comparison: Comparison
    threshold: float
    unit: str


@dataclass(frozen=True)
class EvidenceRule:
    """Evidence for or against a cause, met when all its conditions hold.

    Attributes
    ----------
    id, cause : str
    direction : {'for', 'against'}
    strength : {'weak', 'strong', 'decisive'}
    medium : {'', 'soilless', 'mineral'}
        The kind of medium it holds for; empty for any.
    sentence : str
        For people; ``{value}`` and ``{threshold}`` stand for the first measured condition.
    conditions : tuple of Condition
    source, provenance, note : str
    """

    id: str
    cause: str
    direction: Direction
    strength: Strength
    medium: MediumScope
    sentence: str
    conditions: tuple[Condition, ...]
    source: str
    provenance: str
    note: str


DeterminedBy = tuple[tuple[str, ...], ...]
"""Figures that determine an outcome: all groups are needed, and of a group any measure or sign."""


@dataclass(frozen=True)
class Outcome:
    """What a measurement shows under a cause.

    Attributes
    ----------
    text : str
        For people.
    determined_by : tuple of tuple of str
        The measures or signs that show it: all groups are needed, of a group any one. Where they
        are known, doing the measurement again tells nothing new of the cause.
    medium : {'', 'soilless', 'mineral'}
        The kind of medium in which it can be read off a published limit; empty for any.
    """

    text: str
    determined_by: DeterminedBy
    medium: MediumScope


@dataclass(frozen=True)
class NextMeasurement:
    """Something cheap to try or measure next.

    Attributes
    ----------
    id, name, how : str
        In `how`, ``{missing}`` stands for the figures that it would add.
    cost_rank : int
        1 is a look, 6 is an outside laboratory.
    done_when : tuple of tuple of str
        Ids of all the measures or signs that it gives, grouped as in `Outcome.determined_by`.
    needs_drainage : bool
        Whether it cannot be done in a sealed container.
    normal_outcome : str
        What it shows where none of the named causes is at work.
    outcomes : mapping of str to Outcome
        What it shows under a cause, by cause id.
    source, provenance, note : str
    """

    id: str
    name: str
    how: str
    cost_rank: int
    done_when: DeterminedBy
    needs_drainage: bool
    normal_outcome: str
    outcomes: Mapping[str, Outcome]
    source: str
    provenance: str
    note: str

    def shows(self, cause: str) -> str:
        """Return what it shows under a cause."""
        outcome = self.outcomes.get(cause)
        return outcome.text if outcome else self.normal_outcome


def _medium_scope() -> ma.fields.String:
    return ma.fields.String(load_default="", validate=ma.validate.OneOf(["soilless", "mineral"]))


class _MeasureSchema(TableSchema):
    id = ma.fields.String(required=True)
    name = ma.fields.String(required=True)
    unit = ma.fields.String(required=True)
    basis = ma.fields.String(load_default="")
    description = ma.fields.String(load_default="")


class _CauseSchema(SourcedSchema):
    id = ma.fields.String(required=True)
    name = ma.fields.String(required=True)
    deciding_measure = ma.fields.String(load_default="")
    usual_remedy = ma.fields.String(required=True)
    mechanism = ma.fields.String(required=True)


class _RuleSchema(SourcedSchema):
    rule = ma.fields.String(required=True)
    cause = ma.fields.String(required=True)
    direction = ma.fields.String(required=True, validate=ma.validate.OneOf(["for", "against"]))
    strength = ma.fields.String(
        required=True, validate=ma.validate.OneOf(["weak", "strong", "decisive"])
    )
    medium = _medium_scope()
    sentence = ma.fields.String(required=True)


class _ConditionSchema(TableSchema):
    rule = ma.fields.String(required=True)
    measure = ma.fields.String(load_default="")
    observation = ma.fields.String(load_default="")
    comparison = ma.fields.String(
        load_default=None, validate=ma.validate.OneOf(["above", "at_least", "below", "at_most"])
    )
    threshold = ma.fields.Float(load_default=None)
    unit = ma.fields.String(load_default="")

    @ma.validates_schema
    def _one_kind(self, row: dict[str, Any], **_: object) -> None:
        if bool(row["measure"]) == bool(row["observation"]):
            raise ma.ValidationError("names a measure or an observation, not both, not neither")
        if row["measure"] and (row["comparison"] is None or row["threshold"] is None):
            raise ma.ValidationError("a measure needs a comparison and a threshold")
        seen = (row["comparison"], row["threshold"])
        if row["observation"] and seen not in {(None, None), ("at_most", 0.0)}:
            raise ma.ValidationError("a sign is seen (no comparison) or not seen (at_most 0)")


class _NextMeasurementSchema(SourcedSchema):
    id = ma.fields.String(required=True)
    name = ma.fields.String(required=True)
    how = ma.fields.String(required=True)
    cost_rank = ma.fields.Integer(required=True, validate=ma.validate.Range(min=1))
    done_when = ma.fields.String(required=True)
    needs_drainage = ma.fields.Boolean(required=True)


class _OutcomeSchema(TableSchema):
    measurement = ma.fields.String(required=True)
    cause = ma.fields.String(load_default="")
    outcome = ma.fields.String(required=True)
    told_by = ma.fields.String(load_default="")
    medium = _medium_scope()


def _known(table: str, kind: str, key: str, keys: Iterable[str]) -> str:
    if key not in keys:
        raise TableError(f"{table}: {kind} {key!r} is not in its table")
    return key


@cache
def diagnostic_measures() -> Mapping[str, DiagnosticMeasure]:
    """Return every figure that evidence can use, by id."""
    return read_keyed(
        "diagnostic_measures.csv", _MeasureSchema(), DiagnosticMeasure, lambda row: row.id
    )


@cache
def causes() -> Mapping[str, Cause]:
    """Return every cause by id, in the order of the table.

    Raises
    ------
    TableError
        If an id stands twice, or a source or deciding measure is unknown.
    """
    table = "causes.csv"
    rows = read_keyed(table, _CauseSchema(), Cause, lambda cause: cause.id)
    for cause in rows.values():
        if cause.deciding_measure:
            _known(table, "measure", cause.deciding_measure, diagnostic_measures())
    return rows


def _conditions() -> dict[str, list[Condition]]:
    table = "evidence_conditions.csv"
    conditions: dict[str, list[Condition]] = {}
    for row in read_table(DATA_DIR / table, _ConditionSchema()):
        if row["measure"]:
            _known(table, "measure", row["measure"], diagnostic_measures())
            if row["unit"] != diagnostic_measures()[row["measure"]].unit:
                raise TableError(f"{table}: {row['rule']!r} gives {row['measure']!r} another unit")
            condition = Condition(
                row["measure"], "", row["comparison"], row["threshold"], row["unit"]
            )
        else:
            _known(table, "observation", row["observation"], observations())
            not_seen = row["comparison"] == "at_most"
            condition = Condition(
                "",
                row["observation"],
                "at_most" if not_seen else "at_least",
                0.0 if not_seen else 1.0,
                "",
            )
        conditions.setdefault(row["rule"], []).append(condition)
    return conditions


@cache
def evidence_rules() -> Mapping[str, EvidenceRule]:
    """Return every rule of evidence by id, each with its conditions.

    Raises
    ------
    TableError
        If an id stands twice, a rule has no condition, a condition has no rule, or a cause,
        measure, sign, unit or source is unknown.
    """
    table = "cause_evidence.csv"
    conditions = _conditions()
    rules = []
    for row in read_table(DATA_DIR / table, _RuleSchema()):
        if row["rule"] not in conditions:
            raise TableError(f"{table}: {row['rule']!r} has no condition")
        _known(table, "cause", row["cause"], causes())
        rule = row.pop("rule")
        rules.append(EvidenceRule(id=rule, conditions=tuple(conditions[rule]), **row))
    by_id = keyed(table, rules, lambda one: one.id)
    for rule in conditions:
        _known("evidence_conditions.csv", "rule", rule, by_id)
    return by_id


def _determined_by(table: str, text: str) -> DeterminedBy:
    """Read figures that are all needed, parted by ``;``, with stand-ins parted by ``|``."""
    known = {*diagnostic_measures(), *observations()}
    groups = tuple(tuple(group.split("|")) for group in text.split(";")) if text else ()
    for figure in chain.from_iterable(groups):
        _known(table, "measure or observation", figure, known)
    return groups


@cache
def next_measurements() -> Mapping[str, NextMeasurement]:
    """Return every measurement that can be proposed, by id, with what it shows under each cause.

    Raises
    ------
    TableError
        If an id stands twice, or a cause, sign, measure or source is unknown.
    """
    table = "measurement_outcomes.csv"
    normal: dict[str, str] = {}
    outcomes: dict[str, dict[str, Outcome]] = {}
    for row in read_table(DATA_DIR / table, _OutcomeSchema()):
        if row["cause"]:
            cause = _known(table, "cause", row["cause"], causes())
            outcomes.setdefault(row["measurement"], {})[cause] = Outcome(
                row["outcome"], _determined_by(table, row["told_by"]), row["medium"]
            )
        else:
            normal[row["measurement"]] = row["outcome"]
    table = "next_measurements.csv"
    rows = []
    for row in read_table(DATA_DIR / table, _NextMeasurementSchema()):
        done_when = _determined_by(table, row.pop("done_when"))
        shown = {
            cause: outcome if outcome.determined_by else replace(outcome, determined_by=done_when)
            for cause, outcome in outcomes.get(row["id"], {}).items()
        }
        rows.append(
            NextMeasurement(
                done_when=done_when,
                normal_outcome=normal[_known(table, "normal outcome of", row["id"], normal)],
                outcomes=MappingProxyType(shown),
                **row,
            )
        )
    return keyed(table, rows, lambda measurement: measurement.id)
