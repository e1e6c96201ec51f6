"""The resources of the interface."""

from saltcalc.service.resources import assessments, batches, calculations, flush, tables

BLUEPRINTS = (
    assessments.assessments,
    batches.batches,
    calculations.calculations,
    assessments.comparisons,
    tables.crops,
    flush.blueprint,
    calculations.ions,
    tables.tables,
)
