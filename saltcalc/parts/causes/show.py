"""Every cause with its evidence, and what to measure next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from saltcalc.data.causes import (
    Comparison,
    EvidenceRule,
    causes,
    evidence_rules,
    next_measurements,
)
from saltcalc.data.observations import observations
from saltcalc.message import Message, say
from saltcalc.parts.causes.next_measurement import NONE_LEFT, SALTS
from saltcalc.parts.causes.remedies import CauseCorrection, corrections_of, first_remedy
from saltcalc.parts.causes.told import MEASURES_TOLD, EvidenceFigure, figure_told, range_told
from saltcalc.parts.causes.weighing import CauseFindings
from saltcalc.parts.doubts import DOUBTS, METHOD_DECIDES
from saltcalc.parts.flush.held_back import RINSING_TEST, is_leached
from saltcalc.parts.notes import Notes
from saltcalc.parts.nutrients.cat import is_mineral_nitrogen
from saltcalc.parts.plantings import NO_CROP
from saltcalc.parts.shown import Text, how_known, part, shown, source_keys
from saltcalc.science.diagnosis import POSSIBLE, STRENGTHS, SUPPORTED, UNLIKELY, VERDICTS

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

SODIC = "sodic_structure"

CAUSES = tuple(causes())
_SIGNS = tuple(observations())
CHECKS = tuple(next_measurements())

EC_IS_LOWER_BOUND = "ec_is_lower_bound"
"""A measure that only says whether others hold, so no figure of the evidence."""

NITROGEN_FIGURE = "nitrate_n_to_low"
"""The measure that is nitrate alone, or all mineral nitrogen by CaCl2/DTPA."""

STANDING_OUT = (VERDICTS[SUPPORTED], VERDICTS[POSSIBLE])
"""Verdicts of the causes that are told unless every cause is asked for, the firmer first."""

MOST_EVIDENCE = 3
"""Pieces of evidence told for a cause, and against it, unless every cause is asked for."""


@part
class Evidence:
    """One piece of evidence."""

    sentence: Message = shown()
    strength: str = shown("How much it weighs.", choices=STRENGTHS)
    figures: list[EvidenceFigure] = shown(
        "Of several that come to the same beside the same limit, the first.", optional=True
    )
    signs: list[str] = shown("Signs that were seen.", optional=True, choices=_SIGNS)
    signs_not_seen: list[str] = shown(
        "Signs that were looked for and not seen.", optional=True, choices=_SIGNS
    )
    sources: list[str] = source_keys()
    provenance: str = how_known()


@part
class Measurement:
    """Something to look at or measure."""

    id: str = shown(choices=CHECKS)
    name: Message = shown()
    how: Message = shown()
    cost_rank: int = shown("1 is a look, 6 is an outside laboratory.")
    signs_to_report: list[str] = shown(
        "The ids by which its result goes into `observations`, or into `not_seen`; only those not "
        "reported yet.",
        optional=True,
        choices=_SIGNS,
    )
    figures_to_report: list[Message] = shown(
        "Names of the figures it gives; only those not given yet.", optional=True
    )
    otherwise: Message = shown("What it shows if none of these causes is at work.")
    sources: list[str] = source_keys()


@part
class Settling:
    """What would rule one cause in or out."""

    check: str = shown("Id of the next check, or of one of the other checks.", choices=CHECKS)
    if_this_cause: Message = shown("What it shows if this cause is at work.")


@part
class CauseOutcome:
    """What a measurement shows if a cause is at work."""

    cause: str = shown("The cause.", choices=CAUSES)
    outcome: Message = shown("What the measurement shows then, in words.")


@part
class NextMeasurement(Measurement):
    """The cheapest measurement that separates the two leading causes."""

    separates: list[str] = shown(
        "The leading causes; one where a single cause is suspected, none where nothing is known "
        "yet.",
        choices=CAUSES,
        each="A leading cause.",
    )
    outcomes: list[CauseOutcome] = shown("What it shows under each cause that it parts.")


@part
class WeighedCause:
    """A cause of stalled seedlings, weighed."""

    shown_as: ClassVar[str] = "CauseAnswer"

    cause: str = shown("Stable id of the cause.", choices=CAUSES)
    name: Message = shown()
    verdict: str = shown(
        "Decisive evidence counts first, then strong; weak evidence alone leaves a cause open. "
        "Evidence for and against weighs the same.",
        choices=VERDICTS,
    )
    rank: int = shown("1 is first; ties share a rank.")
    tied_with: list[str] = shown(optional=True, choices=CAUSES, each="A cause of the same rank.")
    evidence_for: list[Evidence] = shown("The strongest first.", optional=True)
    evidence_against: list[Evidence] = shown("The strongest first.", optional=True)
    mechanism: Message = shown("How it holds plants back, in words.")
    usual_remedy: Text | None = shown(
        "In generic terms; left out unless supported or possible.", optional=True
    )
    corrections: list[CauseCorrection] = shown(
        "What is published to help, for a new batch and for plants that stand; of a supported or "
        "possible cause.",
        optional=True,
    )
    settled_by: Settling | None = shown(
        "Left out of an unlikely cause; of a supported one unless all are asked for.", optional=True
    )
    sources: list[str] = source_keys()


def show_causes(assessment: Assessment, sample: int, notes: Notes) -> list[WeighedCause]:
    """Return every cause of one sample, the best supported first."""
    _assume_crops(assessment, sample, notes)
    if assessment.in_field[sample]:
        reason = say("assumption.in_field")
        notes.assume("in_field", "field", reason, "/containers", "judgement")
        notes.cite("hb60", "hoffman_1980")
    _find_salt_unlikely(assessment, sample, notes)
    _find_flush_cures_other(assessment, sample, notes)
    findings = assessment.causes.findings
    diagnosis = findings.diagnosis
    met: dict[str, list[EvidenceRule]] = {each: [] for each in CAUSES}
    rules = tuple(evidence_rules().values())
    for place in np.flatnonzero(diagnosis.met[sample]).tolist():
        met[rules[place].cause].append(rules[place])
    ranks, verdicts, settling = (
        each[sample].tolist()
        for each in (diagnosis.rank, diagnosis.verdict, findings.settling_measurement)
    )
    tied: dict[int, list[str]] = {}
    for cause, rank in zip(CAUSES, ranks, strict=True):
        tied.setdefault(rank, []).append(cause)

    def weighed(place: int) -> WeighedCause:
        cause, verdict, rank = causes()[CAUSES[place]], verdicts[place], ranks[place]
        rules = met[cause.id]
        settled = verdict == UNLIKELY or settling[place] == NONE_LEFT
        stands_out = verdict >= POSSIBLE
        return WeighedCause(
            cause=cause.id,
            name=_say_of("name", cause.id),
            verdict=VERDICTS[verdict],
            rank=rank,
            tied_with=[other for other in tied[rank] if other != cause.id],
            evidence_for=_evidence(rules, "for", assessment, sample, notes),
            evidence_against=_evidence(rules, "against", assessment, sample, notes),
            mechanism=_say_of("mechanism", cause.id),
            usual_remedy=first_remedy(assessment, sample, cause.id) if stands_out else None,
            corrections=corrections_of(assessment, sample, cause.id, notes) if stands_out else [],
            settled_by=None if settled else _settling(settling[place], cause.id),
            sources=notes.cite(cause.source),
        )

    return [weighed(place) for place in findings.order[sample].tolist()]


def in_short(cause: WeighedCause) -> WeighedCause:
    """Return a cause with its :data:`MOST_EVIDENCE` strongest pieces of evidence a side.

    What settles it is left out where it is supported; corrections are told where it is supported
    or first in line.
    """
    supported = cause.verdict == VERDICTS[SUPPORTED]
    return replace(
        cause,
        evidence_for=cause.evidence_for[:MOST_EVIDENCE],
        evidence_against=cause.evidence_against[:MOST_EVIDENCE],
        corrections=cause.corrections if supported or cause.rank == 1 else [],
        settled_by=None if supported else cause.settled_by,
    )


def show_next_measurement(
    assessment: Assessment, sample: int, notes: Notes
) -> NextMeasurement | None:
    """Return the cheapest measurement that separates the two leading causes, if one is needed."""
    findings = assessment.causes.findings
    chosen = int(findings.next_measurement[sample])
    if chosen == NONE_LEFT:
        return None
    leading = [CAUSES[place] for place in findings.separated[sample] if place != NONE_LEFT]
    measurement = next_measurements()[CHECKS[chosen]]
    verdict = findings.diagnosis.verdict[sample]
    told = leading or [
        cause
        for place, cause in enumerate(CAUSES)
        if cause in measurement.outcomes and verdict[place] != UNLIKELY
    ]
    return NextMeasurement(
        **_measurement(chosen, findings, sample, notes),
        separates=leading,
        outcomes=[CauseOutcome(cause, _outcome(measurement.shows(cause))) for cause in told],
    )


def _assume_crops(assessment: Assessment, sample: int, notes: Notes) -> None:
    """Say which crops are taken to stall and to thrive where that was not said."""
    result = assessment.causes
    stalled, thriving = int(result.stalled[sample]), int(result.thriving[sample])
    chosen = {}
    if stalled != NO_CROP and len(assessment.plantings_of(sample)) > 1:
        chosen["stalled_crop"] = assessment.crop_of(stalled)
    if thriving != NO_CROP and result.thriving_inferred[sample]:
        chosen["thriving_crop"] = assessment.catalogue[thriving]
    for assumption, crop in chosen.items():
        reason = say(f"assumption.{assumption}")
        notes.assume(assumption, crop.id, reason, "/thriving_crops", "judgement")


def _find_salt_unlikely(assessment: Assessment, sample: int, notes: Notes) -> None:
    """Say so where salt is unlikely, and nothing else that rinsing would take away is possible.

    Nothing is said where a figure is in doubt.
    """
    if any(found.id in (*DOUBTS, METHOD_DECIDES) for found in notes.warnings):
        return
    verdicts = assessment.causes.findings.diagnosis.verdict[sample].tolist()
    verdict = dict(zip(CAUSES, verdicts, strict=True))
    if verdict[SALTS] != UNLIKELY or any(verdict[cause] >= POSSIBLE for cause in _rinsed_away()):
        return
    if assessment.flush_plan.flushed[assessment.containers_of(sample)].any():
        of_a_flush = "flush_is_for_another_crop"
    else:
        sodic = verdict[SODIC] >= POSSIBLE
        of_a_flush = "calcium_before_flush" if sodic else "flush_cures_nothing"
    sentence = say("finding.salt_is_unlikely"), say(f"causes.{of_a_flush}")
    notes.warn("salt_is_unlikely", "note", sentence, "causes")


@cache
def _rinsed_away() -> tuple[str, ...]:
    """Return the causes that show the same as salts where the medium is rinsed."""
    rinsing = next_measurements()[RINSING_TEST]
    return tuple(cause for cause in CAUSES if rinsing.shows(cause) == rinsing.shows(SALTS))


def _find_flush_cures_other(assessment: Assessment, sample: int, notes: Notes) -> None:
    """Say that a flush is planned for salt alone where another cause is supported, and salt not."""
    diagnosis = assessment.causes.findings.diagnosis
    verdict = dict(zip(CAUSES, diagnosis.verdict[sample], strict=True))
    rows = assessment.containers_of(sample)
    if verdict[SALTS] >= SUPPORTED or not assessment.flush_plan.flushed[rows].any():
        return
    others = [
        cause
        for _, cause in sorted(zip(diagnosis.rank[sample], CAUSES, strict=True))
        if verdict[cause] >= SUPPORTED
    ]
    if others and not any(map(is_leached, others)):
        names = [say(f"causes.name.{cause}") for cause in others]
        notes.find("flush_does_not_cure", "caution", "flush_plan", names=names)


def _evidence(
    met: list[EvidenceRule], direction: str, assessment: Assessment, sample: int, notes: Notes
) -> list[Evidence]:
    """List the rules met, strongest first; of those that rest on one reading the strongest."""
    if not met:
        return []
    rules = sorted(
        (rule for rule in met if rule.direction == direction),
        key=lambda rule: -STRENGTHS.index(rule.strength),
    )
    kept: dict[str, EvidenceRule] = {}
    for rule in rules:
        kept.setdefault(rule.reading, rule)
    return [_one_rule(rule, assessment, sample, notes) for rule in kept.values()]


def _one_rule(rule: EvidenceRule, assessment: Assessment, sample: int, notes: Notes) -> Evidence:
    figures = [
        figure_told(condition, assessment, sample)
        for condition in rule.conditions
        if condition.measure in MEASURES_TOLD and condition.measure != EC_IS_LOWER_BOUND
    ]
    first: dict[str, Any] = {}
    if figures:
        first = {"value": figures[0].figure, "threshold": figures[0].limit}
    if NITROGEN_FIGURE in {condition.measure for condition in rule.conditions}:
        both = is_mineral_nitrogen(assessment, sample)
        first["nitrogen"] = say(f"causes.{'mineral_nitrogen_by_cat' if both else 'nitrate_n'}")
    ranges = [range_told(condition, assessment, sample) for condition in rule.conditions]
    return Evidence(
        sentence=say(f"cause_evidence.sentence.{rule.id}", **first),
        strength=rule.strength,
        figures=[
            each
            for place, each in enumerate(figures)
            if (each.figure, each.limit) not in [(one.figure, one.limit) for one in figures[:place]]
        ],
        signs=_signs(rule, "at_least"),
        signs_not_seen=_signs(rule, "at_most"),
        sources=notes.cite(rule.source, *(each.source for each in ranges if each)),
        provenance=rule.provenance,
    )


def _signs(rule: EvidenceRule, comparison: Comparison) -> list[str]:
    return [
        condition.observation
        for condition in rule.conditions
        if condition.observation and condition.comparison == comparison
    ]


@cache
def _say_of(what: str, cause: str) -> Message:
    return say(f"causes.{what}.{cause}")


@cache
def _settling(chosen: int, cause: str) -> Settling:
    measurement = next_measurements()[CHECKS[chosen]]
    return Settling(measurement.id, _outcome(measurement.shows(cause)))


def show_checks(
    assessment: Assessment, sample: int, checks: Iterable[str], notes: Notes
) -> list[Measurement]:
    """Return measurements by their ids, each once."""
    findings = assessment.causes.findings
    return [
        Measurement(**_measurement(CHECKS.index(each), findings, sample, notes))
        for each in dict.fromkeys(checks)
    ]


def _measurement(
    chosen: int, findings: CauseFindings, sample: int, notes: Notes
) -> Mapping[str, Any]:
    """Return what measurements that settle a cause and that come next have in common."""
    measurement = next_measurements()[CHECKS[chosen]]
    open_groups = findings.open_groups[chosen][sample]
    missing = [
        each
        for group, is_open in zip(measurement.done_when, open_groups, strict=True)
        if is_open
        for each in group
    ]
    figures = [
        say(f"diagnostic_measures.name.{each}") for each in missing if each not in observations()
    ]
    return {
        "id": measurement.id,
        "name": say(f"next_measurements.name.{measurement.id}"),
        "how": say(
            f"next_measurements.how.{measurement.id}",
            missing=say("causes.missing_figures", names=figures),
        ),
        "cost_rank": measurement.cost_rank,
        "signs_to_report": [each for each in missing if each in observations()],
        "figures_to_report": figures,
        "otherwise": _outcome(measurement.normal_outcome),
        "sources": notes.cite(measurement.source),
    }


def _outcome(outcome: str) -> Message:
    return say(f"measurement_outcomes.outcome.{outcome}")
