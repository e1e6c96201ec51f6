"""What a flush takes for granted."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.vocabulary import MEANS
from saltcalc.data.extraction import MEDIUM_KINDS, ec_conversions, extraction_methods
from saltcalc.data.substrates import substrates
from saltcalc.data.washout import washout_defaults
from saltcalc.data.watering import WETTING_STATES, wetting_reaches
from saltcalc.message import Message, say
from saltcalc.parts.flush.case import (
    CAPACITY_SPREAD,
    DEFAULT_TARGET,
    DRIPPER_FLOW,
    STATED_CAPACITY_SPREAD,
    intake_of,
    wetting_state,
)
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import Amount, row_of
from saltcalc.parts.water import assume_rain
from saltcalc.science.flush import LAYERS
from saltcalc.science.instruction import SAMPLE_SIZE
from saltcalc.science.plan import LARGEST_PASS
from saltcalc.science.sampled_pots import LAYERS_DRAWN
from saltcalc.science.uncertainty import SEED

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment


def assume_flush(assessment: Assessment, sample: int, notes: Notes) -> None:
    """List what the flush of a sample's containers rests on: target, washout figures, spreads."""
    given, samples = assessment.given.samples, assessment.batch.samples
    rows = assessment.containers_of(sample)
    tolerated = assessment.crops.max_tolerated_ec[assessment.plantings_of(sample)]
    if math.isnan(given.target_ec[sample]) and np.all(np.isnan(tolerated)):
        target = Amount(DEFAULT_TARGET, "dS/m")
        notes.assume("target", target, say("assumption.target"), "/target_ec", "umass_media")
    case = row_of(assessment.flush_case, rows[0])
    medium = list(substrates().values())[samples.substrate[sample]].medium_class
    named, source = say(f"medium_class.{medium}"), washout_defaults()[medium].source
    washout = case.known.washout
    if math.isnan(given.leaching_efficiency[sample]):
        notes.assume(
            "leaching_efficiency",
            Amount.of(washout.efficiency, "1"),
            say("assumption.leaching_efficiency", medium=named),
            "/leaching_efficiency",
            source,
        )
    for assumption, figure, unit in (
        ("immobile_water_fraction", washout.immobile_water_fraction, "1"),
        ("mass_transfer_coefficient", washout.mass_transfer_coefficient, "1/h"),
        ("sorbed_ratio", washout.sorbed_ratio, "1"),
    ):
        reason = say(f"assumption.{assumption}", medium=named)
        notes.assume(assumption, Amount.of(figure, unit), reason, "/medium/substrate", source)
    if case.repelling:
        _assume_wetting(assessment, rows[0], notes)
    layers = [each for each, _ in LAYERS_DRAWN]
    notes.assume(
        "layers",
        Amount(LAYERS, "1", min(layers), max(layers)),
        say("assumption.layers"),
        "",
        "judgement",
    )
    method = extraction_methods()[samples.extraction[sample]]
    kind = MEDIUM_KINDS[assessment.salinity.medium_kind[sample]]
    _, low, high = case.known.conversion
    factor = case.pore_over_reading
    if math.isfinite(factor):  # not of a reading of zero
        notes.assume(
            "pore_water_over_reading",
            Amount(factor, "1", factor * low, factor * high),
            say(
                "assumption.pore_water_over_reading",
                method=say(f"extraction_methods.name.{method.id}"),
            ),
            "",
            *(conversion.source for conversion in ec_conversions(method.id, kind)),
        )
    for place, row in enumerate(rows):
        _assume_largest_pass(assessment, row, place, notes)
    _assume_pouring(assessment, sample, rows[0], notes)


def _assume_wetting(assessment: Assessment, row: int, notes: Notes) -> None:
    """Say what part of a medium that repels water stays dry."""
    case, batch = assessment.flush_case, assessment.batch
    state = WETTING_STATES[int(wetting_state(batch, case.repelling)[row])]
    notes.assume(
        "dry_places",
        Amount.of(row_of(case.known.start.unswept, row), "1"),
        say(f"assumption.dry_places_{state}"),
        "/medium/wetting_agent",
        wetting_reaches()[state].source,
        "rewetting_bark",
    )


def _assume_pouring(assessment: Assessment, sample: int, row: int, notes: Notes) -> None:
    """Say how fast the water is taken to sink in, and what flow the means has."""
    given, case = assessment.given.samples, assessment.flush_case
    substrate = list(substrates())[assessment.batch.samples.substrate[sample]]
    if math.isnan(given.sink_time[sample]):
        rate = intake_of(substrate)
        notes.assume(
            "intake_rate",
            Amount(rate.rate.value, "mm/h", rate.rate.low, rate.rate.high),
            say("assumption.intake_rate"),
            "/medium/sink_time",
            rate.source,
        )
    if MEANS[case.by[row]] == "dripper" and math.isnan(given.flow[sample]):
        flow = Amount(DRIPPER_FLOW, "L/h")
        notes.assume("flow", flow, say("assumption.flow"), "/means/flow", "common_practice")
    if MEANS[case.by[row]] == "rain":
        assume_rain(notes)


def _assume_largest_pass(assessment: Assessment, row: int, place: int, notes: Notes) -> None:
    """Say where more water would fit on top than one pass is planned with."""
    case = assessment.flush_case
    each = float(np.asarray(case.flush.pass_volume)[row])
    room = float(assessment.batch.containers.head_space[row] * case.area[row] / 1000.0)
    if room > each * (1 + 1e-9):
        notes.assume(
            "largest_pass",
            Amount(each, "L"),
            say("assumption.largest_pass", room=room, most=LARGEST_PASS),
            f"/containers/{place}/head_space",
            "judgement",
        )


def say_intervals() -> Message:
    """Say how the interval of the water is made."""
    return say(
        "flush.intervals",
        size=SAMPLE_SIZE,
        seed=SEED,
        from_table=CAPACITY_SPREAD,
        measured=STATED_CAPACITY_SPREAD,
    )
