"""The tables behind the answers."""

from __future__ import annotations

from typing import Any

from flask.views import MethodView

from saltcalc.answer import listings
from saltcalc.service.body import Blueprint
from saltcalc.service.catalogues import crop_catalogue
from saltcalc.service.schemas import listings as schemas

blueprint = Blueprint(
    "tables", __name__, url_prefix="/v1", description="The tables behind the answers."
)


@blueprint.route("/substrates")
class Substrates(MethodView):
    """The media."""

    @blueprint.response(200, schemas.SubstrateListingSchema(many=True))
    def get(self) -> list[dict[str, Any]]:
        """List the media and how much water each holds."""
        return listings.substrate_listing()


@blueprint.route("/extraction-methods")
class ExtractionMethods(MethodView):
    """The extraction methods."""

    @blueprint.response(200, schemas.ExtractionMethodListingSchema(many=True))
    def get(self) -> list[dict[str, Any]]:
        """List the extraction methods with their published classes."""
        return listings.extraction_method_listing()


@blueprint.route("/observations")
class Observations(MethodView):
    """The signs."""

    @blueprint.response(200, schemas.ObservationListingSchema(many=True))
    def get(self) -> list[dict[str, Any]]:
        """List the signs that can be reported."""
        return listings.observation_listing()


@blueprint.route("/sources")
class Sources(MethodView):
    """The sources."""

    @blueprint.response(200, schemas.SourceListingSchema(many=True))
    def get(self) -> list[dict[str, Any]]:
        """List every source that an answer may name."""
        crops = crop_catalogue().crops.values()
        local = dict.fromkeys(crop.local_source for crop in crops if crop.local_source)
        return listings.source_listing(local)
