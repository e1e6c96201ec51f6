"""What a grower must know of a flush before doing it."""

from __future__ import annotations

import numpy as np

from saltcalc.answer.flush_ions import single_ion_above
from saltcalc.answer.wording import figure, in_passes, volume
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.flush_case import MOST_PASSES, REPELLING_EFFICIENCY
from saltcalc.parts.flush_plan import FlushResult
from saltcalc.parts.notes import Notes
from saltcalc.science.plan import CEILING_VOLUMES


def warn_to_collect_drainage(assessment: Assessment, rows: np.ndarray, notes: Notes) -> None:
    """Warn of what drains from the containers of a sample, if any is flushed."""
    result = assessment.flush_plan
    if np.any(result.case.needed[rows] & ~result.case.sealed[rows]):
        notes.warn(
            "collect-drainage",
            "caution",
            "Drainage from a flush carries salt and nitrate. Collect it, keep it out of drains, "
            "wells and watercourses, and follow local rules. Spread on soil, it salts the soil.",
            "flush_plan",
        )


def warn_of_flush(assessment: Assessment, row: int, sample: int, part: str, notes: Notes) -> None:
    """Warn of all that a grower must know of the flush of one container."""
    result = assessment.flush_plan
    case, target = result.case, float(result.case.target_pore_water[row])
    if not case.needed[row]:
        if single_ion_above(assessment, sample):
            return
        notes.warn(
            "no-flush-needed",
            "note",
            "The medium is at its target already; a flush would only wash out feed.",
            part,
        )
        return
    if case.repelling[row]:
        notes.warn(
            "wet-before-flushing",
            "caution",
            "The medium repels water, which then runs past without taking salt along. Wet it "
            "first: trickle slowly, stand it in water for an hour, or use a wetting agent. The "
            f"plan takes {REPELLING_EFFICIENCY:.0%} of the usual efficiency.",
            "/observations",
        )
    if case.sealed[row]:
        air = float(assessment.container_water.air_space[row]) * float(case.volume[row])
        notes.warn(
            "sealed-container",
            "stop",
            "This container cannot drain: do not flush it. The salt would stay and the roots "
            f"would drown: {figure(air)} L more than it holds after draining fills every air "
            "space. See the options.",
            f"/containers/{part.rsplit('/', maxsplit=1)[1]}/drainage",
        )
        return
    water = float(assessment.salinity.water_ec_25c[sample])
    if water >= target:
        notes.warn(
            "target-below-water",
            "stop",
            f"No amount of this water (EC {water:.2g} dS/m) brings the pore water below its own "
            f"EC, and the target is {target:.2g} dS/m. " + _with_rain(result, row),
            f"{part}/target_ec",
        )
    elif result.gypsum_bound[row]:
        return  # Told for the whole sample, beside what gypsum does to the crops.
    elif not result.practical[row]:
        _warn_of_ceiling(result, row, part, notes)
    else:
        _warn_of_doubt(result, row, part, notes)


def _with_rain(result: FlushResult, row: int) -> str:
    if result.mixed_works[row]:
        return f"With {result.rain_share[row]:.0%} of rain water mixed in it would do."
    return "Rain water mixed in would not do either, with a sensible amount."


def _warn_of_ceiling(result: FlushResult, row: int, part: str, notes: Notes) -> None:
    if result.passes_run_out[row]:
        notes.warn(
            "too-many-passes",
            "caution",
            f"So little fits on top at once that more than {MOST_PASSES} passes would be needed. "
            "Make more room above the medium, or blend or replace it.",
            part,
        )
        return
    litres = (
        f"It would take {figure(float(result.plan.applied[row]))} L a container"
        if result.plan.reached[row]
        else f"It would take more than {figure(float(np.asarray(result.case.flush.ceiling)[row]))} "
        "L a container"
    )
    notes.warn(
        "over-practical-ceiling",
        "caution",
        f"{litres}, more than {CEILING_VOLUMES:.0f} times its volume. Blending or replacing "
        "the medium is the better way.",
        part,
    )


def _warn_of_doubt(result: FlushResult, row: int, part: str, notes: Notes) -> None:
    """Say where a plan is tedious, or may turn out beyond what is practical."""
    if result.many_passes[row]:
        notes.warn(
            "many-passes",
            "caution",
            f"It takes {in_passes(int(result.plan.passes[row]))} because only "
            f"{volume(float(np.asarray(result.case.flush.pass_volume)[row]))} goes on at once. "
            "More room above the medium would make them fewer; blending or replacing it may be "
            "less work.",
            part,
        )
    if result.may_exceed_practical[row]:
        notes.warn(
            "may-exceed-practical-ceiling",
            "caution",
            f"At the upper end it would take more than {CEILING_VOLUMES:.0f} times the container's "
            "volume. Follow the drainage; if it does not come down as planned, blend or replace "
            "the medium.",
            part,
        )
