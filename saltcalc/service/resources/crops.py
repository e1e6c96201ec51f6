"""Crops: the table behind the verdicts."""

from __future__ import annotations

from typing import Any

from flask.views import MethodView
from werkzeug.exceptions import NotFound

from saltcalc.answer.crop_ranking import answer_crop_ranking
from saltcalc.answer.crop_tables import crop_detail, crop_listing, stage_limit_listing
from saltcalc.case.intake import readings_of
from saltcalc.data.crops import UnknownCropError
from saltcalc.service.body import Blueprint
from saltcalc.service.catalogues import assessment_of, crop_catalogue
from saltcalc.service.schemas import crops as schemas

blueprint = Blueprint(
    "crops", __name__, url_prefix="/v1", description="Which crop stands how much."
)


@blueprint.route("/crops")
class Crops(MethodView):
    """The crops."""

    @blueprint.arguments(schemas.CropFilterSchema, location="query")
    @blueprint.response(200, schemas.CropListingSchema(many=True))
    def get(self, filters: dict[str, str]) -> list[dict[str, Any]]:
        """List the crops with their limits, all or those that fit."""
        return crop_listing(crop_catalogue(), **filters)


@blueprint.route("/crops/ranking")
class CropRanking(MethodView):
    """The crops in the order in which they stand a medium."""

    @blueprint.arguments(schemas.RankingRequestSchema)
    @blueprint.response(200, schemas.RankingAnswerSchema)
    def post(self, request: dict[str, Any]) -> dict[str, Any]:
        """Rank the crops in a medium, at its EC, sodium, chloride and boron."""
        medium = {"medium": request["medium"]}
        filters = {name: request[name] for name in ("group", "rating") if name in request}
        return answer_crop_ranking(
            assessment_of(medium),
            list(readings_of(medium)),
            request["stage"],
            **filters,
        )


@blueprint.route("/crops/<string:name>")
class Crop(MethodView):
    """One crop."""

    @blueprint.response(200, schemas.CropDetailSchema)
    def get(self, name: str) -> dict[str, Any]:
        """Return everything that is published of a crop, by its id or a name of it."""
        try:
            return crop_detail(crop_catalogue().find(name))
        except UnknownCropError as error:
            near = f" Near matches: {', '.join(error.near)}." if error.near else ""
            raise NotFound(f"No single crop is named '{name[:100]}'.{near}") from error


@blueprint.route("/stage-limits")
class StageLimits(MethodView):
    """Ranges of EC for container media by stage."""

    @blueprint.arguments(schemas.StageLimitFilterSchema, location="query")
    @blueprint.response(200, schemas.StageLimitListingSchema(many=True))
    def get(self, filters: dict[str, str]) -> list[dict[str, Any]]:
        """List the published ranges by stage and extraction method, all or those that fit."""
        return stage_limit_listing(**filters)
