"""What goes out of the sodium hazard."""

from __future__ import annotations

import marshmallow as ma

from saltcalc.service.schemas.common import (
    AnswerSchema,
    ClosingSchema,
    QuantityAnswerSchema,
    RangeSchema,
    quantity,
    source_keys,
)


class AdjustedSarSchema(QuantityAnswerSchema):
    """Adjusted SAR, with the calcium it was computed from."""

    calcium_used = quantity("Calcium that stays in solution near the surface.")
    clamped = ma.fields.Boolean(
        metadata={"description": "Whether the edge of the published table was used."}
    )
    would_dissolve_lime = ma.fields.Boolean(
        metadata={
            "description": "Whether lime would dissolve; without lime the calcium of the solution "
            "itself was used."
        }
    )


class IonHazardSchema(AnswerSchema):
    """The hazard of one ion by a published scheme."""

    ion = ma.fields.String()
    value = quantity("SAR for sodium, the concentration for the others.")
    name = ma.fields.String(data_key="class", attribute="class", allow_none=True)
    class_range = ma.fields.Nested(RangeSchema)
    scheme = ma.fields.String()
    note = ma.fields.String()
    sources = source_keys()


class SolutionSodicitySchema(AnswerSchema):
    """Sodium hazard of a solution."""

    sar = quantity("Sodium adsorption ratio.")
    name = ma.fields.String(data_key="class", attribute="class", allow_none=True)
    adjusted_sar = ma.fields.Nested(AdjustedSarSchema, allow_none=True)
    rsc = quantity("Residual sodium carbonate.")
    rsc_class = ma.fields.String(allow_none=True)
    cross = quantity("Cation ratio of structural stability.")
    mcar = quantity("Monovalent cation adsorption ratio.")
    par = quantity("Potassium adsorption ratio.")
    infiltration_hazard = ma.fields.String(
        allow_none=True, metadata={"description": "By SAR and EC together."}
    )
    infiltration_at_least = ma.fields.Boolean(
        metadata={"description": "Whether SAR lies beyond the table, so that it may be worse."}
    )
    hazards = ma.fields.List(ma.fields.Nested(IonHazardSchema))
    reading = ma.fields.String(
        allow_none=True, metadata={"description": "What SAR and EC mean together."}
    )
    sources = source_keys()


class MediumSodicitySchema(SolutionSodicitySchema):
    """Sodium hazard of the medium's extract."""

    esp = quantity("Exchangeable sodium percentage, by regression.")
    soil_group = ma.fields.String(
        allow_none=True,
        metadata={"description": "normal, saline, sodic or saline-sodic, as of a mineral soil."},
    )


class WaterSodicitySchema(SolutionSodicitySchema):
    """Sodium hazard of the water."""

    hazard_class = ma.fields.String(
        allow_none=True, metadata={"description": "S1 to S4 of Handbook 60, by SAR and EC."}
    )


class SodicitySchema(AnswerSchema):
    """Sodium hazard of medium and water."""

    medium = ma.fields.Nested(MediumSodicitySchema, allow_none=True)
    water = ma.fields.Nested(WaterSodicitySchema, allow_none=True)


class SodicityAnswerSchema(ClosingSchema):
    """The sodium hazard alone."""

    sodicity = ma.fields.Nested(SodicitySchema)
