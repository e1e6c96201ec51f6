"""Small calculations on their own, with the same schemas and the same functions."""

from __future__ import annotations

from typing import Any

from flask.views import MethodView

from saltcalc.case.intake import readings_of
from saltcalc.parts.answer import (
    ALWAYS,
    BESIDE,
    ON_REQUEST,
    Answer,
    answer_conversion,
    answer_flush_plan,
    answer_ions,
    answer_leaching,
    answer_sodicity,
)
from saltcalc.parts.conversion import Conversion
from saltcalc.parts.shown import Chosen, Joined
from saltcalc.service.body import Blueprint
from saltcalc.service.catalogues import assessment_of
from saltcalc.service.contract import AnswerSchema, answer_schema, schema_of_parts
from saltcalc.service.schemas import requests
from saltcalc.service.schemas.queries import wanted_of, wanted_schema

calculations = Blueprint(
    "calculations", __name__, url_prefix="/v1", description="One part of the answer alone."
)
ions = Blueprint("ions", __name__, url_prefix="/v1", description="Which salts are dissolved.")

# Invented: the tub of the assessment's example, with what a laboratory reports of its extract.
_MEDIUM = {
    "extraction": "one_to_two",
    "ec": {"value": 1.45, "unit": "dS/m"},
    "substrate": "coir_green_compost",
    "ions": {
        "sodium": 130,
        "potassium": 110,
        "calcium": 60,
        "magnesium": 20,
        "chloride": 210,
        "sulfate_s": 60,
        "nitrate_n": 30,
        "bicarbonate": 80,
    },
}
_WATER = {
    "ec": {"value": 0.9, "unit": "dS/m"},
    "ions": {
        "sodium": 85,
        "calcium": 70,
        "magnesium": 12,
        "chloride": 120,
        "sulfate_s": 25,
        "nitrate_n": 3,
        "bicarbonate": 180,
    },
}
_CROP = {"crop": "bean", "stage": "seedling"}
_SOLUTIONS = {"medium": _MEDIUM, "water": _WATER}
_LEACHING = {"water": _WATER, "crops": [_CROP]}
_FLUSH = {
    "medium": _MEDIUM,
    "water": _WATER,
    "containers": [
        {
            "name": "tub",
            "volume": {"value": 40, "unit": "L"},
            "height": {"value": 30, "unit": "cm"},
            "drainage": "open",
        }
    ],
    "crops": [_CROP],
}
_CONVERSION = {
    "extraction": "one_to_two",
    "ec": {"value": 1.45, "unit": "dS/m"},
    "to": "saturated_media_extract",
    "substrate": "coir_green_compost",
}


def parts_schema(name: str, part: str) -> type[AnswerSchema]:
    """Return the schema of an answer that has one part."""
    return schema_of_parts(name, Answer, (part, *ON_REQUEST, *BESIDE, "intervals", *ALWAYS))


@calculations.route("/sodicity")
class Sodicity(MethodView):
    """Sodium hazard."""

    @calculations.arguments(requests.SolutionsRequestSchema, example=_SOLUTIONS)
    @calculations.arguments(wanted_schema(("sodicity", *ON_REQUEST)), location="query")
    @calculations.response(200, parts_schema("SodicityAnswer", "sodicity"))
    def post(self, request: dict[str, Any], query: dict[str, Any]) -> Chosen:
        """Compute the sodium hazard of a medium's extract, a water, or both."""
        return answer_sodicity(assessment_of(request), readings_of(request), wanted_of(query))


@calculations.route("/leaching-requirement")
class LeachingRequirement(MethodView):
    """Leaching requirement."""

    @calculations.arguments(requests.LeachingRequirementRequestSchema, example=_LEACHING)
    @calculations.arguments(wanted_schema(("leaching", *ON_REQUEST)), location="query")
    @calculations.response(200, parts_schema("LeachingRequirementAnswer", "leaching"))
    def post(self, request: dict[str, Any], query: dict[str, Any]) -> Chosen:
        """Compute the leaching requirement of crops with a water."""
        return answer_leaching(assessment_of(request), readings_of(request), wanted_of(query))


@calculations.route("/flush-plans")
class FlushPlans(MethodView):
    """Flush plans."""

    @calculations.arguments(requests.FlushPlanRequestSchema, example=_FLUSH)
    @calculations.arguments(wanted_schema(("flush_plan", *ON_REQUEST)), location="query")
    @calculations.response(200, parts_schema("FlushPlansAnswer", "flush_plan"))
    def post(self, request: dict[str, Any], query: dict[str, Any]) -> Chosen:
        """Plan the flush of containers."""
        return answer_flush_plan(assessment_of(request), readings_of(request), wanted_of(query))


@calculations.route("/conductivity/convert")
class ConductivityConvert(MethodView):
    """EC by another extraction method."""

    @calculations.arguments(requests.ConversionRequestSchema, example=_CONVERSION)
    @calculations.response(200, answer_schema("ConversionAnswer", Conversion))
    def post(self, request: dict[str, Any]) -> Joined:
        """Express an EC by another extraction method."""
        medium = {name: given for name, given in request.items() if name != "to"}
        labels = list(readings_of(request))
        return answer_conversion(assessment_of({"medium": medium}), request["to"], labels)


@ions.route("/ions")
class IonAnalyses(MethodView):
    """Which salt it is."""

    @ions.arguments(requests.SolutionsRequestSchema, example=_SOLUTIONS)
    @ions.arguments(wanted_schema(("ions", *ON_REQUEST)), location="query")
    @ions.response(200, parts_schema("IonsAnswer", "ions"))
    def post(self, request: dict[str, Any], query: dict[str, Any]) -> Chosen:
        """Read the ions of a medium's extract, of a water, or of both."""
        return answer_ions(assessment_of(request), readings_of(request), wanted_of(query))
