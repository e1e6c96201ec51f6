"""What is assumed where a request says nothing; the only place where anything is filled in."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from saltcalc.assessment.batch import NOT_GIVEN, Batch, BoolArray, FloatArray, IntArray
from saltcalc.assessment.vocabulary import DRAINAGE, STAGES
from saltcalc.data.extraction import method_codes
from saltcalc.data.substrates import substrates

READING_TEMPERATURE = 25.0
"""Temperature of a reading [°C]: most meters correct to 25 °C by themselves."""

WATER_EC = 0.5
"""EC of the irrigation water [dS/m], a mains water of moderate hardness."""

EXTRACTION = "saturated_media_extract"
SUBSTRATE = "general-potting-mix"

Table = Literal["samples", "containers", "plantings"]


@dataclass(frozen=True)
class Default:
    """A value that was filled in.

    Attributes
    ----------
    id : str
        Which default it is.
    table : str
        Whose rows ``rows`` are.
    rows : ndarray of bool
        Where it was filled in.
    values : ndarray
        The numbers, or the codes, that were filled in; of the length of ``rows``.
    """

    id: str
    table: Table
    rows: BoolArray
    values: FloatArray | IntArray


def fill(batch: Batch) -> tuple[Batch, tuple[Default, ...]]:
    """Return the batch with every gap that a default can close filled, and the defaults used."""
    samples, containers, plantings = batch.samples, batch.containers, batch.plantings
    used: list[Default] = []

    def numbers(name: str, table: Table, given: FloatArray, value: FloatArray) -> FloatArray:
        rows = np.isnan(given)
        used.append(Default(name, table, rows, value))
        return np.where(rows, value, given)

    def codes(name: str, table: Table, given: IntArray, value: int) -> IntArray:
        rows = given == NOT_GIVEN
        values = np.full(given.shape, value)
        used.append(Default(name, table, rows, values))
        return np.where(rows, values, given)

    medium = replace(
        samples.medium,
        temperature=numbers(
            "medium-temperature",
            "samples",
            samples.medium.temperature,
            np.full(samples.count, READING_TEMPERATURE),
        ),
    )
    water = replace(
        samples.water,
        ec=numbers("water-ec", "samples", samples.water.ec, np.full(samples.count, WATER_EC)),
        temperature=numbers(
            "water-temperature",
            "samples",
            samples.water.temperature,
            np.full(samples.count, READING_TEMPERATURE),
        ),
    )
    filled = Batch(
        samples=replace(
            samples,
            medium=medium,
            water=water,
            extraction=codes(
                "extraction",
                "samples",
                samples.extraction,
                method_codes()[EXTRACTION],
            ),
            substrate=codes(
                "substrate", "samples", samples.substrate, tuple(substrates()).index(SUBSTRATE)
            ),
        ),
        containers=replace(
            containers,
            height=numbers(
                "container-height", "containers", containers.height, _cubic(containers.volume)
            ),
            count=codes("container-count", "containers", containers.count, 1),
            drainage=codes(
                "container-drainage", "containers", containers.drainage, DRAINAGE.index("open")
            ),
        ),
        plantings=replace(
            plantings,
            stage=codes("stage", "plantings", plantings.stage, STAGES.index("seedling")),
        ),
        thriving=batch.thriving,
    )
    return filled, tuple(used)


def of_sample(defaults: Iterable[Default], batch: Batch, sample: int) -> list[tuple[Default, int]]:
    """Return the defaults that entered one sample, each with its row in its own table."""
    owners = {
        "samples": np.arange(batch.samples.count),
        "containers": batch.containers.sample,
        "plantings": batch.plantings.sample,
    }
    return [
        (default, int(row))
        for default in defaults
        for row in np.flatnonzero(default.rows & (owners[default.table] == sample))
    ]


def _cubic(volume: FloatArray) -> FloatArray:
    """Height [cm] of a round container that is as wide as it is high."""
    return np.cbrt(4_000 * volume / np.pi)
