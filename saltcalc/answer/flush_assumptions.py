"""What the flush of a sample's containers rests on: target, washout figures, spreads."""

from __future__ import annotations

import math

import numpy as np

from saltcalc.answer.quantities import EC_UNIT, SHARE_UNIT, Json, quantity
from saltcalc.answer.wording import volume
from saltcalc.data.extraction import MEDIUM_KINDS, ec_conversions, extraction_methods
from saltcalc.data.substrates import substrates
from saltcalc.data.washout import washout_defaults
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.flush_case import (
    CAPACITY_SPREAD,
    DEFAULT_TARGET,
    STATED_CAPACITY_SPREAD,
)
from saltcalc.parts.notes import Notes
from saltcalc.science.plan import LARGEST_PASS, PASS_HOURS, SAMPLE_SIZE
from saltcalc.science.uncertainty import SEED


def state_flush_assumptions(assessment: Assessment, sample: int, notes: Notes) -> None:
    """List the target and the washout figures that were assumed for a sample."""
    given = assessment.given.samples
    mine = assessment.batch.plantings.sample == sample
    if math.isnan(given.target_ec[sample]) and np.all(
        np.isnan(assessment.crops.stands_up_to[mine])
    ):
        notes.assume(
            "target",
            quantity(DEFAULT_TARGET, EC_UNIT),
            "No target and no crop with a published limit was given; this is the top of the class "
            "that suits seedlings, as saturated media extract.",
            "/target_ec",
            "umass-media",
        )
    row = int(np.argmax(assessment.batch.containers.sample == sample))
    result = assessment.flush_plan
    washout = result.case.washout
    substrate = list(substrates().values())[assessment.batch.samples.substrate[sample]]
    defaults = washout_defaults()[substrate.medium_class]
    if math.isnan(given.leaching_efficiency[sample]):
        notes.assume(
            "leaching-efficiency",
            _spread(washout.efficiency, row, SHARE_UNIT),
            "Some of the water runs down the wall and through cracks without taking salt along; "
            f"the usual share for {substrate.medium_class}"
            + (" that repels water." if result.case.repelling[row] else "."),
            "/leaching_efficiency",
            defaults.source,
            *(("rewetting-bark",) if result.case.repelling[row] else ()),
        )
    for name, unit, reason in (
        ("immobile_share", SHARE_UNIT, "Part of the water in the medium does not flow."),
        ("exchange_rate", "1/h", "Its salt comes out into the flowing water at this rate."),
        ("store_ratio", SHARE_UNIT, "Salt held on the medium, over that in its water."),
    ):
        notes.assume(
            name.replace("_", "-"),
            _spread(getattr(washout, name), row, unit),
            f"{reason} The usual figure for {substrate.medium_class}.",
            "/medium/substrate",
            defaults.source,
        )
    _state_conversion(assessment, sample, row, notes)
    _state_largest_pass(assessment, sample, notes)
    notes.assume(
        "pass-time",
        quantity(PASS_HOURS, "h"),
        "Time for one pass to sink in and drain. Common practice, no source.",
        "",
        "common-practice",
    )


def _state_conversion(assessment: Assessment, sample: int, row: int, notes: Notes) -> None:
    case = assessment.flush_plan.case
    method = extraction_methods()[assessment.batch.samples.extraction[sample]]
    kind = MEDIUM_KINDS[assessment.salinity.medium_kind[sample]]
    factor = float(case.pore_over_reading[row])
    _, low, high = (float(np.asarray(part)[row]) for part in case.conversion)
    notes.assume(
        "pore-water-over-reading",
        quantity(factor, SHARE_UNIT, factor * low, factor * high),
        f"EC of the pore water after draining, over the reading of this method ({method.name}); "
        "the spread is that of the published conversions.",
        "",
        *(conversion.source for conversion in ec_conversions(method.id, kind)),
    )


def _state_largest_pass(assessment: Assessment, sample: int, notes: Notes) -> None:
    case, containers = assessment.flush_plan.case, assessment.batch.containers
    rows = np.flatnonzero(containers.sample == sample)
    room = containers.head_space[rows] * case.area[rows] / 1000.0
    each = np.asarray(case.flush.pass_volume)[rows]
    for position in np.flatnonzero(room > each * (1 + 1e-9)):
        notes.assume(
            "largest-pass",
            quantity(float(each[position]), "L"),
            f"The head-space would take {volume(float(room[position]))}, but no pass is larger "
            f"than {LARGEST_PASS:.0%} of the medium's volume: more at once runs past it.",
            f"/containers/{position}/head_space",
            "judgement",
        )


def _spread(interval: tuple[object, object, object], row: int, unit: str) -> Json | None:
    value, low, high = (float(np.asarray(part)[row]) for part in interval)
    return quantity(value, unit, low, high)


def intervals_of_plan() -> str:
    """Say how the interval of the water is made."""
    return (
        f"Water to apply: 80 % interval over a quasi-random sample of {SAMPLE_SIZE} (seed {SEED}) "
        "of efficiency, immobile share, exchange rate, stored salt (as assumed), water held (± "
        f"{CAPACITY_SPREAD:.0%} from a table, ± {STATED_CAPACITY_SPREAD:.0%} as measured), and the "
        "conversions of EC."
    )
