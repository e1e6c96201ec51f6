"""A flush under way, and the leaching fraction of pots."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from flask.views import MethodView

from saltcalc.case.intake import column_of, readings_of
from saltcalc.parts.answer import answer_leaching_fractions, answer_progress
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.assumptions import ec_readings
from saltcalc.parts.flush.progress import PassesDone, ProgressAlone
from saltcalc.parts.leaching_fraction import LeachingFractions, PotWater
from saltcalc.parts.shown import Joined
from saltcalc.quantities import Measured
from saltcalc.service.body import Blueprint
from saltcalc.service.catalogues import assessment_of
from saltcalc.service.contract import answer_schema
from saltcalc.service.schemas.flush_requests import (
    LeachingFractionRequestSchema,
    ProgressRequestSchema,
)

blueprint = Blueprint(
    "flush", __name__, url_prefix="/v1", description="Following a flush, and what drains."
)

# Invented: the first two passes of the flush of a tub in a polytunnel on an estuary.
_PROGRESS = {
    "medium": {
        "extraction": "one_to_two",
        "ec": {"value": 1.45, "unit": "dS/m"},
        "substrate": "coir_green_compost",
    },
    "water": {"ec": {"value": 0.4, "unit": "dS/m"}},
    "containers": [
        {
            "volume": {"value": 40, "unit": "L"},
            "height": {"value": 30, "unit": "cm"},
            "drainage": "open",
        }
    ],
    "readings": [
        {
            "applied": {"value": 8, "unit": "L"},
            "drained": {"value": 7.2, "unit": "L"},
            "ec_drainage": {"value": 4.1, "unit": "dS/m"},
        },
        {
            "applied": {"value": 8, "unit": "L"},
            "drained": {"value": 7.8, "unit": "L"},
            "ec_drainage": {"value": 3.2, "unit": "dS/m"},
        },
    ],
}
_POTS = {
    "pots": [
        {
            "name": "by the door",
            "applied": {"value": 2, "unit": "L"},
            "collected": {"value": 0.3, "unit": "L"},
            "ec_applied": {"value": 0.9, "unit": "dS/m"},
            "ec_drainage": {"value": 4.5, "unit": "dS/m"},
        }
    ],
    "crops": [{"crop": "bean", "stage": "seedling"}],
}


def progress_of(request: Mapping[str, Any], assessment: Assessment) -> Joined:
    """Return what the readings of a loaded request come to, by the plan of an assessment."""
    readings = request["readings"]
    drainage, own = (
        ec_readings(column_of(readings, ec), column_of(readings, temperature))
        for ec, temperature in (("ec_drainage", "temperature"), ("ec_own", "temperature_own"))
    )
    done = PassesDone(
        np.nan_to_num(column_of(readings, "applied")),
        column_of(readings, "drained"),
        drainage.ec,
        own.ec,
        column_of(readings, "minutes_after"),
    )
    return answer_progress(
        assessment,
        list(readings_of(request)),
        done,
        (drainage, "temperature"),
        (own, "temperature_own"),
    )


@blueprint.route("/flush-plans/progress")
class FlushProgress(MethodView):
    """A flush under way."""

    @blueprint.arguments(ProgressRequestSchema, example=_PROGRESS)
    @blueprint.response(200, answer_schema("ProgressAnswer", ProgressAlone))
    def post(self, request: dict[str, Any]) -> Joined:
        """Judge a flush from its readings so far, and say what to do next."""
        return progress_of(request, assessment_of(request))


@blueprint.route("/leaching-fraction")
class LeachingFraction(MethodView):
    """Leaching fraction."""

    @blueprint.arguments(LeachingFractionRequestSchema, example=_POTS)
    @blueprint.response(200, answer_schema("LeachingFractionAnswer", LeachingFractions))
    def post(self, request: dict[str, Any]) -> Joined:
        """Compute the leaching fraction of pots from volumes and from EC."""
        pots = request["pots"]
        water = ec_readings(column_of(pots, "ec_applied"), column_of(pots, "temperature_applied"))
        drainage = ec_readings(
            column_of(pots, "ec_drainage"), column_of(pots, "temperature_drainage")
        )
        mean = np.nanmean(water.ec) if np.any(~np.isnan(water.ec)) else None
        given = {} if mean is None else {"water": {"ec": Measured(float(mean))}}
        return answer_leaching_fractions(
            assessment_of(given | request),
            list(readings_of(request)),
            PotWater(
                [pot.get("name") for pot in pots],
                column_of(pots, "applied"),
                column_of(pots, "collected"),
                water,
                drainage,
            ),
        )
