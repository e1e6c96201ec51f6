"""Which salt it is, alone."""

from __future__ import annotations

from typing import Any

from flask.views import MethodView

from saltcalc.answer.parts import ions_alone
from saltcalc.case.intake import readings_of
from saltcalc.parts.ions.show import IonsAlone
from saltcalc.parts.shown import Joined
from saltcalc.service.body import Blueprint
from saltcalc.service.catalogues import assessment_of
from saltcalc.service.contract import answer_schema
from saltcalc.service.schemas.requests import SolutionsRequestSchema

blueprint = Blueprint("ions", __name__, url_prefix="/v1", description="Which salts are dissolved.")


@blueprint.route("/ions")
class IonAnalyses(MethodView):
    """Which salt it is."""

    @blueprint.arguments(SolutionsRequestSchema)
    @blueprint.response(200, answer_schema("IonsAnswer", IonsAlone))
    def post(self, request: dict[str, Any]) -> Joined:
        """Read the ions of a medium's extract, of a water, or of both."""
        return ions_alone(assessment_of(request), list(readings_of(request)))
