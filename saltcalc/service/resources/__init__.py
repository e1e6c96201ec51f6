"""The resources of the interface."""

from saltcalc.service.resources import assessments, calculations, flush, tables

BLUEPRINTS = (
    assessments.assessments,
    calculations.calculations,
    assessments.comparisons,
    tables.crops,
    flush.blueprint,
    calculations.ions,
    tables.tables,
)
