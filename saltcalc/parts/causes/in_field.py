"""What is done for the salt and the sodium of soil in a field, where there is no container.

A soil is taken to lie in a field where no container was told. How much gypsum and water it takes is
told for a square metre, or a depth of soil, and not for a volume.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.batch import NOT_GIVEN
from saltcalc.data.extraction import extraction_methods, method_codes
from saltcalc.data.substrates import substrates
from saltcalc.message import Message, say
from saltcalc.parts.crops.tolerance import EXTRACT
from saltcalc.parts.flush.calcium import calcium_ways, gypsum_for
from saltcalc.parts.flush.case import target_extracts
from saltcalc.science._arrays import Flags, flagged
from saltcalc.science.exchange_amendments import gypsum_water
from saltcalc.science.extraction import convert
from saltcalc.science.reclamation import HOFFMAN_CLAY_LOAM, HOFFMAN_SANDY_LOAM, water_hoffman

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

DEPTH = 300.0
"""Depth of soil that gypsum and water are told for: of most roots of vegetables (judgement).

In millimetres."""

_LEACHED = ("total_salts", "sodic_structure")
"""Causes for which the field is leached, whatever the water brings."""

_OF_CONTAINERS = ("lack_of_air", "cold_root_zone", "damping_off", "nitrite_toxicity")
"""Causes whose usual remedy speaks of containers."""

_SODIUM = "sodium_toxicity"
_SANDY = ("sand", "sandy_loam")


def is_in_field(assessment: Assessment) -> Flags:
    """Return which media are soil in a field: a mineral soil of which no container was told."""
    return np.asarray(assessment.mineral_soil & ~_held(assessment))


def is_without_pots(assessment: Assessment) -> Flags:
    """Return which are, or are an unnamed medium read as soil is, so that there are no pots."""
    of_soil = np.array([each.usual == "mineral" for each in extraction_methods()])
    read_as_soil = of_soil[assessment.batch.samples.extraction]
    unnamed = assessment.given.samples.substrate == NOT_GIVEN
    soil = assessment.mineral_soil | (read_as_soil & unnamed)
    return np.asarray(soil & ~_held(assessment))


def _held(assessment: Assessment) -> Flags:
    return flagged(assessment.batch.samples.count, assessment.batch.containers.sample)


def field_remedy(assessment: Assessment, sample: int, cause: str) -> tuple[Message, ...]:
    """Return what usually helps a soil in a field; nothing where the usual words do.

    Calcium comes before any water where the soil is sodic, and the water then has to take in the
    gypsum as well.
    """
    if not assessment.in_field[sample]:
        return ()
    if cause in _OF_CONTAINERS:
        return (say(f"causes.field_remedy.{cause}"),)
    way = calcium_ways(assessment)[sample]
    if cause not in _LEACHED and not (cause == _SODIUM and way):
        return ()
    depth = _depth(assessment, sample)
    water = say("causes.other_water_in_field") if math.isinf(depth) else None
    if not way:
        if not depth > 0:
            return ()
        return (water or say("causes.leach_field", depth=depth),)
    # A litre of soil is a square metre of it, a millimetre deep.
    mass = gypsum_for(assessment, sample, DEPTH)
    calcium = say("causes.gypsum_in_field", gypsum=mass.value, low=mass.low, high=mass.high)
    least = float(gypsum_water(mass.value))
    return calcium, water or say("causes.leach_sodic_field", depth=max(depth, least))


def _depth(assessment: Assessment, sample: int) -> float:
    """Return the water that takes the salt of the soil to its limit [mm].

    None where it is at its limit already; without end where the water holds as much.
    """
    salinity, samples = assessment.salinity, assessment.batch.samples
    own = convert(
        samples.target_ec[sample],
        samples.extraction[sample],
        method_codes()[EXTRACT],
        assessment.medium_kind[sample],
    ).value
    wanted = target_extracts(assessment.batch, assessment.crops.max_tolerated_ec)[sample]
    wanted = float(wanted if np.isnan(own) else own)
    extract, pore = (
        float(each.value[sample]) for each in (salinity.saturated_extract, salinity.pore_water)
    )
    if not extract > wanted:
        return 0.0
    water = float(assessment.water_ec_25c[sample])
    left = (wanted * pore / extract - water) / (pore - water)
    if left <= 0:
        return math.inf
    texture = list(substrates().values())[samples.substrate[sample]].texture
    slow = HOFFMAN_SANDY_LOAM if texture in _SANDY else HOFFMAN_CLAY_LOAM
    return float(DEPTH * water_hoffman(left, slow))
