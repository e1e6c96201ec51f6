"""Calcium before a flush where sodium holds the medium: water alone would leave it, and seal it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.data.extraction import MEDIUM_GROUPS
from saltcalc.data.substrates import substrates
from saltcalc.message import Message, say
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import Text, part, row_of, shown, source_keys
from saltcalc.parts.sodicity import SODIC_SAR
from saltcalc.science.exchange_amendments import (
    COIR_SOAK,
    GYPSUM_SOLUBILITY,
    gypsum_rate,
    gypsum_water,
)
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

WAYS = ("gypsum", "calcium_nitrate_soak", "calcium_water")
"""Gypsum on a mineral medium, a soak of coir, water with calcium through any other."""

ESP_WANTED = 10.0
"""Exchangeable sodium to come down to (judgement): well below the 15 of a sodic soil. [%]"""

EXCHANGE_CAPACITY = {
    "sandy": Interval.of(4.0, 1.0, 8.0),
    "loamy": Interval.of(15.0, 8.0, 25.0),
    "clayey": Interval.of(30.0, 20.0, 45.0),
}
"""Cation exchange capacity by texture, textbook ranges from memory. [cmol_c/kg]"""

BULK_DENSITY = {"sandy": 1.5, "loamy": 1.3, "clayey": 1.2}
"""Of the dry medium, textbook figures from memory. [kg/L]"""


@part
class CalciumFirst:
    """What is done before a sodic medium is flushed."""

    way: str = shown("How calcium is brought into the medium.", choices=WAYS)
    gypsum_mass: Interval = shown(
        "Gypsum to work into the medium of one container, in grams.", "g", optional=True
    )
    water_to_dissolve: float = shown("Water that takes it in, at the least.", "L", optional=True)
    sentence: Text = shown()
    sources: list[str] = source_keys()


def is_sodic(assessment: Assessment, sample: int) -> bool:
    """Whether sodium outweighs calcium and magnesium so far that water alone would do harm."""
    ions = assessment.batch.samples.medium.ions
    if any(np.isnan(ions[each][sample]) for each in ("sodium", "calcium", "magnesium")):
        return False
    return bool(assessment.medium_sodicity.of_extract.value[sample] >= SODIC_SAR)


def show_calcium(assessment: Assessment, row: int, notes: Notes) -> CalciumFirst | None:
    """Return what a container is given before its flush, or None where that is not needed."""
    sample = int(assessment.flush_case.owner[row])
    if not is_sodic(assessment, sample):
        return None
    substrate = list(substrates().values())[assessment.batch.samples.substrate[sample]]
    none = Interval.of(math.nan, math.nan, math.nan)
    group = next(
        (each for each in EXCHANGE_CAPACITY if substrate.texture in MEDIUM_GROUPS[each]), None
    )
    if group:
        volume = float(assessment.batch.containers.volume[row])
        sodium = float(row_of(assessment.medium_sodicity, sample).esp)
        mass = Interval.of(
            *(
                volume * float(gypsum_rate(sodium, ESP_WANTED, each, BULK_DENSITY[group]))
                for each in EXCHANGE_CAPACITY[group]
            )
        )
        water = float(gypsum_water(mass.value))
        sentence = say("flush.gypsum_first", gypsum=mass.value, low=mass.low, high=mass.high)
        return CalciumFirst("gypsum", mass, water, sentence, notes.cite("hb60", "judgement"))
    if substrate.medium_class == "coir":
        nitrate, litres, hours = COIR_SOAK
        told = {"strength": nitrate / litres, "hours": hours}
        sentence = say("flush.soak_coir_first", **told)
        cited = notes.cite("gbollie_2021")
        return CalciumFirst("calcium_nitrate_soak", none, math.nan, sentence, cited)
    sentence = say("flush.calcium_water_first", strength=GYPSUM_SOLUBILITY)
    return CalciumFirst("calcium_water", none, math.nan, sentence, notes.cite("hb60", "judgement"))


def find_sodic(assessment: Assessment, sample: int, notes: Notes) -> None:
    """Say that a sodic medium gets calcium before any flush."""
    if is_sodic(assessment, sample):
        sar = float(assessment.medium_sodicity.of_extract.value[sample])
        notes.find("calcium_before_flush", "stop", "/medium/ions/sodium", sar=sar)


def before_flush(calcium: CalciumFirst | None) -> tuple[Message, ...]:
    """Return what a plan says first: of calcium, or nothing."""
    if calcium is None:
        return ()
    return calcium.sentence if isinstance(calcium.sentence, tuple) else (calcium.sentence,)
