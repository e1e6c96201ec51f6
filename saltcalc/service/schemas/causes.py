"""What goes out about causes."""

from __future__ import annotations

import marshmallow as ma

from saltcalc.data.causes import causes
from saltcalc.data.observations import observations
from saltcalc.science.diagnosis import STRENGTHS, VERDICTS
from saltcalc.service.schemas.common import AnswerSchema, quantity, source_keys


def _cause_id(description: str) -> ma.fields.String:
    return ma.fields.String(
        validate=ma.validate.OneOf(tuple(causes())), metadata={"description": description}
    )


class EvidenceFigureSchema(AnswerSchema):
    """A figure held against a limit."""

    measure = ma.fields.String()
    name = ma.fields.String()
    basis = ma.fields.String(metadata={"description": "Extraction or table it is on."})
    figure = quantity("The figure of this medium.")
    comparison = ma.fields.String(
        validate=ma.validate.OneOf(["above", "at_least", "below", "at_most"])
    )
    limit = quantity("The published limit.")


class EvidenceSchema(AnswerSchema):
    """One piece of evidence."""

    sentence = ma.fields.String()
    strength = ma.fields.String(validate=ma.validate.OneOf(STRENGTHS))
    figures = ma.fields.List(ma.fields.Nested(EvidenceFigureSchema))
    signs = ma.fields.List(
        ma.fields.String(validate=ma.validate.OneOf(tuple(observations()))),
        metadata={"description": "Signs that were seen."},
    )
    signs_not_seen = ma.fields.List(
        ma.fields.String(validate=ma.validate.OneOf(tuple(observations()))),
        metadata={"description": "Signs that were looked for and not seen."},
    )
    sources = source_keys()
    provenance = ma.fields.String(
        metadata={"description": "seen, memory (not yet verified) or common-practice."}
    )


class MeasurementSchema(AnswerSchema):
    """Something to look at or measure."""

    id = ma.fields.String()
    name = ma.fields.String()
    how = ma.fields.String()
    cost_rank = ma.fields.Integer(
        metadata={"description": "1 is a look, 6 is an outside laboratory."}
    )
    signs_to_report = ma.fields.List(
        ma.fields.String(validate=ma.validate.OneOf(tuple(observations()))),
        metadata={
            "description": "The ids by which its result goes into `observations`, or into "
            "`not_seen`; only those not reported yet."
        },
    )
    figures_to_report = ma.fields.List(
        ma.fields.String(),
        metadata={"description": "Names of the figures it gives; only those not given yet."},
    )
    otherwise = ma.fields.String(
        metadata={"description": "What it shows if none of these causes is at work."}
    )
    sources = source_keys()


class SettlingMeasurementSchema(MeasurementSchema):
    """What would rule one cause in or out."""

    if_this_cause = ma.fields.String(
        metadata={"description": "What it shows if this cause is at work."}
    )


class CauseOutcomeSchema(AnswerSchema):
    """What a measurement shows if a cause is at work."""

    cause = _cause_id("The cause.")
    outcome = ma.fields.String()


class NextMeasurementSchema(MeasurementSchema):
    """The cheapest measurement that separates the two leading causes."""

    separates = ma.fields.List(
        _cause_id("A leading cause."),
        metadata={
            "description": "The leading causes; one where a single cause is suspected, none "
            "where nothing is known yet."
        },
    )
    outcomes = ma.fields.List(ma.fields.Nested(CauseOutcomeSchema))


class CauseAnswerSchema(AnswerSchema):
    """A cause of stalled seedlings, weighed."""

    cause = _cause_id("Stable id of the cause.")
    name = ma.fields.String()
    verdict = ma.fields.String(
        validate=ma.validate.OneOf(VERDICTS),
        metadata={
            "description": "Decisive evidence counts first, then strong; weak evidence alone "
            "leaves a cause open. Evidence for and against weighs the same."
        },
    )
    rank = ma.fields.Integer(metadata={"description": "1 is first; ties share a rank."})
    tied_with = ma.fields.List(_cause_id("A cause of the same rank."))
    evidence_for = ma.fields.List(ma.fields.Nested(EvidenceSchema))
    evidence_against = ma.fields.List(ma.fields.Nested(EvidenceSchema))
    mechanism = ma.fields.String()
    usual_remedy = ma.fields.String(
        allow_none=True,
        metadata={"description": "In generic terms; null unless supported or possible."},
    )
    settled_by = ma.fields.Nested(SettlingMeasurementSchema, allow_none=True)
    sources = source_keys()
