"""The resources of the interface."""

from saltcalc.service.resources.assessments import blueprint as assessments
from saltcalc.service.resources.calculations import blueprint as calculations
from saltcalc.service.resources.tables import blueprint as tables

BLUEPRINTS = (assessments, calculations, tables)
