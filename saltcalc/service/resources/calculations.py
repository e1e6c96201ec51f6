"""Small calculations on their own, with the same schemas and the same functions."""

from __future__ import annotations

from typing import Any

from flask.views import MethodView

from saltcalc.answer import parts
from saltcalc.case.intake import readings_of
from saltcalc.parts.conversion import Conversion
from saltcalc.parts.flush.show import FlushPlansAlone
from saltcalc.parts.shown import Joined
from saltcalc.parts.sodicity import SodicityAlone
from saltcalc.service.body import Blueprint
from saltcalc.service.catalogues import assessment_of
from saltcalc.service.contract import answer_schema
from saltcalc.service.schemas import answers, requests

blueprint = Blueprint(
    "calculations", __name__, url_prefix="/v1", description="One part of the answer alone."
)


@blueprint.route("/sodicity")
class Sodicity(MethodView):
    """Sodium hazard."""

    @blueprint.arguments(requests.SolutionsRequestSchema)
    @blueprint.response(200, answer_schema("SodicityAnswer", SodicityAlone))
    def post(self, request: dict[str, Any]) -> Joined:
        """Compute the sodium hazard of a medium's extract, a water, or both."""
        return parts.sodicity_alone(assessment_of(request), list(readings_of(request)))


@blueprint.route("/leaching-requirement")
class LeachingRequirement(MethodView):
    """Leaching requirement."""

    @blueprint.arguments(requests.LeachingRequirementRequestSchema)
    @blueprint.response(200, answers.LeachingRequirementAnswerSchema)
    def post(self, request: dict[str, Any]) -> dict[str, Any]:
        """Compute the leaching requirement of crops with a water."""
        return parts.leaching_alone(assessment_of(request), list(readings_of(request)))


@blueprint.route("/flush-plans")
class FlushPlans(MethodView):
    """Flush plans."""

    @blueprint.arguments(requests.FlushPlanRequestSchema)
    @blueprint.response(200, answer_schema("FlushPlansAnswer", FlushPlansAlone))
    def post(self, request: dict[str, Any]) -> Joined:
        """Plan the flush of containers."""
        return parts.flush_plan_alone(assessment_of(request), list(readings_of(request)))


@blueprint.route("/conductivity/convert")
class ConductivityConvert(MethodView):
    """EC by another extraction method."""

    @blueprint.arguments(requests.ConversionRequestSchema)
    @blueprint.response(200, answer_schema("ConversionAnswer", Conversion))
    def post(self, request: dict[str, Any]) -> Joined:
        """Express an EC by another extraction method."""
        medium = {name: given for name, given in request.items() if name != "to"}
        labels = list(readings_of(request))
        return parts.conversion_alone(assessment_of({"medium": medium}), request["to"], labels)
