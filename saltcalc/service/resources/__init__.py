"""The resources of the interface."""

from saltcalc.service.resources import assessments, calculations, tables

BLUEPRINTS = (assessments.blueprint, calculations.blueprint, tables.blueprint)
