"""Small calculations on their own, with the same schemas and the same functions."""

from __future__ import annotations

from typing import Any

from flask.views import MethodView

from saltcalc.case.intake import readings_of
from saltcalc.parts.answer import (
    answer_conversion,
    answer_flush_plan,
    answer_ions,
    answer_leaching,
    answer_sodicity,
)
from saltcalc.parts.conversion import Conversion
from saltcalc.parts.flush.show import FlushPlansAlone
from saltcalc.parts.ions.show import IonsAlone
from saltcalc.parts.leaching import LeachingAlone
from saltcalc.parts.shown import Joined
from saltcalc.parts.sodicity import SodicityAlone
from saltcalc.service.body import Blueprint
from saltcalc.service.catalogues import assessment_of
from saltcalc.service.contract import answer_schema
from saltcalc.service.schemas import requests

calculations = Blueprint(
    "calculations", __name__, url_prefix="/v1", description="One part of the answer alone."
)
ions = Blueprint("ions", __name__, url_prefix="/v1", description="Which salts are dissolved.")


@calculations.route("/sodicity")
class Sodicity(MethodView):
    """Sodium hazard."""

    @calculations.arguments(requests.SolutionsRequestSchema)
    @calculations.response(200, answer_schema("SodicityAnswer", SodicityAlone))
    def post(self, request: dict[str, Any]) -> Joined:
        """Compute the sodium hazard of a medium's extract, a water, or both."""
        return answer_sodicity(assessment_of(request), list(readings_of(request)))


@calculations.route("/leaching-requirement")
class LeachingRequirement(MethodView):
    """Leaching requirement."""

    @calculations.arguments(requests.LeachingRequirementRequestSchema)
    @calculations.response(200, answer_schema("LeachingRequirementAnswer", LeachingAlone))
    def post(self, request: dict[str, Any]) -> Joined:
        """Compute the leaching requirement of crops with a water."""
        return answer_leaching(assessment_of(request), list(readings_of(request)))


@calculations.route("/flush-plans")
class FlushPlans(MethodView):
    """Flush plans."""

    @calculations.arguments(requests.FlushPlanRequestSchema)
    @calculations.response(200, answer_schema("FlushPlansAnswer", FlushPlansAlone))
    def post(self, request: dict[str, Any]) -> Joined:
        """Plan the flush of containers."""
        return answer_flush_plan(assessment_of(request), list(readings_of(request)))


@calculations.route("/conductivity/convert")
class ConductivityConvert(MethodView):
    """EC by another extraction method."""

    @calculations.arguments(requests.ConversionRequestSchema)
    @calculations.response(200, answer_schema("ConversionAnswer", Conversion))
    def post(self, request: dict[str, Any]) -> Joined:
        """Express an EC by another extraction method."""
        medium = {name: given for name, given in request.items() if name != "to"}
        labels = list(readings_of(request))
        return answer_conversion(assessment_of({"medium": medium}), request["to"], labels)


@ions.route("/ions")
class IonAnalyses(MethodView):
    """Which salt it is."""

    @ions.arguments(requests.SolutionsRequestSchema)
    @ions.response(200, answer_schema("IonsAnswer", IonsAlone))
    def post(self, request: dict[str, Any]) -> Joined:
        """Read the ions of a medium's extract, of a water, or of both."""
        return answer_ions(assessment_of(request), list(readings_of(request)))
