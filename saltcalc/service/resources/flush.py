"""A flush under way, and the leaching fraction of pots."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from flask.views import MethodView

from saltcalc.answer.assessment import state_readings
from saltcalc.answer.assumptions import state_reading_temperatures
from saltcalc.answer.flush_progress import answer_progress
from saltcalc.case.batch import FloatArray
from saltcalc.parts.assessment import assess
from saltcalc.parts.leaching import LeachingFractions, leaching_fractions
from saltcalc.parts.notes import Notes
from saltcalc.parts.readings import ec_readings
from saltcalc.parts.shown import Joined
from saltcalc.service.body import Blueprint
from saltcalc.service.catalogues import crop_rows
from saltcalc.service.contract import answer_schema
from saltcalc.service.intake import batch_of, labels_of
from saltcalc.service.schemas.flush import ProgressAnswerSchema
from saltcalc.service.schemas.flush_requests import (
    LeachingFractionRequestSchema,
    ProgressRequestSchema,
)

blueprint = Blueprint(
    "flush", __name__, url_prefix="/v1", description="Following a flush, and what drains."
)


@blueprint.route("/flush-plans/progress")
class FlushProgress(MethodView):
    """A flush under way."""

    @blueprint.arguments(ProgressRequestSchema)
    @blueprint.response(200, ProgressAnswerSchema)
    def post(self, request: dict[str, Any]) -> dict[str, Any]:
        """Re-estimate a flush from the drainage of the passes so far."""
        readings = request["readings"]
        return answer_progress(
            assess(batch_of([request]), crop_rows()),
            labels_of(request),
            _column(readings, "applied"),
            _column(readings, "drained"),
            ec_readings(_column(readings, "ec_drainage"), _column(readings, "temperature")),
        )


@blueprint.route("/leaching-fraction")
class LeachingFraction(MethodView):
    """Leaching fraction."""

    @blueprint.arguments(LeachingFractionRequestSchema)
    @blueprint.response(200, answer_schema("LeachingFractionAnswer", LeachingFractions))
    def post(self, request: dict[str, Any]) -> Joined:
        """Compute the leaching fraction of pots from volumes and from EC."""
        pots = request["pots"]
        water = ec_readings(_column(pots, "ec_applied"), _column(pots, "temperature_applied"))
        drainage = ec_readings(_column(pots, "ec_drainage"), _column(pots, "temperature_drainage"))
        notes = Notes()
        state_readings(labels_of(request), notes)
        state_reading_temperatures(water, "pots", "temperature_applied", notes)
        state_reading_temperatures(drainage, "pots", "temperature_drainage", notes)
        answer = leaching_fractions(
            [pot.get("name") for pot in pots],
            _column(pots, "applied"),
            _column(pots, "collected"),
            water,
            drainage,
            notes,
        )
        return notes.close(answer)


def _column(rows: Sequence[dict[str, Any]], name: str) -> FloatArray:
    return np.array([row[name].value if name in row else np.nan for row in rows])
