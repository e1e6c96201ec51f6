"""Comparisons: several media side by side."""

from __future__ import annotations

from typing import Any

from flask.views import MethodView

from saltcalc.answer.comparison import answer_comparison
from saltcalc.case.intake import readings_of
from saltcalc.service.body import Blueprint
from saltcalc.service.catalogues import assessment_of
from saltcalc.service.schemas.comparisons import (
    ComparisonAnswerSchema,
    ComparisonRequestSchema,
    media_names,
)

blueprint = Blueprint(
    "comparisons", __name__, url_prefix="/v1", description="Several media side by side."
)


@blueprint.route("/comparisons")
class Comparisons(MethodView):
    """Several media side by side."""

    @blueprint.arguments(ComparisonRequestSchema)
    @blueprint.response(200, ComparisonAnswerSchema)
    def post(self, request: dict[str, Any]) -> dict[str, Any]:
        """Compare 2 to 50 media with the same water, containers and crops."""
        media = request.pop("media")
        requests = [request | medium for medium in media]
        assessment = assessment_of(*requests)
        return answer_comparison(
            assessment, media_names(media), [list(readings_of(each)) for each in requests]
        )
