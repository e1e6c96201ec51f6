"""What comes in about a flush under way and about leaching fractions."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import marshmallow as ma

from saltcalc.case.batch import Samples
from saltcalc.service.fields import BoundedList, Quantity
from saltcalc.service.inputs import takes
from saltcalc.service.schemas.requests import (
    ComputedSchema,
    FlushPlanRequestSchema,
    MediumSchema,
    PlantingSchema,
    RequestSchema,
    SolutionSchema,
)
from saltcalc.units import EC, TEMPERATURE, VOLUME_OR_NONE, Measured
from saltcalc.words.catalogue import sentence

MOST_READINGS = 100
"""Passes of a flush under way (judgement)."""

MOST_APPLIED = 40.0
"""Water of all readings over the volume of the container, beyond which a unit slipped: twice what
any plan comes to (judgement)."""


class ReadingSchema(RequestSchema):
    """One pass that was done."""

    applied = Quantity(VOLUME_OR_NONE, "Water poured on one container.", required=True)
    drained = Quantity(VOLUME_OR_NONE, "Water that came out; what is not soaked up if left out.")
    ec_drainage = Quantity(EC, "EC of all the drainage of the pass, mixed.")
    temperature = Quantity(TEMPERATURE, "Temperature of that reading.")

    @ma.validates_schema
    def _drained_was_applied(self, reading: Mapping[str, Any], **_: Any) -> None:
        applied, drained = reading.get("applied"), reading.get("drained")
        if (
            isinstance(applied, Measured)
            and isinstance(drained, Measured)
            and drained.value > 2 * applied.value
        ):
            raise ma.ValidationError(sentence("problem.drained_too_much"), "drained")

    @ma.validates_schema
    def _drainage_was_there(self, reading: Mapping[str, Any], **_: Any) -> None:
        nothing = any(
            isinstance(reading.get(name), Measured) and reading[name].value == 0
            for name in ("applied", "drained")
        )
        if nothing and "ec_drainage" in reading:
            raise ma.ValidationError(sentence("problem.nothing_drained"), "ec_drainage")

    @ma.validates_schema
    def _drainage_reads_something(self, reading: Mapping[str, Any], **_: Any) -> None:
        ec = reading.get("ec_drainage")
        if isinstance(ec, Measured) and ec.value <= 0:
            raise ma.ValidationError(sentence("problem.drainage_of_zero"), "ec_drainage")


class ProgressRequestSchema(FlushPlanRequestSchema):
    """A flush under way: the medium as it was before, one kind of container, the passes so far."""

    readings = BoundedList(
        ma.fields.Nested(ReadingSchema),
        required=True,
        validate=ma.validate.Length(min=1, max=MOST_READINGS),
    )

    @ma.validates_schema
    def _one_container(self, request: Mapping[str, Any], **_: Any) -> None:
        if len(request.get("containers", [])) != 1:
            raise ma.ValidationError(sentence("problem.one_container"), "containers")

    @ma.validates_schema(skip_on_field_errors=True)
    def _applied_fits_the_container(self, request: Mapping[str, Any], **_: Any) -> None:
        volume, poured = request["containers"][0]["volume"].value, 0.0
        for place, reading in enumerate(request["readings"]):
            poured += reading["applied"].value
            if poured > MOST_APPLIED * volume:
                fault = sentence(
                    "problem.poured_too_much", poured=poured, volume=volume, most=MOST_APPLIED
                )
                raise ma.ValidationError({"readings": {place: {"applied": [fault]}}})

    @ma.validates_schema
    def _something_was_read(self, request: Mapping[str, Any], **_: Any) -> None:
        readings = request.get("readings", [])
        if readings and not any("ec_drainage" in reading for reading in readings):
            raise ma.ValidationError(sentence("problem.no_drainage_read"), "readings")


class PotSchema(RequestSchema):
    """What one pot got and gave."""

    name = ma.fields.String(
        validate=ma.validate.Length(1, 100), metadata={"description": "Any name for it."}
    )
    applied = Quantity(VOLUME_OR_NONE, "Water that entered the pot.")
    collected = Quantity(VOLUME_OR_NONE, "Water that drained from it.")
    ec_applied = Quantity(EC, "EC of the water or feed applied.")
    temperature_applied = Quantity(TEMPERATURE, "Temperature of that reading.")
    ec_drainage = Quantity(EC, "EC of the drainage.")
    temperature_drainage = Quantity(TEMPERATURE, "Temperature of that reading.")

    @ma.validates_schema
    def _a_pair_is_there(self, pot: Mapping[str, Any], **_: Any) -> None:
        pairs = (("applied", "collected"), ("ec_applied", "ec_drainage"))
        if not any(all(name in pot for name in pair) for pair in pairs):
            raise ma.ValidationError(sentence("problem.no_pair"), "applied")


@takes(Samples, "", "feed_ec")
class LeachingFractionRequestSchema(ComputedSchema):
    """Pots of one irrigation, or of several; crops and water tell how much should drain."""

    medium = ma.fields.Nested(MediumSchema)
    water = ma.fields.Nested(
        SolutionSchema,
        metadata={"description": "Water given; what the pots got on the average if left out."},
    )
    crops = BoundedList(ma.fields.Nested(PlantingSchema), validate=ma.validate.Length(max=100))
    pots = BoundedList(
        ma.fields.Nested(PotSchema), required=True, validate=ma.validate.Length(min=1, max=1000)
    )
