"""How an answer is written: what comes in beside the request."""

from __future__ import annotations

from typing import Any

import marshmallow as ma

from saltcalc.service.fields import Choice
from saltcalc.words.reader import tell_to
from saltcalc.words.unit_systems import METRIC, SYSTEMS


class AnswerFormSchema(ma.Schema):
    """How the answer is written: the query parameters of every operation that computes."""

    units = Choice(
        SYSTEMS,
        "Units of the answer, in its sentences too. `us`: US gallons (fluid ounces where a "
        "sentence tells a small volume), inches, °F, ounces, and pounds in a cubic yard of medium; "
        "EC, concentrations and what a laboratory weighs stay. `metric` if left out.",
    )

    @ma.post_load
    def _set_aside(self, form: dict[str, Any], **_: Any) -> dict[str, Any]:
        """Tell the answer so; no view computes with it."""
        tell_to(units=form.pop("units", METRIC))
        return form
