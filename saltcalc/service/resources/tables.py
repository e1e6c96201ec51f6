"""The tables behind the answers: the crops and how they rank, the media, the methods, the signs."""

from __future__ import annotations

from typing import Any

from flask.views import MethodView
from werkzeug.exceptions import NotFound
from werkzeug.routing import UnicodeConverter

from saltcalc.case.intake import readings_of
from saltcalc.data.crop_lookup import without_figures
from saltcalc.data.crop_names import other_crops
from saltcalc.message import say
from saltcalc.parts import crop_listings, listings
from saltcalc.parts.answer import answer_ranking
from saltcalc.parts.crops.ranking import Ranking
from saltcalc.parts.shown import Joined
from saltcalc.service.body import Blueprint
from saltcalc.service.catalogues import assessment_of, crop_catalogue, named_crop
from saltcalc.service.contract import answer_schema, schema_of
from saltcalc.service.fields import UnknownIdError
from saltcalc.service.schemas import queries
from saltcalc.service.schemas.requests import RankingRequestSchema
from saltcalc.words.catalogue import sentence, words

crops = Blueprint("crops", __name__, url_prefix="/v1", description="Which crop tolerates how much.")
tables = Blueprint(
    "tables", __name__, url_prefix="/v1", description="The tables behind the answers."
)


# Invented: reused coir and green-waste compost in a polytunnel on an estuary.
_RANKED = {
    "medium": {
        "extraction": "one_to_two",
        "ec": {"value": 1.45, "unit": "dS/m"},
        "substrate": "coir_green_compost",
    },
    "stage": "seedling",
    "group": "vegetable",
}


@crops.route("/crops")
class Crops(MethodView):
    """The crops."""

    @crops.arguments(queries.CropFilterSchema, location="query")
    @crops.response(200, schema_of(crop_listings.CropListing)(many=True))
    def get(self, filters: dict[str, str]) -> list[crop_listings.CropListing]:
        """List the crops with their limits, all or those that fit."""
        return crop_listings.list_crops(crop_catalogue(), **filters)


@crops.route("/crops/ranking")
class CropRanking(MethodView):
    """The crops in the order in which they stand a medium."""

    @crops.arguments(RankingRequestSchema, example=_RANKED)
    @crops.response(200, answer_schema("RankingAnswer", Ranking))
    def post(self, request: dict[str, Any]) -> Joined:
        """Rank the crops in a medium, at its EC, sodium, chloride and boron."""
        medium = {"medium": request["medium"]}
        filters = {name: request[name] for name in ("group", "rating") if name in request}
        return answer_ranking(
            assessment_of(medium), list(readings_of(medium)), request["stage"], **filters
        )


class CropName(UnicodeConverter):
    """The name of a crop in a path; ``ranking`` is a resource of its own there."""

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.regex = f"(?!ranking$){self.regex}"


crops.record(lambda state: state.app.url_map.converters.update(crop=CropName))


@crops.route("/crops/<crop:name>")
class Crop(MethodView):
    """One crop."""

    @crops.response(200, schema_of(crop_listings.CropDetail))
    def get(self, name: str) -> crop_listings.CropDetail:
        """Return everything that is published of a crop, by its id or a name of it."""
        known = crop_catalogue().crops
        if name in known:
            return crop_listings.crop_detail(known[name])
        try:
            found = named_crop(name)
        except UnknownIdError as error:
            unknown = sentence("problem.no_single_crop", name=name[:100])
            raise NotFound(f"{unknown} {error}") from error
        if found not in (*known, *other_crops()):
            told = [say("problem.no_single_crop", name=name[:100])]
            near = [say("problem.near_matches", ids=list(found.near))] if found.near else []
            raise NotFound(words().say((*told, *near)))
        return crop_listings.crop_detail(known.get(found) or without_figures(found, name))


@crops.route("/stage-limits")
class StageLimits(MethodView):
    """Ranges of EC for container media by stage."""

    @crops.arguments(queries.StageLimitFilterSchema, location="query")
    @crops.response(200, schema_of(listings.StageLimitListing)(many=True))
    def get(self, filters: dict[str, str]) -> list[listings.StageLimitListing]:
        """List the published ranges by stage and extraction method, all or those that fit."""
        return listings.list_stage_limits(**filters)


@tables.route("/substrates")
class Substrates(MethodView):
    """The media."""

    @tables.response(200, schema_of(listings.SubstrateListing)(many=True))
    def get(self) -> list[listings.SubstrateListing]:
        """List the media and how much water each holds."""
        return listings.list_substrates()


@tables.route("/extraction-methods")
class ExtractionMethods(MethodView):
    """The extraction methods."""

    @tables.response(200, schema_of(listings.ExtractionMethodListing)(many=True))
    def get(self) -> list[listings.ExtractionMethodListing]:
        """List the extraction methods with their published classes."""
        return listings.list_extraction_methods()


@tables.route("/observations")
class Observations(MethodView):
    """The signs."""

    @tables.response(200, schema_of(listings.ObservationListing)(many=True))
    def get(self) -> list[listings.ObservationListing]:
        """List the signs that can be reported."""
        return listings.list_observations()


@tables.route("/sources")
class Sources(MethodView):
    """The sources."""

    @tables.response(200, schema_of(listings.SourceListing)(many=True))
    def get(self) -> list[listings.SourceListing]:
        """List every source that an answer may name."""
        known = crop_catalogue().crops.values()
        return listings.list_sources(crop.local_source for crop in known if crop.local_source)
