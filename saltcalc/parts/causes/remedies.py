"""What usually helps against a cause, by what is known of this medium, its water and its crop."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache
from typing import TYPE_CHECKING

from saltcalc.data.causes import Condition
from saltcalc.data.corrections import USES, Correction, corrections
from saltcalc.message import Message, say
from saltcalc.parts.causes.evidence import figure_columns
from saltcalc.parts.causes.in_field import field_remedy
from saltcalc.parts.causes.told import figure_told
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import Amount, Text, how_known, part, shown, source_keys
from saltcalc.science.diagnosis import conditions_met

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

_FIRST, *_KINDS = USES


@part
class CauseCorrection:
    """A correction as published; local advice comes first, and a small batch."""

    id: str = shown(choices=tuple(corrections()))
    use: str = shown("What it is for.", choices=tuple(_KINDS))
    sentence: Message = shown()
    rate: Amount = shown(
        "In a medium by its volume; in a drench or a feed by the water.", optional=True
    )
    sources: list[str] = source_keys()
    provenance: str = how_known()


def first_remedy(assessment: Assessment, sample: int, cause: str) -> Text:
    """Return what usually helps against a cause, in words."""
    if in_field := field_remedy(assessment, sample, cause):
        return in_field
    for correction in _fitting(assessment, sample, cause):
        if correction.use == _FIRST:
            return _told(correction, assessment, sample)
    return say(f"causes.usual_remedy.{cause}")


def corrections_of(
    assessment: Assessment, sample: int, cause: str, notes: Notes
) -> list[CauseCorrection]:
    """Return what is published to help against a cause and fits what is known."""
    return [
        CauseCorrection(
            id=each.id,
            use=each.use,
            sentence=_told(each, assessment, sample),
            rate=_rate(each),
            **notes.rest_on(each),
        )
        for each in _fitting(assessment, sample, cause)
        if each.use != _FIRST
    ]


def barred(assessment: Assessment, sample: int, correction: str) -> bool:
    """Tell whether a correction does not fit what is known."""
    return not _fits(corrections()[correction], assessment, sample)


def _fitting(assessment: Assessment, sample: int, cause: str) -> Iterator[Correction]:
    for correction in _against(cause):
        if _fits(correction, assessment, sample):
            yield correction


@cache
def _against(cause: str) -> tuple[Correction, ...]:
    """Return the corrections that are published for a cause."""
    return tuple(each for each in corrections().values() if cause in each.causes)


def _fits(correction: Correction, assessment: Assessment, sample: int) -> bool:
    return all(_holds(each, assessment, sample) for each in correction.wanted) and not any(
        _holds(each, assessment, sample) for each in correction.barring
    )


def _holds(condition: Condition, assessment: Assessment, sample: int) -> bool:
    findings = assessment.causes.findings
    column = figure_columns()[condition.measure or condition.observation]
    return bool(
        conditions_met(
            findings.lower[sample, column],
            findings.upper[sample, column],
            1.0 if condition.comparison in {"above", "at_least"} else -1.0,
            condition.comparison in {"above", "below"},
            condition.threshold,
        )
    )


def _rate(correction: Correction) -> Amount:
    low, high = correction.rate_low, correction.rate_high
    return Amount(math.sqrt(low * high), correction.unit or "1", low, high)


def _told(correction: Correction, assessment: Assessment, sample: int) -> Message:
    told = {"rate": _rate(correction)} if correction.unit else {}
    figures = [each for each in correction.wanted if each.measure]
    if figures:
        told["value"] = figure_told(figures[0], assessment, sample).figure
    return say(f"corrections.sentence.{correction.id}", **told)
