"""The resources of the interface."""

from saltcalc.service.resources import assessments, calculations, crops, tables

BLUEPRINTS = (assessments.blueprint, calculations.blueprint, crops.blueprint, tables.blueprint)
