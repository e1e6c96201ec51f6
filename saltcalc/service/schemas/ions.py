"""What goes out of the ions."""

from __future__ import annotations

import marshmallow as ma

from saltcalc.service.schemas.common import (
    AnswerSchema,
    ClosingSchema,
    quantity,
    source_keys,
)


class IonShareSchema(AnswerSchema):
    """One ion and its share of the EC."""

    optional = frozenset({"reported_as", "mass", "charge"})

    ion = ma.fields.String(
        metadata={"description": "Id of the ion; hydrogen and hydroxide where a pH was given."}
    )
    reported_as = ma.fields.String(metadata={"description": "The form that the mass is of."})
    mass = quantity("Concentration as mass of that form.")
    charge = quantity("Concentration as charge.")
    share_of_ec = quantity("Share of the EC from ions; all shares sum to 1.")


class MissingChargeSchema(AnswerSchema):
    """What a report lacks."""

    kind = ma.fields.String(metadata={"description": "anions or cations."})
    amount = quantity("How much charge.")
    candidates = ma.fields.List(
        ma.fields.String(),
        metadata={"description": "Ids of ions that were not reported, the likely first."},
    )


class ChargeBalanceSchema(AnswerSchema):
    """Whether the charges of a report add up."""

    cations = quantity("Sum of the cations.")
    anions = quantity("Sum of the anions.")
    error = quantity("100 (cations − anions) / (cations + anions).")
    criterion = quantity("Largest difference that the published criterion accepts.")
    verdict = ma.fields.String(
        metadata={"description": "balanced, anions-missing or cations-missing."}
    )
    missing = ma.fields.Nested(MissingChargeSchema, allow_none=True)
    sources = source_keys()


class SlipSchema(AnswerSchema):
    """A reporting slip that closes the gap once it is put right."""

    kind = ma.fields.String(
        metadata={"description": "form, unit, all-ions, one-ion, reading or extraction."}
    )
    id = ma.fields.String()
    factor = ma.fields.Float(
        metadata={
            "description": "What puts it right; 1 for a form or a unit, which has one for each ion."
        }
    )
    sentence = ma.fields.String()
    ec_from_ions = quantity("EC from ions once put right.")
    balance_error = quantity("Charge balance error once put right.")


class AgreementSchema(AnswerSchema):
    """Measured against computed EC."""

    measured = quantity("EC as measured, at 25 °C.")
    computed = quantity("EC from the ions.")
    ratio = quantity("Measured over computed; 0.9 to 1.1 agrees.")
    unexplained = quantity("Measured less computed.")
    verdict = ma.fields.String(
        allow_none=True, metadata={"description": "agree, measured-higher or measured-lower."}
    )
    slips = ma.fields.List(ma.fields.Nested(SlipSchema))
    sources = source_keys()


class FloorSchema(AnswerSchema):
    """The least EC that the reported ions allow."""

    ec = quantity("The floor.")
    counter_ion = ma.fields.String(
        allow_none=True, metadata={"description": "The ion that made up the missing charge."}
    )
    counter_charge = quantity("How much of it.")
    sentence = ma.fields.String()


class CharacterFigureSchema(AnswerSchema):
    """A figure that decides the character."""

    of = ma.fields.String()
    value = quantity("Share of the charge.")
    limit = quantity("From where it gives the salt its name.")


class CharacterSchema(AnswerSchema):
    """What kind of salt it is."""

    id = ma.fields.String()
    name = ma.fields.String()
    also = ma.fields.List(ma.fields.String())
    figures = ma.fields.List(ma.fields.Nested(CharacterFigureSchema))
    sources = source_keys()


class SaltSchema(AnswerSchema):
    """A hypothetical salt."""

    name = ma.fields.String()
    formula = ma.fields.String()
    amount = quantity("Charge of either sign.")
    share = quantity("Share of all salts.")


class SaltsSchema(AnswerSchema):
    """The ions combined into salts."""

    order = ma.fields.String()
    salts = ma.fields.List(ma.fields.Nested(SaltSchema))
    sources = source_keys()


class CrustSchema(AnswerSchema):
    """A mineral of the crust."""

    name = ma.fields.String()
    concentration = quantity("How many times over the solution is concentrated when it forms.")
    method = ma.fields.String(
        metadata={"description": "phreeqc-pitzer, phreeqc, ion-pairs or solubility."}
    )


class SaturationIndexSchema(AnswerSchema):
    """Saturation with one mineral."""

    index = quantity("log10 of the ion activity product over the solubility product.")
    saturated = ma.fields.Boolean(
        metadata={"description": "Whether the index is within 0.1 of saturation or above."}
    )


class SaturationSchema(AnswerSchema):
    """Saturation with gypsum and lime."""

    method = ma.fields.String(metadata={"description": "phreeqc or ion-pairs."})
    gypsum = ma.fields.Nested(SaturationIndexSchema, allow_none=True)
    calcite = ma.fields.Nested(SaturationIndexSchema, allow_none=True)


class SolutionIonsSchema(AnswerSchema):
    """Which salts a solution holds."""

    ec_from_ions = quantity("EC at 25 °C from the ions.")
    method = ma.fields.String()
    ionic_strength = quantity("Ionic strength.")
    within_range = ma.fields.Boolean(
        metadata={"description": "Whether the ionic strength is within what was checked."}
    )
    shares = ma.fields.List(ma.fields.Nested(IonShareSchema))
    charge_balance = ma.fields.Nested(ChargeBalanceSchema)
    agreement = ma.fields.Nested(AgreementSchema)
    ec_floor = ma.fields.Nested(
        FloorSchema, allow_none=True, metadata={"description": "Where no EC was measured."}
    )
    character = ma.fields.Nested(CharacterSchema, allow_none=True)
    hypothetical_salts = ma.fields.Nested(SaltsSchema)
    crust = ma.fields.List(
        ma.fields.Nested(CrustSchema),
        metadata={"description": "What forms as the surface dries, the first first."},
    )
    saturation = ma.fields.Nested(SaturationSchema)
    sources = source_keys()


class IonAnalysesSchema(AnswerSchema):
    """Which salts are in the medium and in the water."""

    medium = ma.fields.Nested(SolutionIonsSchema, allow_none=True)
    water = ma.fields.Nested(SolutionIonsSchema, allow_none=True)


class IonsAnswerSchema(ClosingSchema):
    """The ions alone."""

    ions = ma.fields.Nested(IonAnalysesSchema)
