"""Leaching fractions of pots, in words and quantities."""

from __future__ import annotations

import math

import numpy as np

from saltcalc.answer.assessment import Labels, state_readings
from saltcalc.answer.assumptions import state_reading_temperatures
from saltcalc.answer.ledger import Ledger
from saltcalc.answer.quantities import SHARE_UNIT, Json, quantity
from saltcalc.answer.wording import figure
from saltcalc.assessment.batch import FloatArray
from saltcalc.assessment.readings import EcReadings
from saltcalc.science.leaching import (
    Spread,
    leaching_fraction_from_ec,
    leaching_fraction_from_volumes,
    spread,
)

DISAGREEMENT = 1.5
"""Ratio of the two ways, either way, from which it is remarked on: judgement."""

_MOST_TOLD = 3

ADVISED = (0.10, 0.20)
"""Leaching fraction usually advised for container crops (Million & Yeager; Yeager 2007)."""


def answer_leaching_fraction(
    labels: Labels,
    applied: FloatArray,
    collected: FloatArray,
    water: EcReadings,
    drainage: EcReadings,
) -> Json:
    """Return the leaching fraction of each pot by volume and by EC, with mean and spread.

    Parameters
    ----------
    labels : Labels
        Of the request; ``containers`` holds the names of the pots.
    applied, collected : (pots,) ndarray
        [L]; NaN where not given.
    water, drainage : EcReadings
        EC of what each pot got, and of what drained from it.
    """
    ledger = Ledger({})
    state_readings(labels, ledger)
    state_reading_temperatures(water, "pots", "temperature_applied", ledger)
    state_reading_temperatures(drainage, "pots", "temperature_drainage", ledger)
    ec_applied, ec_drainage = water.ec, drainage.ec
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
        "sentence": f"{_sentence(by_volume, by_ec)}{_disagreement(volumes, strengths, labels)}",
    } | ledger.closing()


def _spread(found: Spread) -> Json:
    return {
        "mean": quantity(float(found.mean), SHARE_UNIT),
        "standard_deviation": quantity(float(found.standard_deviation), SHARE_UNIT),
        "pots": int(found.number),
    }


def _disagreement(volumes: FloatArray, strengths: FloatArray, labels: Labels) -> str:
    """Remark where the two ways disagree by more than `DISAGREEMENT`, as text to add."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = strengths / volumes
    rows = np.flatnonzero((ratio > DISAGREEMENT) | (ratio < 1 / DISAGREEMENT))
    if not rows.size:
        return ""
    told = "; ".join(
        f"{labels.containers[row] or f'pot {row + 1}'} {_percent(float(volumes[row]))} by volume, "
        f"{_percent(float(strengths[row]))} by EC"
        for row in rows[:_MOST_TOLD]
    )
    more = f"; and {rows.size - _MOST_TOLD} more" if rows.size > _MOST_TOLD else ""
    reasons = ""
    if np.any(ratio[rows] > 1):
        reasons += (
            " More by EC: the drainage is weaker than in a steady state, so salt is building up, "
            "plants took some, or water ran past."
        )
    if np.any(ratio[rows] < 1):
        reasons += (
            " Less by EC: the drainage is stronger than in a steady state, so stored salt or "
            "fertilizer is washing out."
        )
    return f" The two ways disagree: {told}{more}.{reasons} Follow the volumes."


def _sentence(by_volume: Spread, by_ec: Spread) -> str:
    mean = float(by_volume.mean)
    low, high = ADVISED
    if math.isnan(mean):
        if np.isnan(by_ec.mean):
            return "No leaching fraction can be told from these figures."
        return (
            f"By EC about {_percent(float(by_ec.mean))} drains, which holds only where salt "
            "neither builds up nor washes out."
        )
    words = f"By volume {_percent(mean)} of the water drains"
    if mean < low:
        words += "; where the water holds salt, that lets it build up"
    elif mean > high:
        words += "; more than is usually advised, so feed is lost"
    else:
        words += ", as is usually advised for containers (10 to 20 %)"
    return f"{words}."


def _percent(share: float) -> str:
    return f"{figure(100 * share, 3)} %"
