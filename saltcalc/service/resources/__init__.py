"""The resources of the interface."""

from saltcalc.service.resources import assessments, calculations, comparisons, crops, tables

BLUEPRINTS = (
    assessments.blueprint,
    calculations.blueprint,
    comparisons.blueprint,
    crops.blueprint,
    tables.blueprint,
)
