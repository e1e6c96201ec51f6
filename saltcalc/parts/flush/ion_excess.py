"""Single ions above what a crop tolerates, which a flush that goes by EC does not aim at."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.data.substrates import substrates
from saltcalc.message import Message, say
from saltcalc.parts.crops.tolerance import CropsResult
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import Text, row_of
from saltcalc.science._arrays import Flags, Floats, filled
from saltcalc.science.crop_limits import Limit, Verdict
from saltcalc.science.exchange_amendments import coir_soak
from saltcalc.science.reclamation import HOFFMAN_BORON, water_hoffman

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

MOSTLY_HELD = 0.6
"""Share of sodium and potassium in the cations of coir's extract from which they are taken to sit
on the coir as well (judgement): coir that was soaked with calcium shows less. [-]
"""


@dataclass(frozen=True)
class IonExcess:
    """One ion in the pore water against what each planting tolerates, one row a planting.

    Attributes
    ----------
    above : (k,) ndarray of bool
        Where the ion is above the crop's limit.
    over_limit : (k,) ndarray
        Found over limit [-].
    in_water, limit : (k,) ndarray
        In the irrigation water, and the limit on the same scale, as pore water
        [mmol/L; boron mg/L].
    may_stay : (k,) ndarray
        Share of what exceeds the water that may stay in the medium [-]; NaN where the water itself
        holds the limit or more, so that no flush with it helps.
    """

    above: Flags
    over_limit: Floats
    in_water: Floats
    limit: Floats
    may_stay: Floats

    @property
    def water_exceeds(self) -> Flags:
        """Where the irrigation water itself holds the limit or more."""
        return self.in_water >= self.limit


@dataclass(frozen=True)
class IonsExcess:
    """Chloride, boron and exchangeable sodium against the limits of each planting.

    Attributes
    ----------
    chloride, boron : IonExcess
    sodium : (k,) ndarray of bool
        Where exchangeable sodium is above what the crop tolerates.
    ec_for_chloride : (k,) ndarray
        EC of the pore water at which chloride, washed out as the other salt is, is at its limit
        [dS/m].
    boron_water : (k,) ndarray
        Water over the volume of the medium that takes boron to its limit, after Hoffman [L/L].
    """

    chloride: IonExcess
    boron: IonExcess
    sodium: Flags
    ec_for_chloride: Floats
    boron_water: Floats

    @property
    def any(self) -> Flags:
        """Where one of them is above what the crop tolerates."""
        return np.asarray(self.chloride.above | self.boron.above | self.sodium)


def assess_ions_excess(assessment: Assessment) -> IonsExcess:
    """Hold chloride, boron and exchangeable sodium against what each planting tolerates."""
    batch, salinity, crops = assessment.batch, assessment.salinity, assessment.crops
    sample = batch.plantings.sample
    water = {ion: batch.samples.water.ions[ion][sample] for ion in ("chloride", "boron")}
    extract, pore = salinity.saturated_extract.value[sample], salinity.pore_water.value[sample]
    with np.errstate(divide="ignore", invalid="ignore"):
        concentrated = np.where(extract > 0, pore / extract, np.nan)
    chloride = _excess(
        crops,
        Limit.CHLORIDE,
        np.asarray(crops.zone.chloride) * concentrated,
        np.asarray(crops.limits.chloride_low) * concentrated,
        water["chloride"],
    )
    boron = _excess(
        crops,
        Limit.BORON,
        np.asarray(crops.zone.boron),
        np.asarray(crops.limits.boron_low),
        water["boron"],
    )
    ec_water = assessment.water_ec_25c[sample]
    return IonsExcess(
        chloride=chloride,
        boron=boron,
        sodium=_is_above(crops, Limit.SODIUM),
        ec_for_chloride=ec_water + chloride.may_stay * (pore - ec_water),
        boron_water=water_hoffman(boron.may_stay, HOFFMAN_BORON),
    )


def _is_above(crops: CropsResult, limit: Limit) -> Flags:
    return np.asarray(crops.verdicts.by_limit[limit] > Verdict.TOLERATES)


def _excess(
    crops: CropsResult, name: Limit, found: Floats, limit: Floats, in_water: Floats
) -> IonExcess:
    """Compare one ion; a water whose report leaves it out is taken to hold none."""
    above, brought = _is_above(crops, name), filled(in_water, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        over, stay = found / limit, (limit - brought) / (found - brought)
    possible = above & (brought < limit)
    return IonExcess(
        above=above,
        over_limit=np.where(above, over, np.nan),
        in_water=brought,
        limit=limit,
        may_stay=np.where(possible, stay, np.nan),
    )


def find_ions_excess(assessment: Assessment, sample: int, notes: Notes) -> None:
    """Say where chloride, boron or sodium stays above what a crop tolerates after the flush."""
    _find_held_on_coir(assessment, sample, notes)
    if np.all(assessment.flush_plan.not_cured[assessment.containers_of(sample)]):
        return  # No plan is made that could go by something else.
    for row in assessment.plantings_of(sample):
        for ion, sentence in _sentences(assessment, row, sample, notes):
            notes.warn("flush_goes_by_ec", "caution", sentence, f"/medium/ions/{ion}")


def _find_held_on_coir(assessment: Assessment, sample: int, notes: Notes) -> None:
    """Say where coir holds sodium and potassium that water does not take out."""
    samples, rows = assessment.batch.samples, assessment.containers_of(sample)
    medium = list(substrates().values())[samples.substrate[sample]]
    if medium.medium_class != "coir" or not np.any(assessment.flush_plan.flushed[rows]):
        return
    sodium, potassium, calcium, magnesium = (
        float(samples.medium.ions[ion][sample])
        for ion in ("sodium", "potassium", "calcium", "magnesium")
    )
    held = sodium + potassium
    if held > MOSTLY_HELD * (held + calcium + magnesium):
        soak = coir_soak(1.0)
        notes.cite("gbollie_2021")
        notes.find(
            "coir_holds_sodium",
            "note",
            "/medium/ions/sodium",
            nitrate=float(soak.calcium_nitrate),
            water=float(soak.water),
            hours=soak.hours,
        )


def _sentences(
    assessment: Assessment, row: int, sample: int, notes: Notes
) -> Iterator[tuple[str, Text]]:
    excess: IonsExcess = row_of(assessment.ions_excess, row)
    crop = assessment.crop_of(row).name
    if excess.chloride.above:
        then = _of_water(excess.chloride, "mmol/L") or _chloride(assessment, excess, sample)
        if then:
            over = say("flush.chloride_over", over=excess.chloride.over_limit, crop=crop)
            yield "chloride", (over, then)
    if excess.boron.above:
        notes.cite("hoffman_1980")
        then = _of_water(excess.boron, "mg/L") or _boron(assessment, excess, sample)
        yield "boron", (say("flush.boron_over", over=excess.boron.over_limit, crop=crop), then)
    if excess.sodium:
        yield "sodium", say("flush.sodium_over", crop=crop)


def _of_water(ion: IonExcess, unit: str) -> Message | None:
    if not ion.water_exceeds:
        return None
    return say("flush.water_holds_ion", found=ion.in_water, limit=ion.limit, unit=unit)


def _chloride(assessment: Assessment, excess: IonsExcess, sample: int) -> Message | None:
    """Say how far to flush for chloride; None where the plan goes as far by itself."""
    case = row_of(assessment.flush_case, assessment.containers_of(sample)[0])
    if excess.ec_for_chloride >= case.target_pore_water:
        return None
    reading = excess.ec_for_chloride / case.settled_over_reading
    return say("flush.chloride_washes_out", reading=reading)


def _boron(assessment: Assessment, excess: IonsExcess, sample: int) -> Message:
    """Say how much water boron takes; containers whose litres read alike are told once."""
    ratio, volumes = float(excess.boron_water), assessment.batch.containers.volume
    litres = [float(ratio * volumes[row]) for row in assessment.containers_of(sample)]
    unlike = {f"{each:.2g}": each for each in litres}.values()
    told = [say("flush.litres", litres=each) for each in unlike]
    return say("flush.boron_washes_out", ratio=ratio, litres=told)
