"""Why seedlings stall: every cause with its evidence, and what to measure next."""

from __future__ import annotations

import math

import numpy as np

from saltcalc.answer.quantities import Json, quantity
from saltcalc.data.causes import (
    Cause,
    Comparison,
    Condition,
    EvidenceRule,
    causes,
    diagnostic_measures,
    evidence_rules,
    next_measurements,
)
from saltcalc.data.observations import observations
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.cause_figures import NOBODY
from saltcalc.parts.causes import NONE_LEFT, CauseFindings, figure_columns
from saltcalc.parts.notes import Notes
from saltcalc.science.diagnosis import POSSIBLE, STRENGTHS, UNLIKELY, VERDICTS

SALT = "total_salts"
SODIC = "sodic_structure"
RINSING_TEST = "cress_three_ways"


def answer_causes(assessment: Assessment, sample: int, notes: Notes) -> list[Json]:
    """Return every cause of one sample, the best supported first."""
    _state_crops(assessment, sample, notes)
    findings = assessment.causes.findings
    keyed = list(causes().values())
    verdict = findings.diagnosis.verdict[sample]
    rinsed_away = [place for place, cause in enumerate(causes()) if _rinses_away(cause)]
    if verdict[list(causes()).index(SALT)] == UNLIKELY and np.all(verdict[rinsed_away] < POSSIBLE):
        containers = assessment.batch.containers.sample == sample
        planned = bool(np.any(assessment.flush_plan.flushed[containers]))
        notes.warn(
            "salt-is-unlikely",
            "note",
            "Salt is unlikely to be why plants stall here."
            + _of_a_flush(planned=planned, sodic=verdict[list(causes()).index(SODIC)] >= POSSIBLE),
            "causes",
        )
    return [
        _cause(findings, keyed[place], place, sample, notes)
        for place in findings.order[sample].tolist()
    ]


def _of_a_flush(*, planned: bool, sodic: bool) -> str:
    if planned:
        return " The flush planned here is for the crop that asks for less salt than this."
    if sodic:
        return " Its sodium may be: that takes calcium first, and only then a flush."
    return " A flush would cost nutrients and cure nothing."


def _rinses_away(cause: str) -> bool:
    """Whether the test in a rinsed medium comes out as it does with salts."""
    test = next_measurements()[RINSING_TEST]
    return test.shows(cause) == test.shows(SALT)


def answer_next_measurement(assessment: Assessment, sample: int, notes: Notes) -> Json | None:
    """Return the cheapest measurement that separates the two leading causes, if one is needed."""
    findings = assessment.causes.findings
    chosen = int(findings.next_measurement[sample])
    if chosen == NONE_LEFT:
        return None
    leading = [list(causes())[place] for place in findings.separated[sample] if place != NONE_LEFT]
    measurement = list(next_measurements().values())[chosen]
    verdict = findings.diagnosis.verdict[sample]
    told = leading or [
        cause
        for place, cause in enumerate(causes())
        if cause in measurement.outcomes and verdict[place] != UNLIKELY
    ]
    return _measurement(chosen, findings, sample, notes) | {
        "separates": leading,
        "outcomes": [{"cause": cause, "outcome": measurement.shows(cause)} for cause in told],
        "otherwise": measurement.normal_outcome,
    }


def _state_crops(assessment: Assessment, sample: int, notes: Notes) -> None:
    result, batch = assessment.causes, assessment.batch
    stalled, thriving = int(result.stalled[sample]), int(result.thriving[sample])
    if stalled != NOBODY and np.sum(batch.plantings.sample == sample) > 1:
        notes.assume(
            "stalled-crop",
            assessment.catalogue[batch.plantings.crop[stalled]].id,
            "Of the crops named, the one that stands the medium worst is taken to be the one that "
            "stalls. Name those that thrive to overrule it.",
            "/thriving_crops",
            "judgement",
        )
    if thriving != NOBODY and result.thriving_inferred[sample]:
        notes.assume(
            "thriving-crop",
            assessment.catalogue[thriving].id,
            "Of the crops named, the one that stands the medium best is taken to be the one that "
            "thrives.",
            "/thriving_crops",
            "judgement",
        )


def _cause(findings: CauseFindings, cause: Cause, place: int, sample: int, notes: Notes) -> Json:
    diagnosis = findings.diagnosis
    verdict, ranks = int(diagnosis.verdict[sample, place]), diagnosis.rank[sample]
    met = [
        rule
        for rule, holds in zip(evidence_rules().values(), diagnosis.met[sample], strict=True)
        if holds and rule.cause == cause.id
    ]
    settling = int(findings.settling_measurement[sample, place])
    settled = verdict == UNLIKELY or settling == NONE_LEFT
    return {
        "cause": cause.id,
        "name": cause.name,
        "verdict": VERDICTS[verdict],
        "rank": int(ranks[place]),
        "tied_with": [
            other
            for position, other in enumerate(causes())
            if position != place and ranks[position] == ranks[place]
        ],
        "evidence_for": _evidence(met, "for", findings, sample, notes),
        "evidence_against": _evidence(met, "against", findings, sample, notes),
        "mechanism": cause.mechanism,
        "usual_remedy": cause.usual_remedy if verdict >= POSSIBLE else None,
        "settled_by": None if settled else _settling(settling, cause, findings, sample, notes),
        "sources": notes.cite(cause.source),
    }


def _evidence(
    met: list[EvidenceRule],
    direction: str,
    findings: CauseFindings,
    sample: int,
    notes: Notes,
) -> list[Json]:
    """List the rules met, strongest first; of several limits on one figure only the strongest."""
    rules = sorted(
        (rule for rule in met if rule.direction == direction),
        key=lambda rule: -STRENGTHS.index(rule.strength),
    )
    kept: list[EvidenceRule] = []
    seen: set[str] = set()
    for rule in rules:
        measure = rule.conditions[0].measure if len(rule.conditions) == 1 else ""
        if measure and measure in seen:
            continue
        seen.add(measure)
        kept.append(rule)
    return [_one_rule(rule, findings, sample, notes) for rule in kept]


def _one_rule(rule: EvidenceRule, findings: CauseFindings, sample: int, notes: Notes) -> Json:
    measured = [condition for condition in rule.conditions if condition.measure]
    words = {}
    if measured:
        first = measured[0]
        words = {
            "value": _in_words(*_bounds(first, findings, sample), first.unit),
            "threshold": _with_unit(f"{first.threshold:g}", first.unit),
        }
    return {
        "sentence": rule.sentence.format(**words),
        "strength": rule.strength,
        "figures": [
            {
                "measure": condition.measure,
                "name": diagnostic_measures()[condition.measure].name,
                "basis": diagnostic_measures()[condition.measure].basis,
                "figure": _figure(*_bounds(condition, findings, sample), condition.unit),
                "comparison": condition.comparison,
                "limit": quantity(condition.threshold, _unit(condition.unit)),
            }
            for condition in measured
        ],
        "signs": _signs(rule, "at_least"),
        "signs_not_seen": _signs(rule, "at_most"),
        "sources": notes.cite(rule.source),
        "provenance": rule.provenance,
    }


def _signs(rule: EvidenceRule, comparison: Comparison) -> list[str]:
    return [
        condition.observation
        for condition in rule.conditions
        if condition.observation and condition.comparison == comparison
    ]


def _bounds(condition: Condition, findings: CauseFindings, sample: int) -> tuple[float, float]:
    column = figure_columns()[condition.measure]
    return float(findings.lower[sample, column]), float(findings.upper[sample, column])


def _unit(unit: str) -> str:
    return "1" if unit == "-" else unit


def _figure(low: float, high: float, unit: str) -> Json | None:
    """Return a figure by its bounds, with the middle of a lognormal interval as its value."""
    if math.isnan(low) or math.isnan(high):
        return quantity(high if math.isnan(low) else low, _unit(unit))
    middle = math.sqrt(low * high) if low > 0 else (low + high) / 2
    return quantity(low if low == high else middle, _unit(unit), low, high)


def _in_words(low: float, high: float, unit: str) -> str:
    if math.isnan(low) or math.isnan(high):
        side = "at most" if math.isnan(low) else "at least"
        return f"{side} {_with_unit(_digits(high if math.isnan(low) else low, unit), unit)}"
    ends = [_digits(low, unit), _digits(high, unit)]
    text = ends[0] if ends[0] == ends[1] else " to ".join(ends)
    return _with_unit(text, unit)


def _digits(value: float, unit: str) -> str:
    if unit == "%" and abs(value) >= 10:
        return f"{value:.0f}"
    if abs(value) >= 1000:
        return f"{float(f'{value:.2g}'):.0f}"
    return f"{value:.2g}" if unit == "%" else f"{value:.3g}"


def _with_unit(text: str, unit: str) -> str:
    """Leave out the units that people do not say: of pure numbers and of SAR."""
    return text if unit == "-" or unit.startswith("(") else f"{text} {unit}"


def _measurement(chosen: int, findings: CauseFindings, sample: int, notes: Notes) -> Json:
    measurement = list(next_measurements().values())[chosen]
    missing = [
        teller
        for group, is_open in zip(
            measurement.done_when, findings.open_groups[chosen][sample], strict=True
        )
        if is_open
        for teller in group
    ]
    figures = [
        diagnostic_measures()[teller].name for teller in missing if teller not in observations()
    ]
    return {
        "id": measurement.id,
        "name": measurement.name,
        "how": measurement.how.format(missing=_listed(figures)),
        "cost_rank": measurement.cost_rank,
        "signs_to_report": [teller for teller in missing if teller in observations()],
        "figures_to_report": figures,
        "sources": notes.cite(measurement.source),
    }


def _listed(names: list[str]) -> str:
    return " and ".join([", ".join(names[:-1]), *names[-1:]] if len(names) > 1 else names)


def _settling(
    chosen: int, cause: Cause, findings: CauseFindings, sample: int, notes: Notes
) -> Json:
    measurement = list(next_measurements().values())[chosen]
    return _measurement(chosen, findings, sample, notes) | {
        "if_this_cause": measurement.shows(cause.id),
        "otherwise": measurement.normal_outcome,
    }
