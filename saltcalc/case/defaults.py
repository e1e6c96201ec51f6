"""What is assumed where a request says nothing; the only place where anything is filled in."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from saltcalc.case.batch import (
    NOT_GIVEN,
    Batch,
    BoolArray,
    Containers,
    FloatArray,
    IntArray,
    Solutions,
)
from saltcalc.case.vocabulary import DRAINAGE, STAGES
from saltcalc.data.extraction import method_codes
from saltcalc.data.substrates import substrates
from saltcalc.science.balance import ec_floor

READING_TEMPERATURE = 25.0
"""Temperature of a reading [°C]: most meters correct to 25 °C by themselves (common practice)."""

WATER_EC = 0.5
"""EC of the irrigation water [dS/m], a mains water of moderate hardness (judgement)."""

CALCIUM_IN_HARDNESS = 0.75
"""Share of the hardness that is calcium, by charge, where only their sum is known (judgement)."""

EXTRACTION = "saturated_media_extract"
SUBSTRATE = "general-potting-mix"

HEAD_SPACE = 2.5
"""Room for water above the medium [cm] (judgement)."""

REST = 0.5
"""Rest between the passes of a flush [h], of the usual 30 to 60 minutes (common practice)."""

EVAPOTRANSPIRATION = 4.0
"""Water use [mm/day] of a crop under cover in the warm season (judgement)."""

LEACHING_FRACTION = 0.15
"""Share of the daily water that drains where none is told (judgement). [L/L]

The upper end of what is advised.
"""

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

    given_medium = _complete(samples.medium, "medium", used)
    given_water = _complete(samples.water, "water", used)
    medium = replace(
        given_medium,
        temperature=numbers(
            "medium-temperature",
            "samples",
            given_medium.temperature,
            np.full(samples.count, READING_TEMPERATURE),
        ),
    )
    water = replace(
        given_water,
        ec=numbers("water-ec", "samples", given_water.ec, np.full(samples.count, WATER_EC)),
        temperature=numbers(
            "water-temperature",
            "samples",
            given_water.temperature,
            np.full(samples.count, READING_TEMPERATURE),
        ),
    )
    use = numbers(
        "evapotranspiration",
        "samples",
        samples.evapotranspiration,
        np.full(samples.count, EVAPOTRANSPIRATION),
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
            rest=numbers("rest", "samples", samples.rest, np.full(samples.count, REST)),
            evapotranspiration=use,
            irrigation=numbers(
                "irrigation", "samples", samples.irrigation, use / (1.0 - LEACHING_FRACTION)
            ),
            feed_ec=numbers("feed-ec", "samples", samples.feed_ec, np.zeros(samples.count)),
        ),
        containers=replace(
            containers,
            height=numbers(
                "container-height", "containers", containers.height, _height(containers)
            ),
            head_space=numbers(
                "head-space",
                "containers",
                containers.head_space,
                np.full(containers.volume.shape, HEAD_SPACE),
            ),
            moisture=numbers(
                "moisture", "containers", containers.moisture, np.ones(containers.volume.shape)
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


def rows_filled(defaults: Iterable[Default], name: str) -> BoolArray:
    """Return where a default was filled in."""
    return next(default.rows for default in defaults if default.id == name)


def _complete(solution: Solutions, name: str, used: list[Default]) -> Solutions:
    """Take ions from the sums they were given in, and a floor of EC from the ions."""
    ions = dict(solution.ions)

    def fill_ion(ion: str, source: str, value: FloatArray) -> None:
        rows = np.isnan(ions[ion]) & ~np.isnan(value)
        used.append(Default(f"{name}-{ion}-from-{source}", "samples", rows, value))
        ions[ion] = np.where(rows, value, ions[ion])

    calcium, magnesium = ions["calcium"], ions["magnesium"]
    fill_ion("bicarbonate", "alkalinity", solution.alkalinity)
    fill_ion(
        "calcium",
        "hardness",
        np.where(
            np.isnan(magnesium),
            CALCIUM_IN_HARDNESS * solution.hardness,
            np.maximum(solution.hardness - magnesium, 0.0),
        ),
    )
    fill_ion(
        "magnesium",
        "hardness",
        np.where(
            np.isnan(calcium),
            (1 - CALCIUM_IN_HARDNESS) * solution.hardness,
            np.maximum(solution.hardness - calcium, 0.0),
        ),
    )
    floor = np.full(solution.ec.shape, np.nan)
    unread = np.isnan(solution.ec)
    if np.any(unread):
        floor[unread] = ec_floor(
            {ion: value[unread] for ion, value in ions.items()}, solution.ph[unread]
        ).ec
    rows = ~np.isnan(floor)
    used.append(Default(f"{name}-ec-floor", "samples", rows, floor))
    return replace(
        solution,
        ec=np.where(rows, floor, solution.ec),
        temperature=np.where(rows, READING_TEMPERATURE, solution.temperature),
        ions=ions,
    )


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


def _height(containers: Containers) -> FloatArray:
    """Height [cm] from the diameters, or of a round container that is as wide as it is high."""
    top, base = containers.top_diameter, containers.bottom_diameter
    tapered = 12_000 * containers.volume / (np.pi * (top**2 + top * base + base**2))
    upright = np.cbrt(4_000 * containers.volume / np.pi)
    return np.where(np.isnan(tapered), upright, tapered)
