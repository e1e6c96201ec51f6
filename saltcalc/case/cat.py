"""What laboratories report by CaCl2: nutrients in a litre of medium, and the pH."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from saltcalc.data.nutrients import CAT_FIELDS
from saltcalc.data.reported_ions import reported_ions
from saltcalc.science._arrays import Floats

PH_ABOVE_CACL2 = 0.5
"""How far the pH in water is above that in 0.01 mol/L CaCl2, in the middle.

From memory, 0.3 to 0.7 in container media. A manual of soil methods (4B1, Rayment & Lyons) has 0.5
to 1.0 in mineral soils, and less the more salts there are.
"""

PH_ABOVE_CACL2_ERROR = 0.2
"""How far that difference may be off."""


def ph_taken(medium: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return a medium with a pH in water, reckoned from that in CaCl2 where only that is told."""
    in_cacl2 = medium.get("ph_in_cacl2")
    if in_cacl2 is None or "ph" in medium:
        return medium
    ph = min(in_cacl2 + PH_ABOVE_CACL2, 14.0)
    return {**medium, "ph": ph, "ph_error": PH_ABOVE_CACL2_ERROR}


def cat_columns(media: Sequence[Mapping[str, Any]]) -> dict[str, Floats]:
    """Return the nutrients by CaCl2/DTPA as columns [mg/L of medium].

    Nitrate and ammonium add up to the mineral nitrogen where both are told and it is not.
    """
    found = [medium.get("cat", {}) for medium in media]
    given = frozenset[str]().union(*found)
    columns = {
        nutrient: np.array([_mass(row, nutrient) for row in found])
        if nutrient in given
        else np.full(len(found), np.nan)
        for nutrient in CAT_FIELDS
    }
    both = columns["nitrate_n"] + columns["ammonium_n"]
    columns["mineral_n"] = np.where(np.isnan(columns["mineral_n"]), both, columns["mineral_n"])
    return columns


def _mass(row: Mapping[str, Any], nutrient: str) -> float:
    if nutrient not in row:
        return math.nan
    ion = reported_ions().get("nitrate_n" if nutrient == "mineral_n" else nutrient)
    amount: float = row[nutrient].value
    return amount * ion.mass_per_charge if ion else amount
