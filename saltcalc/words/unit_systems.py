"""The units of answers: those that the parts show, or those of the United States."""

from __future__ import annotations

from collections.abc import Mapping

from saltcalc.units import scale_between

METRIC, US = "metric", "us"

SYSTEMS: Mapping[str, Mapping[str, str]] = {
    METRIC: {},
    US: {
        "L": "gal",
        "L/day": "gal/day",
        "mL": "fl oz",
        "cm": "in",
        "mm/day": "in/day",
        "mm": "in",
        "mm/h": "in/h",
        "L/h": "gal/h",
        "°C": "°F",
        "g": "oz",
        "g/L": "lb/yd³",
    },
}
"""By system, what a unit is told in; one that is not here stays, such as dS/m and mg/L.

A rate by volume of medium is given per cubic yard, the measure in which media are sold.
"""


def unit_in(unit: str, system: str) -> str:
    """Return the unit that a reader of a system is told a figure in."""
    return SYSTEMS[system].get(unit, unit)


def figure_in(value: float, unit: str, system: str) -> float:
    """Return a figure as a reader of a system is told it.

    Parameters
    ----------
    value : float
        In ``unit``.
    unit : str
        As the parts show it.
    system : str
        One of :data:`SYSTEMS`.
    """
    told = unit_in(unit, system)
    if told == unit:
        return value
    slope, offset = scale_between(unit, told)
    return slope * value + offset
