"""What comes in about a flush under way and about leaching fractions."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import marshmallow as ma

from saltcalc.case.batch import Samples
from saltcalc.quantities import Measured
from saltcalc.service.fields import Quantity, list_of
from saltcalc.service.inputs import takes
from saltcalc.service.schemas.basis import ComputedSchema, RequestSchema
from saltcalc.service.schemas.medium import ContainerSchema, MediumSchema, SolutionSchema
from saltcalc.service.schemas.requests import FlushPlanRequestSchema, PlantingSchema
from saltcalc.units import EC, TEMPERATURE, TIME_AFTER, VOLUME_OR_NONE
from saltcalc.words.catalogue import sentence

MOST_READINGS = 100
"""Passes of a flush under way (judgement)."""

MOST_APPLIED = 40.0
"""Water of all readings over the volume of the container, beyond which a unit slipped: twice what
any plan comes to (judgement)."""


class ReadingSchema(RequestSchema):
    """One pass that was done, one reading of the medium, or both; the medium is read first."""

    applied = Quantity(VOLUME_OR_NONE, "Water poured on one container; none if left out.")
    drained = Quantity(VOLUME_OR_NONE, "Water that came out; what is not soaked up if left out.")
    ec_drainage = Quantity(EC, "EC of all the drainage of the pass, mixed.")
    temperature = Quantity(TEMPERATURE, "Temperature of that reading.")
    ec_own = Quantity(
        EC,
        "EC of the medium by its own extraction method, before the water of this pass. Give each "
        "pot of one check as a reading of its own: the highest counts.",
    )
    temperature_own = Quantity(TEMPERATURE, "Temperature of that reading.")
    minutes_after = Quantity(
        TIME_AFTER, "When, from the first of them; as the schedule has it if left out."
    )
    at = ma.fields.NaiveDateTime(
        format="iso", metadata={"description": "The same by the clock, such as 2026-03-01T08:30."}
    )

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
        nothing = "applied" not in reading or any(
            isinstance(reading.get(name), Measured) and reading[name].value == 0
            for name in ("applied", "drained")
        )
        if nothing and "ec_drainage" in reading:
            raise ma.ValidationError(sentence("problem.nothing_drained"), "ec_drainage")

    @ma.validates_schema
    def _reads_something(self, reading: Mapping[str, Any], **_: Any) -> None:
        for name in ("ec_drainage", "ec_own"):
            ec = reading.get(name)
            if isinstance(ec, Measured) and ec.value <= 0:
                raise ma.ValidationError(sentence("problem.reading_of_zero"), name)

    @ma.validates_schema
    def _something_was_done(self, reading: Mapping[str, Any], **_: Any) -> None:
        if not reading.keys() & {"applied", "ec_own"}:
            raise ma.ValidationError(sentence("problem.nothing_done"), "applied")

    @ma.validates_schema
    def _one_time(self, reading: Mapping[str, Any], **_: Any) -> None:
        if "at" in reading and "minutes_after" in reading:
            raise ma.ValidationError(sentence("problem.time_twice"), "at")


class ProgressRequestSchema(FlushPlanRequestSchema):
    """A flush under way: the medium as it was before, one kind of container, the passes so far."""

    readings = list_of(ReadingSchema, MOST_READINGS, 1, required=True)

    @ma.validates_schema
    def _one_container(self, request: Mapping[str, Any], **_: Any) -> None:
        if len(request.get("containers", [])) != 1:
            raise ma.ValidationError(sentence("problem.one_container"), "containers")

    @ma.validates_schema(skip_on_field_errors=True)
    def _applied_fits_the_container(self, request: Mapping[str, Any], **_: Any) -> None:
        volume, poured = request["containers"][0]["volume"].value, 0.0
        for place, reading in enumerate(request["readings"]):
            poured += reading["applied"].value if "applied" in reading else 0.0
            if poured > MOST_APPLIED * volume:
                fault = sentence(
                    "problem.poured_too_much", poured=poured, volume=volume, most=MOST_APPLIED
                )
                raise ma.ValidationError({"readings": {place: {"applied": [fault]}}})

    @ma.validates_schema
    def _something_was_read(self, request: Mapping[str, Any], **_: Any) -> None:
        readings = request.get("readings", [])
        if readings and not any(each.keys() & {"ec_drainage", "ec_own"} for each in readings):
            raise ma.ValidationError(sentence("problem.no_drainage_read"), "readings")

    @ma.post_load
    def _by_one_clock(self, request: dict[str, Any], **_: Any) -> dict[str, Any]:
        """Tell every time in hours from the first that was told, none before another."""
        first = next((each["at"] for each in request["readings"] if "at" in each), None)
        timed, last = [], 0.0
        for place, reading in enumerate(request["readings"]):
            timed.append(dict(reading))
            if "at" in reading:
                hours = (timed[-1].pop("at") - first).total_seconds() / 3600.0
                timed[-1]["minutes_after"] = hours
            elif "minutes_after" in reading:
                hours = reading["minutes_after"].value
            else:
                continue
            if hours < last:
                fault = {
                    "at" if "at" in reading else "minutes_after": [
                        sentence("problem.time_goes_back")
                    ]
                }
                raise ma.ValidationError({"readings": {place: fault}})
            last = hours
        return request | {"readings": timed}


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
    crops = list_of(PlantingSchema, 100)
    containers = list_of(ContainerSchema, 100)
    pots = list_of(PotSchema, 1000, 1, required=True)
