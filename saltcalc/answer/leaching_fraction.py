"""Leaching fractions of pots, in words and quantities."""

from __future__ import annotations

import math

import numpy as np

from saltcalc.answer.assessment import Labels, state_readings
from saltcalc.answer.ledger import Ledger
from saltcalc.answer.quantities import SHARE_UNIT, Json, quantity
from saltcalc.assessment.batch import FloatArray
from saltcalc.science.leaching import (
    Spread,
    leaching_fraction_from_ec,
    leaching_fraction_from_volumes,
    spread,
)

ADVISED = (0.10, 0.20)
"""Leaching fraction usually advised for container crops (Million & Yeager; Yeager 2007)."""


def answer_leaching_fraction(
    labels: Labels,
    applied: FloatArray,
    collected: FloatArray,
    ec_applied: FloatArray,
    ec_drainage: FloatArray,
) -> Json:
    """Return the leaching fraction of each pot by volume and by EC, with mean and spread.

    Parameters
    ----------
    labels : Labels
        Of the request; ``containers`` holds the names of the pots.
    applied, collected : (pots,) ndarray
        [L]; NaN where not given.
    ec_applied, ec_drainage : (pots,) ndarray
        At 25 °C [dS/m]; NaN where not given.
    """
    ledger = Ledger({})
    state_readings(labels, ledger)
    volumes = leaching_fraction_from_volumes(applied, collected)
    strengths = leaching_fraction_from_ec(ec_applied, ec_drainage)
    for position in range(applied.size):
        if collected[position] > applied[position]:
            ledger.warn(
                "more-collected-than-applied",
                "caution",
                "More water was collected than applied; was the container wetter than drained, or "
                "did rain fall in?",
                f"/pots/{position}/collected",
            )
        if ec_drainage[position] < ec_applied[position]:
            ledger.warn(
                "drainage-weaker-than-water",
                "caution",
                "The drainage is weaker than the water applied: the container is filling with "
                "salt, or water ran past. The ratio of EC says nothing then.",
                f"/pots/{position}/ec_drainage",
            )
    by_volume, by_ec = spread(volumes), spread(strengths)
    ledger.cite("fao29", "million-yeager")
    return {
        "pots": [
            {
                "name": name,
                "from_volumes": quantity(float(volumes[position]), SHARE_UNIT),
                "from_ec": quantity(float(strengths[position]), SHARE_UNIT),
            }
            for position, name in enumerate(labels.containers)
        ],
        "from_volumes": _spread(by_volume),
        "from_ec": _spread(by_ec),
        "sentence": _sentence(by_volume, by_ec),
    } | ledger.closing()


def _spread(found: Spread) -> Json:
    return {
        "mean": quantity(float(found.mean), SHARE_UNIT),
        "standard_deviation": quantity(float(found.standard_deviation), SHARE_UNIT),
        "pots": int(found.number),
    }


def _sentence(by_volume: Spread, by_ec: Spread) -> str:
    mean = float(by_volume.mean)
    low, high = ADVISED
    if math.isnan(mean):
        if np.isnan(by_ec.mean):
            return "No leaching fraction can be told from these figures."
        return (
            f"By EC about {float(by_ec.mean):.0%} drains, which holds only where salt neither "
            "builds up nor washes out."
        )
    words = f"By volume {mean:.0%} of the water drains"
    if mean < low:
        words += "; where the water holds salt, that lets it build up"
    elif mean > high:
        words += "; more than is usually advised, so feed is lost"
    else:
        words += ", as is usually advised for containers (10 to 20 %)"
    return f"{words}."
