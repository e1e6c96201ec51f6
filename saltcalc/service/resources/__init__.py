"""The resources of the interface."""

from saltcalc.service.resources import (
    assessments,
    calculations,
    comparisons,
    crops,
    ions,
    tables,
)

BLUEPRINTS = (
    assessments.blueprint,
    calculations.blueprint,
    comparisons.blueprint,
    crops.blueprint,
    ions.blueprint,
    tables.blueprint,
)
