"""What a flush that goes by EC does, and does not do, for a single ion in excess."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from saltcalc.answer.wording import figure, volume
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.ion_excess import IonExcess
from saltcalc.parts.notes import Notes


def warn_of_single_ions(assessment: Assessment, sample: int, notes: Notes) -> None:
    """Warn where chloride, boron or sodium stays above what a crop stands after the flush.

    Parameters
    ----------
    assessment : Assessment
        Of the batch.
    sample : int
        Which sample; it has a container and an EC.
    notes : Notes
        Where to warn.
    """
    for row in np.flatnonzero(assessment.batch.plantings.sample == sample):
        for ion, sentence in _sentences(assessment, int(row), sample, notes):
            notes.warn("flush-goes-by-ec", "caution", sentence, f"/medium/ions/{ion}")


def single_ion_above(assessment: Assessment, sample: int) -> bool:
    """Whether a single ion is above what a crop of this sample stands."""
    excess = assessment.ions_excess
    above = excess.chloride.above | excess.boron.above | excess.sodium
    return bool(np.any(above[assessment.batch.plantings.sample == sample]))


def _sentences(
    assessment: Assessment, row: int, sample: int, notes: Notes
) -> Iterator[tuple[str, str]]:
    excess = assessment.ions_excess
    crop = assessment.catalogue[assessment.batch.plantings.crop[row]].name
    if excess.chloride.above[row]:
        then = _chloride(assessment, row, sample)
        if then:
            yield "chloride", _start("Chloride", "mmol/L", excess.chloride, row, crop) + then
    if excess.boron.above[row]:
        notes.cite("hoffman-1980")
        yield (
            "boron",
            _start("Boron", "mg/L", excess.boron, row, crop) + _boron(assessment, row, sample),
        )
    if excess.sodium[row]:
        yield (
            "sodium",
            f"The plan goes by EC. The sodium held on the medium is above what {crop} stands, and "
            "water alone does not take it off: it takes calcium, such as gypsum, before the flush.",
        )


def _start(name: str, unit: str, ion: IonExcess, row: int, crop: str) -> str:
    start = (
        f"The plan goes by EC. {name} is {figure(float(ion.over_limit[row]))} times what {crop} "
        "stands. "
    )
    if ion.water_exceeds[row]:
        start += (
            f"This water holds {figure(float(ion.in_water[row]))} {unit} itself, no less than the "
            f"{figure(float(ion.limit[row]))} {unit} that it stands in the pores: no flush with "
            "it helps. Use rain water or another source."
        )
    return start


def _chloride(assessment: Assessment, row: int, sample: int) -> str | None:
    """Say how far to flush for chloride; None where the plan goes as far by itself."""
    excess = assessment.ions_excess
    if excess.chloride.water_exceeds[row]:
        return ""
    wanted, case = float(excess.ec_for_chloride[row]), assessment.flush_plan.case
    container = int(np.argmax(case.owner == sample))
    if wanted >= case.target_pore_water[container]:
        return None
    reading = wanted / float(case.settled_over_reading[container])
    return (
        "It washes out as the other salt does: flush on until the medium reads "
        f"{figure(reading)} dS/m by your method of extraction (/target_ec gives the plan for that)."
    )


def _boron(assessment: Assessment, row: int, sample: int) -> str:
    excess = assessment.ions_excess
    if excess.boron.water_exceeds[row]:
        return ""
    ratio, case = float(excess.boron_water[row]), assessment.flush_plan.case
    litres = [
        volume(ratio * float(case.volume[each]), 2) for each in np.flatnonzero(case.owner == sample)
    ]
    return (
        "It clings to the medium and comes off more slowly than other salt: by Hoffman's field "
        f"rule, drawn up on mineral soils, about {figure(ratio)} times the volume of the medium "
        f"({', '.join(dict.fromkeys(litres))} a container). Measure boron again before sowing, and "
        "take licensed advice."
    )
