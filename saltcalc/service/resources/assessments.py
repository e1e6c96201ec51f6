"""Assessments: the whole answer to one medium."""

from __future__ import annotations

from typing import Any

from flask.views import MethodView

from saltcalc.answer.assessment import answer_assessment
from saltcalc.case.intake import readings_of
from saltcalc.service.body import Blueprint
from saltcalc.service.catalogues import assessment_of
from saltcalc.service.schemas.answers import AssessmentSchema
from saltcalc.service.schemas.requests import AssessmentRequestSchema

blueprint = Blueprint(
    "assessments",
    __name__,
    url_prefix="/v1",
    description="Is it salt, which crop stands it, and how to take it down.",
)


# Invented: a tub of reused coir and green-waste compost in a polytunnel on an estuary.
EXAMPLE = {
    "medium": {
        "extraction": "one_to_two",
        "ec": "1450 µS/cm",
        "substrate": "coir-green-compost",
    },
    "water": {"ec": "0.9 mS/cm"},
    "containers": [{"name": "tub", "volume": "40 L", "height": "30 cm", "drainage": "open"}],
    "crops": [{"crop": "French bean", "stage": "seedling"}],
    "observations": ["white_crust_when_dry", "stalled_at_first_leaves"],
}


@blueprint.route("/assessments")
class Assessments(MethodView):
    """The whole answer to one medium."""

    @blueprint.arguments(AssessmentRequestSchema, example=EXAMPLE)
    @blueprint.response(200, AssessmentSchema)
    def post(self, request: dict[str, Any]) -> dict[str, Any]:
        """Assess a medium."""
        return answer_assessment(assessment_of(request), list(readings_of(request)))
