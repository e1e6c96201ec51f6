"""What the tables look like."""

from __future__ import annotations

import marshmallow as ma

from saltcalc.service.schemas.common import AnswerSchema, quantity


class ListingSchema(AnswerSchema):
    """A row of a table with where it comes from."""

    source = ma.fields.String()
    provenance = ma.fields.String(
        metadata={"description": "seen, memory (not yet verified) or common-practice."}
    )
    note = ma.fields.String()


class SubstrateListingSchema(ListingSchema):
    """A medium."""

    id = ma.fields.String()
    name = ma.fields.String()
    medium_class = ma.fields.String()
    basis = ma.fields.String()
    container_capacity = quantity("Water held after drainage.")
    capacity_height = quantity("Height it was measured at.")
    total_porosity = quantity("Pore space.")
    theta_s = ma.fields.Float(allow_none=True)
    theta_r = ma.fields.Float(allow_none=True)
    alpha = quantity("Inverse of the air-entry suction.")
    n = ma.fields.Float(allow_none=True)


class EcClassSchema(AnswerSchema):
    """One class of a scheme."""

    name = ma.fields.String(data_key="class", attribute="class")
    lower = ma.fields.Float(data_key="from", attribute="from")
    meaning = ma.fields.String()


class ClassSchemeSchema(ListingSchema):
    """A published set of classes."""

    scheme = ma.fields.String()
    governing = ma.fields.Boolean()
    applies_to = ma.fields.String()
    unit = ma.fields.String()
    classes = ma.fields.List(ma.fields.Nested(EcClassSchema))


class ConversionPointSchema(AnswerSchema):
    """A pair of readings that stand for one another."""

    ec = ma.fields.Float()
    ec_on_basis = ma.fields.Float()


class ConversionListingSchema(ListingSchema):
    """A published conversion: straight lines from zero through its points."""

    id = ma.fields.String()
    basis = ma.fields.String()
    medium = ma.fields.String()
    governing = ma.fields.Boolean()
    points = ma.fields.List(ma.fields.Nested(ConversionPointSchema))
    unit = ma.fields.String()
    applies_to = ma.fields.String()


class ExtractionMethodListingSchema(ListingSchema):
    """An extraction method."""

    id = ma.fields.String()
    name = ma.fields.String()
    description = ma.fields.String()
    dilution = ma.fields.String()
    basis = ma.fields.String(metadata={"description": "saturated_extract or pore_water."})
    conversions = ma.fields.List(ma.fields.Nested(ConversionListingSchema))
    classes = ma.fields.List(ma.fields.Nested(ClassSchemeSchema))


class ObservationListingSchema(ListingSchema):
    """A sign."""

    id = ma.fields.String()
    name = ma.fields.String()
    description = ma.fields.String()
    hints_at = ma.fields.String()
    opposite = ma.fields.String(
        allow_none=True,
        metadata={"description": "The sign that holds where this one was looked for in vain."},
    )


class SourceListingSchema(AnswerSchema):
    """A source."""

    key = ma.fields.String()
    citation = ma.fields.String()
    kind = ma.fields.String()
    note = ma.fields.String()
