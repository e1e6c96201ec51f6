"""The whole answer to one medium, and several media side by side."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import accumulate, pairwise
from typing import Any

from flask.views import MethodView

from saltcalc.case.intake import readings_of
from saltcalc.case.nitrogen import nitrogen_parted
from saltcalc.case.trial import as_evidence, outcomes_of, trial_of, with_age, with_crops
from saltcalc.parts.answer import (
    ALWAYS,
    BESIDE,
    OF_ASSESSMENT,
    ON_REQUEST,
    Answer,
    Wanted,
    answer_assessment,
)
from saltcalc.parts.comparison import OF_COMPARISON, ComparisonAnswer, answer_comparison
from saltcalc.parts.shown import Chosen
from saltcalc.parts.trial.reading import Reading
from saltcalc.parts.trial.tried import Tried
from saltcalc.service.body import JSON, Blueprint, wanted_form
from saltcalc.service.catalogues import assessment_of, with_ends
from saltcalc.service.contract import schema_of_parts
from saltcalc.service.pages.numbered import numbered
from saltcalc.service.pages.sheets import (
    in_markdown,
    in_text,
    on_paper,
    trial_in_markdown,
    trial_in_text,
)
from saltcalc.service.pages.trial_sheet import trial_on_paper
from saltcalc.service.pages.view import WHOLE, report, trial_report
from saltcalc.service.sample import ComparedSamples
from saltcalc.service.schemas.queries import wanted_of, wanted_schema
from saltcalc.service.schemas.requests import AssessmentRequestSchema, ComparisonRequestSchema

assessments = Blueprint(
    "assessments",
    __name__,
    url_prefix="/v1",
    description="Is it salt, which crop tolerates it, and how to take it down.",
)
comparisons = Blueprint(
    "comparisons", __name__, url_prefix="/v1", description="Several media side by side."
)


# Invented: a tub of reused coir and green-waste compost in a polytunnel on an estuary.
EXAMPLE = {
    "medium": {
        "extraction": "one_to_two",
        "ec": "1450 µS/cm",
        "substrate": "coir_green_compost",
    },
    "water": {"ec": "0.9 mS/cm"},
    "containers": [{"name": "tub", "volume": "40 L", "height": "30 cm", "drainage": "open"}],
    "crops": [{"crop": "French bean", "stage": "seedling"}],
    "observations": ["white_crust_when_dry", "stalled_at_first_leaves"],
}

# Invented: the same mix where beans stall and fresh from the bag.
_COMPARED = {
    "media": [
        {
            "name": "where beans stall",
            "sample_id": "tunnel-1",
            "sampled_on": "2025-04-02",
            "medium": {
                "extraction": "one_to_two",
                "ec": {"value": 1.45, "unit": "dS/m"},
                "substrate": "coir_green_compost",
            },
            "observations": ["stalled_at_first_leaves"],
        },
        {
            "name": "fresh from the bag",
            "medium": {
                "extraction": "one_to_two",
                "ec": {"value": 0.5, "unit": "dS/m"},
                "substrate": "coir_green_compost",
            },
        },
    ],
    "water": {"ec": {"value": 0.9, "unit": "dS/m"}},
    "containers": [{"name": "tub", "volume": {"value": 40, "unit": "L"}, "drainage": "open"}],
    "crops": [{"crop": "bean", "stage": "seedling"}],
}


ASSESSMENT = schema_of_parts(
    "Assessment", Answer, (*OF_ASSESSMENT, *ON_REQUEST, *BESIDE, "intervals", *ALWAYS)
)
COMPARISON = schema_of_parts(
    "ComparisonAnswer",
    ComparisonAnswer,
    (*OF_COMPARISON, *BESIDE, "intervals", *ALWAYS),
    ComparedSamples,
)


FORMS = {
    "text/html": report,
    "text/plain": in_text,
    "text/markdown": in_markdown,
    "application/pdf": on_paper,
}
"""The media types of an answer besides JSON, each with what makes it."""

TRIAL_FORMS = {
    "text/html": trial_report,
    "text/plain": trial_in_text,
    "text/markdown": trial_in_markdown,
    "application/pdf": trial_on_paper,
}
BY_NUMBER = ("text/html", "application/pdf")
"""Forms that are printed, in which many media go by their numbers."""


def assessed(request: dict[str, Any], wanted: Wanted) -> Chosen:
    """Return the answer to a loaded request."""
    return answer_assessment(with_ends(request), readings_of(request), wanted=wanted)


def compared(request: Mapping[str, Any], wanted: Wanted) -> Chosen:
    """Return the answer to a loaded request of several media."""
    media = as_evidence(request["media"])
    shared = {name: given for name, given in request.items() if name != "media"}
    shared["crops"] = with_crops(shared.get("crops", []), media)
    trial = trial_of(shared)
    shared = with_age(shared, trial)
    parted = [nitrogen_parted(each["medium"]) for each in media]
    requests = [
        shared | medium | {"medium": each}
        for medium, forms in zip(media, parted, strict=True)
        for each in forms
    ]
    first = list(accumulate((len(forms) for forms in parted), initial=0))
    tried = [
        Tried(each["name"], tuple(range(start, end)), outcomes_of(each), "containers" in each)
        for each, (start, end) in zip(media, pairwise(first), strict=True)
    ]
    return answer_comparison(
        Reading(assessment_of(*requests), tried, trial),
        [list(readings_of(shared | each)) for each in media],
        wanted,
    )


@assessments.route("/assessments")
class Assessments(MethodView):
    """The whole answer to one medium."""

    @assessments.arguments(AssessmentRequestSchema, example=EXAMPLE)
    @assessments.arguments(wanted_schema((*OF_ASSESSMENT, *ON_REQUEST)), location="query")
    @assessments.response(200, ASSESSMENT, forms=FORMS)
    def post(self, request: dict[str, Any], query: dict[str, Any]) -> Chosen:
        """Assess a medium."""
        in_parts = wanted_form(FORMS) == JSON
        return assessed(request, wanted_of(query) if in_parts else WHOLE)


@comparisons.route("/comparisons")
class Comparisons(MethodView):
    """Several media side by side."""

    @comparisons.arguments(ComparisonRequestSchema, example=_COMPARED)
    @comparisons.arguments(wanted_schema(OF_COMPARISON), location="query")
    @comparisons.response(200, COMPARISON, forms=TRIAL_FORMS)
    def post(self, request: dict[str, Any], query: dict[str, Any]) -> Chosen:
        """Compare 2 to 50 media with the same water and crops, and read how crops fared in them."""
        form = wanted_form(TRIAL_FORMS)
        if form in BY_NUMBER:
            request = numbered(request)
        return compared(request, wanted_of(query) if form == JSON else Wanted())
