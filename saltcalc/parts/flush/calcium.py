"""Calcium before a flush where sodium holds the medium: water alone would leave it, and seal it."""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.batch import ObjectArray
from saltcalc.data.extraction import MEDIUM_GROUPS
from saltcalc.data.substrates import substrates
from saltcalc.message import Message, say
from saltcalc.parts.flush.weak_feed import SHARE_OF_TARGET
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import Text, part, shown, source_keys
from saltcalc.parts.sodicity import SODIC_SAR
from saltcalc.science._arrays import Codes, flagged
from saltcalc.science.exchange_amendments import (
    COIR_SOAK,
    GYPSUM_SOLUBILITY,
    gypsum_rate,
    gypsum_water,
)
from saltcalc.science.sodicity import exchangeable_sodium_percentage
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

_SOAK, _FEED = "calcium_nitrate_soak", "calcium_nitrate_feed"
WAYS = ("gypsum", _SOAK, _FEED, "calcium_water")
"""Gypsum on a mineral medium, a soak of coir or, where a crop is in it, a weak feed; water with
calcium through any other."""

EC_OF_CALCIUM_NITRATE = 1.2
"""EC that calcium nitrate adds to a water in a weak feed, from memory. [dS/m per g/L]"""

WEAK_FEED = (0.2, 1.0)
"""Calcium nitrate of a weak feed, at least and at most (judgement). [g/L]"""

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


@cache
def _ways_of_substrates() -> Codes:
    """Return how calcium is brought into each substrate, as a place in :data:`WAYS`."""
    ways = [
        "gypsum"
        if _group_of(each.texture)
        else _SOAK
        if each.medium_class == "coir"
        else "calcium_water"
        for each in substrates().values()
    ]
    return np.array([WAYS.index(way) for way in ways])


def _group_of(texture: str) -> str:
    """Return the group of a mineral texture by which its exchange capacity goes, or nothing."""
    return next((each for each in EXCHANGE_CAPACITY if texture in MEDIUM_GROUPS[each]), "")


def calcium_ways(assessment: Assessment) -> ObjectArray:
    """Return how each medium is given calcium before any flush; None where it is not sodic.

    Sodic is a medium whose sodium outweighs calcium and magnesium so far that water alone would do
    harm, as far as is known: where one of them was not reported, by the least that the EC leaves.
    The soak of coir was tried on loose coir and would burn roots, so that it is for coir without
    a crop.
    """
    samples = assessment.batch.samples
    ways: ObjectArray = np.full(samples.count, None, dtype=object)
    if np.isnan(samples.medium.ions["sodium"]).all():
        return ways
    sodic = assessment.medium_sodicity.before_flush() >= SODIC_SAR
    ways[sodic] = np.array(WAYS, dtype=object)[_ways_of_substrates()[samples.substrate[sodic]]]
    planted = flagged(samples.count, assessment.given.plantings.sample)
    ways[planted & (ways == _SOAK)] = _FEED
    return ways


def show_calcium(assessment: Assessment, row: int, notes: Notes) -> CalciumFirst | None:
    """Return what a container is given before its flush, or None where that is not needed."""
    sample = int(assessment.flush_case.owner[row])
    way = calcium_ways(assessment)[sample]
    if way is None:
        return None
    none = Interval.of(math.nan, math.nan, math.nan)
    if way == "gypsum":
        mass = gypsum_for(assessment, sample, float(assessment.batch.containers.volume[row]))
        water = float(gypsum_water(mass.value))
        sentence = say("flush.gypsum_first", gypsum=mass.value, low=mass.low, high=mass.high)
        return CalciumFirst(way, mass, water, sentence, notes.cite("hb60", "judgement"))
    if way == _FEED:
        strength = _weak_feed(assessment, row)
        sentence = say("flush.feed_planted_coir_first", strength=strength)
        return CalciumFirst(way, none, math.nan, sentence, notes.cite("judgement"))
    if way == _SOAK:
        nitrate, litres, hours = COIR_SOAK
        told = {"strength": nitrate / litres, "hours": hours}
        sentence = say("flush.soak_coir_first", **told)
        cited = notes.cite("gbollie_2021")
        return CalciumFirst(way, none, math.nan, sentence, cited)
    sentence = say("flush.calcium_water_first", strength=GYPSUM_SOLUBILITY)
    return CalciumFirst(way, none, math.nan, sentence, notes.cite("hb60", "judgement"))


def gypsum_for(assessment: Assessment, sample: int, volume: float) -> Interval:
    """Return the gypsum that a volume [L] of a sodic mineral medium takes, by its clay [g]."""
    substrate = list(substrates().values())[assessment.batch.samples.substrate[sample]]
    group = _group_of(substrate.texture)
    sar = assessment.medium_sodicity.before_flush()[sample]
    sodium = float(exchangeable_sodium_percentage(sar))
    return Interval.of(
        *(
            volume * float(gypsum_rate(sodium, ESP_WANTED, each, BULK_DENSITY[group]))
            for each in EXCHANGE_CAPACITY[group]
        )
    )


def _weak_feed(assessment: Assessment, row: int) -> float:
    """Return how strong a calcium nitrate feed a crop in coir stands [g/L]."""
    case = assessment.flush_case
    most = SHARE_OF_TARGET * float(np.asarray(case.target_pore_water)[row])
    room = most - float(np.asarray(case.flush.ec_water)[row])
    least, strongest = WEAK_FEED
    return min(max(room / EC_OF_CALCIUM_NITRATE, least), strongest)


def find_sodic(assessment: Assessment, sample: int, notes: Notes) -> None:
    """Say that a sodic medium gets calcium before any flush."""
    if calcium_ways(assessment)[sample] is None:
        return
    sodicity = assessment.medium_sodicity
    which = "least_sar" if np.isnan(sodicity.of_extract.value[sample]) else "sar"
    told = say(f"flush.{which}", sar=float(sodicity.before_flush()[sample]))
    notes.find("calcium_before_flush", "stop", "/medium/ions/sodium", sar=told)


def before_flush(calcium: CalciumFirst | None) -> tuple[Message, ...]:
    """Return what a plan says first: of calcium, or nothing."""
    if calcium is None:
        return ()
    return calcium.sentence if isinstance(calcium.sentence, tuple) else (calcium.sentence,)
