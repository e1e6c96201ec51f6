"""How salty the media are: the reading at 25 °C, its class, and the common bases."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from saltcalc.assessment.batch import Batch, FloatArray, IntArray
from saltcalc.assessment.containers import Water
from saltcalc.data.extraction import MEDIUM_KINDS
from saltcalc.data.substrates import substrates
from saltcalc.science.extraction import (
    to_pore_water,
    to_saturated_extract,
)
from saltcalc.science.osmotic import osmotic_potential_handbook60
from saltcalc.science.salinity_classes import ReadingClass, classify_reading
from saltcalc.science.saturation import gypsum_tolerance_shift, saturation_index
from saltcalc.science.temperature import ec25_handbook60
from saltcalc.science.uncertainty import Interval


@dataclass(frozen=True)
class Salinity:
    """How salty the media are, one row a sample; NaN where no EC was measured.

    Attributes
    ----------
    medium_kind : (n,) ndarray of int
        Place in :data:`saltcalc.data.extraction.MEDIUM_KINDS`.
    ec_25c : (n,) ndarray
        The reading at 25 °C [dS/m].
    water_ec_25c : (n,) ndarray
        EC of the irrigation water at 25 °C [dS/m].
    reading_class : ReadingClass
        Class by the scheme that governs the method.
    saturated_extract, pore_water : Interval of (n,) ndarray
        On the common bases [dS/m].
    osmotic_potential : Interval of (n,) ndarray
        Of the pore water at container capacity [kPa].
    tolerance_shift : (n,) ndarray
        How much more EC plants stand because gypsum, dissolved by the extraction, is part of the
        reading [dS/m].
    """

    medium_kind: IntArray
    ec_25c: FloatArray
    water_ec_25c: FloatArray
    reading_class: ReadingClass
    saturated_extract: Interval
    pore_water: Interval
    osmotic_potential: Interval
    tolerance_shift: FloatArray


def assess_salinity(batch: Batch, water: Water) -> Salinity:
    """Bring the readings of a batch to 25 °C and to the common bases.

    Parameters
    ----------
    batch : Batch
        With its gaps filled.
    water : Water
        Water of each sample.
    """
    samples = batch.samples
    ec = ec25_handbook60(samples.medium.ec, samples.medium.temperature)
    kind = _kinds()[samples.substrate]
    pores = {
        "total_porosity": water.total_porosity,
        "container_capacity": water.container_capacity,
        "water_content": samples.water_content,
    }
    pore_water = to_pore_water(ec, samples.extraction, kind, **pores)
    return Salinity(
        medium_kind=kind,
        ec_25c=ec,
        water_ec_25c=ec25_handbook60(samples.water.ec, samples.water.temperature),
        reading_class=classify_reading(ec, samples.extraction, kind, **pores),
        saturated_extract=to_saturated_extract(ec, samples.extraction, kind, **pores),
        pore_water=pore_water,
        osmotic_potential=Interval(
            osmotic_potential_handbook60(pore_water.value),
            osmotic_potential_handbook60(pore_water.high),
            osmotic_potential_handbook60(pore_water.low),
        ),
        tolerance_shift=gypsum_tolerance_shift(
            saturation_index("gypsum", samples.medium.ions, samples.medium.ph)
        ),
    )


@cache
def _kinds() -> IntArray:
    kinds = [MEDIUM_KINDS.index(substrate.texture) for substrate in substrates().values()]
    return np.array(kinds, dtype=np.intp)
