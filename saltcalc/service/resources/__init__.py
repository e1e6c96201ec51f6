"""The resources of the interface."""

from saltcalc.service.resources import (
    assessments,
    calculations,
    comparisons,
    crops,
    flush,
    ions,
    tables,
)

BLUEPRINTS = (
    assessments.blueprint,
    calculations.blueprint,
    comparisons.blueprint,
    crops.blueprint,
    flush.blueprint,
    ions.blueprint,
    tables.blueprint,
)
