"""Causes of stalled seedlings, the evidence for and against each, and what to measure next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any, Literal, Protocol, TypeVar, cast

import marshmallow as ma

from saltcalc.data.observations import observations
from saltcalc.data.sources import known_source
from saltcalc.data.tables import DATA_DIR, SourcedSchema, TableError, TableSchema, read_table

Comparison = Literal["above", "at_least", "below", "at_most"]
Direction = Literal["for", "against"]
Strength = Literal["weak", "strong", "decisive"]


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
        Id of a sign, or empty; a sign counts as 1 when reported.
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
    sentence : str
        For people; ``{value}`` and ``{threshold}`` stand for the first measured condition.
    conditions : tuple of Condition
    source, provenance, note : str
    """

    id: str
    cause: str
    direction: Direction
    strength: Strength
    sentence: str
    conditions: tuple[Condition, ...]
    source: str
    provenance: str
    note: str


@dataclass(frozen=True)
class NextMeasurement:
    """Something cheap to try or measure next.

    Attributes
    ----------
    id, name, how : str
    cost_rank : int
        1 is a look, 6 is an outside laboratory.
    done_when : tuple of str
        Ids of the measures or signs that tell that it has been done.
    normal_outcome : str
        What it shows where none of the named causes is at work.
    outcomes : mapping of str to str
        What it shows under a cause, by cause id.
    source, provenance, note : str
    """

    id: str
    name: str
    how: str
    cost_rank: int
    done_when: tuple[str, ...]
    normal_outcome: str
    outcomes: Mapping[str, str]
    source: str
    provenance: str
    note: str


class _MeasureSchema(TableSchema):
    id = ma.fields.String(required=True)
    name = ma.fields.String(required=True)
    unit = ma.fields.String(required=True)
    basis = ma.fields.String(load_default="", allow_none=True)
    description = ma.fields.String(load_default="", allow_none=True)


class _CauseSchema(SourcedSchema):
    id = ma.fields.String(required=True)
    name = ma.fields.String(required=True)
    deciding_measure = ma.fields.String(load_default="", allow_none=True)
    usual_remedy = ma.fields.String(required=True)
    mechanism = ma.fields.String(required=True)


class _RuleSchema(SourcedSchema):
    rule = ma.fields.String(required=True)
    cause = ma.fields.String(required=True)
    direction = ma.fields.String(required=True, validate=ma.validate.OneOf(["for", "against"]))
    strength = ma.fields.String(
        required=True, validate=ma.validate.OneOf(["weak", "strong", "decisive"])
    )
    sentence = ma.fields.String(required=True)


class _ConditionSchema(TableSchema):
    rule = ma.fields.String(required=True)
    measure = ma.fields.String(load_default="", allow_none=True)
    observation = ma.fields.String(load_default="", allow_none=True)
    comparison = ma.fields.String(
        allow_none=True, validate=ma.validate.OneOf(["above", "at_least", "below", "at_most"])
    )
    threshold = ma.fields.Float(allow_none=True)
    unit = ma.fields.String(load_default="", allow_none=True)

    @ma.validates_schema
    def _one_kind(self, row: dict[str, Any], **_: object) -> None:
        if bool(row["measure"]) == bool(row["observation"]):
            raise ma.ValidationError("names a measure or an observation, not both, not neither")
        if row["measure"] and (row["comparison"] is None or row["threshold"] is None):
            raise ma.ValidationError("a measure needs a comparison and a threshold")


class _NextMeasurementSchema(SourcedSchema):
    id = ma.fields.String(required=True)
    name = ma.fields.String(required=True)
    how = ma.fields.String(required=True)
    cost_rank = ma.fields.Integer(required=True, validate=ma.validate.Range(min=1))
    done_when = ma.fields.String(load_default="", allow_none=True)


class _OutcomeSchema(TableSchema):
    measurement = ma.fields.String(required=True)
    cause = ma.fields.String(load_default="", allow_none=True)
    outcome = ma.fields.String(required=True)


class _Identified(Protocol):
    @property
    def id(self) -> str: ...


_Row = TypeVar("_Row", bound=_Identified)


def _by_id(table: str, rows: Iterable[_Row]) -> MappingProxyType[str, _Row]:
    keyed: dict[str, _Row] = {}
    for row in rows:
        if row.id in keyed:
            raise TableError(f"{table}: {row.id!r} stands twice")
        keyed[row.id] = row
    return MappingProxyType(keyed)


def _known(table: str, kind: str, key: str, keys: Iterable[str]) -> str:
    if key not in keys:
        raise TableError(f"{table}: {kind} {key!r} is not in its table")
    return key


def _provenance(row: Mapping[str, Any]) -> dict[str, str]:
    return {
        "source": known_source(row["source"]),
        "provenance": row["provenance"],
        "note": row["note"] or "",
    }


@cache
def diagnostic_measures() -> MappingProxyType[str, DiagnosticMeasure]:
    """Return every figure that evidence can use, by id."""
    table = "diagnostic_measures.csv"
    rows = read_table(DATA_DIR / table, _MeasureSchema())
    return _by_id(
        table,
        [DiagnosticMeasure(**{column: text or "" for column, text in row.items()}) for row in rows],
    )


@cache
def causes() -> MappingProxyType[str, Cause]:
    """Return every cause by id, in the order of the table.

    Raises
    ------
    TableError
        If an id stands twice, or a source or deciding measure is unknown.
    """
    table = "causes.csv"
    rows = [
        Cause(
            id=row["id"],
            name=row["name"],
            deciding_measure=row["deciding_measure"] or "",
            usual_remedy=row["usual_remedy"],
            mechanism=row["mechanism"],
            **_provenance(row),
        )
        for row in read_table(DATA_DIR / table, _CauseSchema())
    ]
    for cause in rows:
        if cause.deciding_measure:
            _known(table, "measure", cause.deciding_measure, diagnostic_measures())
    return _by_id(table, rows)


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
            condition = Condition("", row["observation"], "at_least", 1.0, "")
        conditions.setdefault(row["rule"], []).append(condition)
    return conditions


@cache
def evidence_rules() -> MappingProxyType[str, EvidenceRule]:
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
        rules.append(
            EvidenceRule(
                id=row["rule"],
                cause=_known(table, "cause", row["cause"], causes()),
                direction=row["direction"],
                strength=row["strength"],
                sentence=row["sentence"],
                conditions=tuple(conditions[row["rule"]]),
                **_provenance(row),
            )
        )
    keyed = _by_id(table, rules)
    for rule in conditions:
        _known("evidence_conditions.csv", "rule", rule, keyed)
    return keyed


@cache
def next_measurements() -> MappingProxyType[str, NextMeasurement]:
    """Return every measurement that can be proposed, by id, with what it shows under each cause.

    Raises
    ------
    TableError
        If an id stands twice, or a cause, sign, measure or source is unknown.
    """
    table = "measurement_outcomes.csv"
    normal: dict[str, str] = {}
    outcomes: dict[str, dict[str, str]] = {}
    for row in read_table(DATA_DIR / table, _OutcomeSchema()):
        if row["cause"]:
            cause = _known(table, "cause", row["cause"], causes())
            outcomes.setdefault(row["measurement"], {})[cause] = row["outcome"]
        else:
            normal[row["measurement"]] = row["outcome"]
    table = "next_measurements.csv"
    tellers = {*diagnostic_measures(), *observations()}
    rows = []
    for row in read_table(DATA_DIR / table, _NextMeasurementSchema()):
        done_when = tuple((row["done_when"] or "").split(";")) if row["done_when"] else ()
        for teller in done_when:
            _known(table, "measure or observation", teller, tellers)
        rows.append(
            NextMeasurement(
                id=row["id"],
                name=row["name"],
                how=row["how"],
                cost_rank=cast(int, row["cost_rank"]),
                done_when=done_when,
                normal_outcome=normal[_known(table, "normal outcome of", row["id"], normal)],
                outcomes=MappingProxyType(outcomes.get(row["id"], {})),
                **_provenance(row),
            )
        )
    return _by_id(table, rows)
