"""What an answer took for granted: the defaults that entered it, and how open texts were read."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from saltcalc.case.batch import READING_TEMPERATURE
from saltcalc.case.defaults import Default
from saltcalc.data.extraction import PORE_WATER, extraction_methods
from saltcalc.message import Message, say
from saltcalc.parts.containers import REFERENCE_HEIGHT, mean_heights
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import Amount
from saltcalc.science._arrays import Flags, Floats
from saltcalc.science.temperature import ec25_handbook60

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

OF_MEDIUM = frozenset({"medium", "substrate"})
OF_WATER = frozenset({"water", "water_temperature"})
OF_CONTAINERS = frozenset({"container", "flush", "water_use", "upkeep", "brought"})
OF_UPKEEP = frozenset({"upkeep", "brought"})
OF_PLANTINGS = frozenset({"planting"})
OF_IONS = frozenset({"ions"})

ALL = OF_MEDIUM | OF_WATER | OF_CONTAINERS | OF_PLANTINGS | OF_IONS


def uses_of(assessment: Assessment, sample: int) -> frozenset[str]:
    """Return the uses of inputs that enter the whole answer to a sample."""
    has_ec = not np.isnan(assessment.batch.samples.medium.ec[sample])
    unused: set[str] = set()
    if not has_ec:
        unused |= OF_MEDIUM
    if not (has_ec and assessment.containers_of(sample)):
        unused |= OF_CONTAINERS | {"water"}
    if not assessment.water_is_known[sample]:
        unused.add("water_temperature")
    of_retest = {"previous"} if assessment.batch.previous.known[sample] else set()
    return (ALL - unused) | of_retest


def state_defaults(assessment: Assessment, sample: int, uses: frozenset[str], notes: Notes) -> None:
    """List the defaults that entered one sample's answer.

    Parameters
    ----------
    assessment : Assessment
        Of the batch.
    sample : int
        Which sample the answer is about.
    uses : frozenset of str
        The uses of inputs that entered this answer.
    notes : Notes
        Where to list them.
    """
    rows_of = {
        "containers": assessment.containers_of(sample),
        "plantings": assessment.plantings_of(sample),
    }
    first = {table: rows[0] for table, rows in rows_of.items() if rows}
    for default, row in assessment.defaults_of[sample]:
        if default.use in uses:
            notes.assume(
                default.assumption,
                _value(default, row),
                say(f"assumption.{default.assumption}"),
                default.field.format(position=row - first.get(default.table, 0)),
                "judgement",
            )


def _value(default: Default, row: int) -> Any:
    value = default.values[row]
    if default.ids:
        return default.ids[value]
    return Amount(float(value), default.unit) if default.unit else int(value)


def state_mean_height(assessment: Assessment, sample: int, notes: Notes) -> None:
    """Say for which height the pore water of a medium in unlike containers is given."""
    if len({*assessment.batch.containers.height[assessment.containers_of(sample)].tolist()}) > 1:
        notes.assume(
            "mean_height",
            Amount(float(mean_heights(assessment.batch)[sample]), "cm"),
            say("assumption.mean_height"),
            "/containers",
            "judgement",
        )


def state_reference_height(
    assessment: Assessment, sample: int, notes: Notes, field: str, to: str = "saturated_paste"
) -> None:
    """Say how high a medium is taken to stand where a reading is brought over by it.

    Between the water in the pores and an extract stands how much water the medium holds.

    Parameters
    ----------
    assessment : Assessment
        Of the sample.
    sample : int
        Which sample.
    notes : Notes
        Where to say it.
    field : str
        Pointer to what overrides it.
    to : str, optional
        Method that the reading is brought to.
    """
    samples, methods = assessment.batch.samples, {each.id: each for each in extraction_methods()}
    own = extraction_methods()[samples.extraction[sample]]
    known = not math.isnan(samples.container_capacity[sample])
    if (own.basis == PORE_WATER) == (methods[to].basis == PORE_WATER) or known:
        return
    if assessment.containers_of(sample):
        state_mean_height(assessment, sample, notes)
    else:
        height = Amount(REFERENCE_HEIGHT, "cm")
        reason = say("assumption.reference_height")
        notes.assume("reference_height", height, reason, field, "common_practice")


DECIMAL_COMMA = "unit.read_as_decimal"
"""Id of the message that a comma was read as the decimal mark."""


def state_readings(readings: Iterable[tuple[str, Message]], notes: Notes) -> None:
    """List how texts were read where they left something open."""
    for pointer, sentence in readings:
        what = "reading_of_name" if sentence.id.startswith("names.") else "reading_of_unit"
        if sentence.id == DECIMAL_COMMA:
            what = "reading_of_comma"
        notes.assume(what, sentence, say(f"assumption.{what}"), pointer)


def find_unknown_crops(assessment: Assessment, sample: int, notes: Notes) -> None:
    """Say which crops have no figure of their own in any table."""
    batch = assessment.batch
    for table, rows in (("crops", batch.plantings), ("thriving_crops", batch.thriving)):
        for place, code in enumerate(rows.crop[rows.sample == sample]):
            crop = assessment.catalogue[int(code)]
            if crop.listed:
                continue
            near = say("crops.near", crops=list(crop.near)) if crop.near else ""
            field = f"/{table}/{place}" + ("/crop" if table == "crops" else "")
            notes.find("crop_not_in_tables", "caution", field, crop=crop.name, near=near)
            notes.cite("judgement")


@dataclass(frozen=True)
class EcReadings:
    """Readings of EC.

    Attributes
    ----------
    ec : (n,) ndarray
        At 25 °C [dS/m]; NaN where not given.
    assumed : (n,) ndarray of bool
        Where a reading without a temperature was taken as one at 25 °C.
    """

    ec: Floats
    assumed: Flags


def ec_readings(ec: Floats, temperature: Floats) -> EcReadings:
    """Bring readings to 25 °C; those without a temperature are taken as read there.

    Parameters
    ----------
    ec : (n,) ndarray
        As read [dS/m]; NaN where not given.
    temperature : (n,) ndarray
        Of the reading [°C]; NaN where not given.
    """
    unknown = np.isnan(temperature)
    return EcReadings(
        ec=np.asarray(ec25_handbook60(ec, np.where(unknown, READING_TEMPERATURE, temperature))),
        assumed=unknown & ~np.isnan(ec),
    )


def state_reading_temperatures(readings: EcReadings, rows: str, field: str, notes: Notes) -> None:
    """List that readings without a temperature were taken as read at 25 °C.

    Parameters
    ----------
    readings : EcReadings
        Of drainage, or of what was poured on.
    rows : str
        The list of the request that they stand in, for example ``pots``.
    field : str
        The field of a row that overrides it.
    notes : Notes
        Where to list them.
    """
    for position in np.flatnonzero(readings.assumed):
        notes.assume(
            "reading_temperature",
            Amount(READING_TEMPERATURE, "°C"),
            say("assumption.reading_temperature"),
            f"/{rows}/{position}/{field}",
            "judgement",
        )
