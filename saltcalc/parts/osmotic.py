"""The osmotic potential of the water in the pores, from the ions where they are known."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from saltcalc.science.osmotic import (
    osmotic_potential_at_ec,
    osmotic_potential_handbook60,
)
from saltcalc.science.uncertainty import Z_HIGH, Interval

OSMOTIC_BASES = ("ions", "ec_rule")

RULE_SCATTER = 0.15
"""Standard deviation of the logarithm of the potential about the rule by EC [-]; a judgement: by
the ions, mixed extracts lie from 0.8 to 1.15 of the rule, gypsum at 0.6."""


def osmotic_of(
    ions: Mapping[str, float], pore_water: Interval, *, whole: bool
) -> tuple[Interval, str]:
    """Return the osmotic potential of pore water [kPa], and what it is from.

    Parameters
    ----------
    ions : mapping of str to float
        The extract's [mmol_c/L]; NaN for what was not reported. The pore water holds them in the
        same proportions.
    pore_water : Interval of float
        Its EC at 25 °C [dS/m].
    whole : bool
        Whether the ions stand for all that is dissolved.
    """
    bounds = np.array([pore_water.value, pore_water.high, pore_water.low])
    if whole:
        found = osmotic_potential_at_ec(ions, bounds)
        if np.isfinite(found).all():
            return Interval.of(*found), OSMOTIC_BASES[0]
    value, low, high = osmotic_potential_handbook60(bounds)
    # Both spreads are of the logarithm: that of the EC, and that of the rule.
    with np.errstate(invalid="ignore", divide="ignore"):
        spread = [np.hypot(np.log(bound / value), Z_HIGH * RULE_SCATTER) for bound in (low, high)]
    widened = Interval.of(value, value * np.exp(spread[0]), value * np.exp(-spread[1]))
    return (widened if value < 0 else Interval.of(value, low, high)), OSMOTIC_BASES[1]
