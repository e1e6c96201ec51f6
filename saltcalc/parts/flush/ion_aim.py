"""A flush for a single ion: the EC at which sodium or chloride is expected at its aim.

The ion is taken to leave the medium as the other salt does. Where the water brings it, the flush is
planned for rain water, which holds none.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.data.causes import causes
from saltcalc.data.nutrients import NUTRIENTS
from saltcalc.data.reported_ions import reported_ions
from saltcalc.parts.causes.remedies import barred
from saltcalc.parts.doubts import contradicted
from saltcalc.parts.water import RAIN_EC
from saltcalc.science._arrays import Codes, Flags, Floats, filled
from saltcalc.science.diagnosis import SUPPORTED

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

IONS = ("sodium", "chloride")
"""Ions that a flush is planned for; boron leaves too slowly for that, and is told its own water."""

NO_ION = -1
"""Stands for no ion that a flush is planned for."""


@dataclass(frozen=True)
class IonAims:
    """What single ions ask of a flush, one row a sample.

    Attributes
    ----------
    ion : (n,) ndarray of int
        The ion that asks for the lowest EC, a place in :data:`IONS`, or :data:`NO_ION`.
    ec : (n,) ndarray
        EC of the pore water at which it is expected at its aim [dS/m]; NaN without one.
    found : (n,) ndarray
        Of the ion in the water [mg/L]; NaN where that was not reported.
    other_water : (n,) ndarray of bool
        Where the water brings the ion, so that another one is planned with.
    """

    ion: Codes
    ec: Floats
    found: Floats
    other_water: Flags


def assess_ion_aims(assessment: Assessment) -> IonAims:
    """Find for which ion each medium is flushed, and how far.

    That is an ion whose toxicity is supported by a report that does not contradict itself. Who
    asks for a target has that one.
    """
    samples, salinity = assessment.batch.samples, assessment.salinity
    count = samples.count
    nothing = np.full(count, np.nan)
    none = IonAims(np.full(count, NO_ION), nothing, nothing, np.zeros(count, dtype=bool))
    verdict = assessment.causes.findings.diagnosis.verdict
    places = [list(causes()).index(f"{ion}_toxicity") for ion in IONS]
    harms = (verdict[:, places] >= SUPPORTED) & np.isnan(samples.target_ec)[:, np.newaxis]
    harms &= ~contradicted(assessment)[:, np.newaxis]
    if not harms.any():
        return none
    pore = salinity.pore_water.value
    with np.errstate(divide="ignore", invalid="ignore"):
        at_the_root = pore / salinity.ec_25c
    brings = np.zeros((count, len(IONS)), dtype=bool)
    ec, held = np.full((2, count, len(IONS)), np.nan)
    for place, ion in enumerate(IONS):
        mass = reported_ions()[ion].mass_per_charge
        brought = samples.water.ions[ion]
        found = samples.medium.ions[ion] * at_the_root
        aim = found / _over(assessment, ion)
        for sample in np.flatnonzero(harms[:, place]):
            told = not barred(assessment, int(sample), f"water_brings_{ion}")
            brings[sample, place] = told or brought[sample] >= aim[sample]
        poured = np.where(brings[:, place], 0.0, filled(brought, 0.0))
        water = np.where(brings[:, place], RAIN_EC, assessment.water_ec_25c)
        with np.errstate(divide="ignore", invalid="ignore"):
            stay = (aim - poured) / (found - poured)
        possible = harms[:, place] & (aim < found)
        ec[:, place] = np.where(possible, water + stay * (pore - water), np.nan)
        held[:, place] = brought * mass
    known = ~np.isnan(ec)
    first = np.where(known, ec, np.inf).argmin(axis=1)
    rows, any_ = np.arange(count), known.any(axis=1)
    return IonAims(
        ion=np.where(any_, first, NO_ION),
        ec=np.where(any_, ec[rows, first], np.nan),
        found=np.where(any_, held[rows, first], np.nan),
        other_water=any_ & (brings & known).any(axis=1),
    )


def _over(assessment: Assessment, ion: str) -> Floats:
    """Return each sample's ion over its aim: over the range that it is told beside, or a crop's."""
    nutrients, place = assessment.nutrients, NUTRIENTS.index(ion)
    with np.errstate(divide="ignore", invalid="ignore"):
        over = nutrients.judged.value[:, place] / nutrients.high[:, place]
    if ion == "chloride":
        of_crop = np.full(over.shape, np.nan)
        excess = assessment.ions_excess.chloride
        np.fmax.at(of_crop, assessment.batch.plantings.sample, excess.over_limit)
        over = np.where(np.isnan(of_crop), over, of_crop)
    return np.where(over > 1.0, over, np.nan)
