"""Water and air in the containers of a batch."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from saltcalc.case.batch import Batch
from saltcalc.data.substrates import Substrate, substrates
from saltcalc.message import say
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import Series, later, part, row_of, shown
from saltcalc.science._arrays import Codes, Flags, Floats
from saltcalc.science.extraction import Pores, dilution_factor
from saltcalc.science.substrate import (
    RetentionCurve,
    container_water,
    curve_through_capacity,
    mean_water_content,
    water_profile,
)

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

REFERENCE_HEIGHT = 15.0
"""Height [cm] for which the water of a medium without a container is given."""

PROFILE_LAYERS = 5
"""Layers in which the water of a drained container is shown."""

BASES = ("measured_capacity", "measured_curve", "published_curve", "stated_capacity")
"""Where the water of a container comes from."""

SLIVER = 0.001
"""What a curve through a stated figure leaves of air, and of water that drains [L/L]."""


class Layers(NamedTuple):
    """Layers of drained containers, the lowest first, of shape (m, layers)."""

    height: Floats
    """Middle of each above the base [cm]."""
    water: Floats
    """[L/L]"""


@dataclass(frozen=True)
class Water:
    """Water and air after free drainage; shares of the volume of the medium.

    Attributes
    ----------
    container_capacity, air_space, total_porosity : (m,) ndarray
        [L/L]
    stated : (m,) ndarray of bool
        Whether the capacity was measured, not computed from a curve.
    perched_height : (m,) ndarray
        Height of the zone above the base with less than 10 % air [cm].
    layers : callable that returns Layers
        Its water layer by layer.
    """

    container_capacity: Floats
    air_space: Floats
    total_porosity: Floats
    stated: Flags
    perched_height: Floats
    layers: Callable[[], Layers]

    @property
    def pores(self) -> Pores:
        """What holds its water, once it is drained."""
        return Pores(self.total_porosity, self.container_capacity)

    @property
    def pore_over_extract(self) -> Floats:
        """Pore water over saturated extract, by dilution alone [-]."""
        return dilution_factor(0.0, self.total_porosity, self.container_capacity)


@part
class WaterProfile:
    """Water in the layers of a drained container, the lowest first."""

    at_height: Series = shown("Middle of each layer above the base.")
    water_content: Series = shown("Water, share of the volume.")


@part
class ContainerWater:
    """Water and air in the drained container; the wet layer at the base is the perched water."""

    basis: str = shown(
        "Where the figures come from; a stated capacity is carried from its height to this one "
        "along a borrowed curve.",
        choices=BASES,
    )
    container_capacity: float = shown("Water held after drainage, share of the volume.", "1")
    air_space: float = shown("Air after drainage, share of the volume.", "1")
    total_porosity: float = shown("Pore space, share of the volume.", "1")
    drainable_volume: float = shown("Water that drains from the full medium of one container.", "L")
    perched_height: float = shown(
        "Height of the zone above the base with less than 10 % air.", "cm"
    )
    profile: WaterProfile | None = shown("Only with `?passes=all`.", optional=True)


def waters_of(batch: Batch) -> tuple[Water, Water]:
    """Return the water of each sample at the mean height of its containers, and of each container.

    The mean is by volume of medium; a sample without containers is given at the reference height.
    """
    containers, count = batch.containers, batch.samples.count
    taper = _base_over_top(batch)
    together = _waters(
        batch,
        np.concatenate([np.arange(count), containers.sample]),
        np.concatenate([mean_heights(batch), containers.height]),
        np.concatenate([_mean_by_volume(batch, taper, 1.0), taper]),
    )
    return _rows(together, slice(count)), _rows(together, slice(count, None))


def _rows(water: Water, rows: slice) -> Water:
    columns = {name: column[rows] for name, column in vars(water).items() if name != "layers"}
    layers = later(lambda: Layers(*(each[rows] for each in water.layers())))
    return Water(**columns, layers=layers)


def _base_over_top(batch: Batch) -> Floats:
    """Diameter at the base over that at the top; 1 where either is not given."""
    ratio = batch.containers.bottom_diameter / batch.containers.top_diameter
    return np.where(np.isnan(ratio), 1.0, ratio)


def mean_heights(batch: Batch) -> Floats:
    """Return the mean height of the medium in each sample's containers, by volume [cm]."""
    return _mean_by_volume(batch, batch.containers.height, REFERENCE_HEIGHT)


def _mean_by_volume(batch: Batch, values: Floats, otherwise: float) -> Floats:
    containers, count = batch.containers, batch.samples.count
    weight = containers.volume * containers.count
    total = np.bincount(containers.sample, weight, minlength=count)
    summed = np.bincount(containers.sample, weight * values, minlength=count)
    with np.errstate(invalid="ignore"):
        return np.where(total > 0, summed / total, otherwise)


def _waters(batch: Batch, sample: Codes, height: Floats, taper: Floats) -> Water:
    """Take a stated capacity as it is for this container; else integrate the curve over it."""
    samples = batch.samples
    curve = _curve(batch, sample, height, taper)
    water = container_water(height, curve, taper)
    stated_capacity = samples.container_capacity[sample]
    stated = ~np.isnan(stated_capacity)
    capacity = np.where(stated, stated_capacity, water.container_capacity)
    porosity = np.maximum(np.asarray(curve.theta_s), capacity)
    return Water(
        container_capacity=capacity,
        air_space=porosity - capacity,
        total_porosity=porosity,
        stated=stated,
        perched_height=water.perched_height,
        layers=later(lambda: Layers(*water_profile(height, curve, PROFILE_LAYERS))),
    )


def _curve(batch: Batch, sample: Codes, height: Floats, taper: Floats) -> RetentionCurve:
    """Choose the retention curve: as measured, through a stated capacity, or of the table."""
    samples = batch.samples
    shape = RetentionCurve(*(np.asarray(p)[samples.substrate[sample]] for p in _curves()))
    own = RetentionCurve(*(np.asarray(p)[sample] for p in samples.retention))
    given = ~np.isnan(own.theta_s)
    if given.any():
        shape = RetentionCurve(*(np.where(given, *pair) for pair in zip(own, shape, strict=True)))
    stated_porosity = samples.total_porosity[sample]
    capacity = samples.container_capacity[sample]
    porosity = np.where(np.isnan(stated_porosity), shape.theta_s, stated_porosity)
    # A measured capacity may lie above the pores of the table: then they are at least that.
    porosity = np.fmax(porosity, capacity)
    restated = ~np.isnan(capacity) | ~np.isnan(stated_porosity)
    if not restated.any():
        return shape
    anchor = np.where(np.isnan(capacity), mean_water_content(height, shape, taper), capacity)
    # No curve passes through full pores, nor at or below the residual water.
    anchor = np.minimum(anchor, porosity - SLIVER)
    residual = np.where(restated, np.minimum(shape.theta_r, anchor - SLIVER), shape.theta_r)
    through = curve_through_capacity(anchor, height, porosity, residual, shape.n, taper)
    return RetentionCurve(
        np.where(restated, porosity, shape.theta_s),
        residual,
        np.where(restated, through.alpha, shape.alpha),
        shape.n,
    )


@cache
def _curves() -> RetentionCurve:
    """Return the retention curves of all substrates, one row a substrate."""
    rows = list(substrates().values())

    def column(name: str) -> Floats:
        return np.array([getattr(row, name) for row in rows])

    stated = curve_through_capacity(
        column("container_capacity"),
        column("capacity_height"),
        column("total_porosity"),
        column("theta_r"),
        column("n"),
    )
    measured = np.array([row.basis == "curve" for row in rows])
    return RetentionCurve(
        theta_s=np.where(measured, column("theta_s"), stated.theta_s),
        theta_r=column("theta_r"),
        alpha=np.where(measured, column("alpha"), stated.alpha),
        n=column("n"),
    )


def show_container_water(
    assessment: Assessment, row: int, notes: Notes, *, layers: bool = False
) -> ContainerWater:
    """Return what a drained container holds, and how wet it stays at the base."""
    batch, water = assessment.batch, row_of(assessment.container_water, row)
    sample = int(batch.containers.sample[row])
    substrate = list(substrates().values())[batch.samples.substrate[sample]]
    _doubt_capacity(assessment, sample, substrate, notes)
    notes.cite("van_genuchten_1980", "milks_1989", substrate.source, substrate.shape_source)
    return ContainerWater(
        basis=_basis(assessment, sample, substrate),
        container_capacity=water.container_capacity,
        air_space=water.air_space,
        total_porosity=water.total_porosity,
        drainable_volume=water.air_space * float(batch.containers.volume[row]),
        perched_height=water.perched_height,
        profile=WaterProfile(
            Series(water.layers.height.tolist(), "cm"), Series(water.layers.water.tolist(), "1")
        )
        if layers
        else None,
    )


def _basis(assessment: Assessment, sample: int, substrate: Substrate) -> str:
    given = assessment.given.samples
    if not math.isnan(given.container_capacity[sample]):
        return "measured_capacity"
    if not math.isnan(np.asarray(given.retention.theta_s)[sample]):
        return "measured_curve"
    if substrate.basis == "curve":
        return "published_curve"
    return "stated_capacity"


def _doubt_capacity(
    assessment: Assessment, sample: int, substrate: Substrate, notes: Notes
) -> None:
    """Doubt a capacity that is more than all the pores of the substrate."""
    given = assessment.given.samples
    stated = float(given.container_capacity[sample])
    own_pores = (given.total_porosity[sample], np.asarray(given.retention.theta_s)[sample])
    pores = float(np.fmax(substrate.theta_s, substrate.total_porosity))
    if np.all(np.isnan(own_pores)) and stated > pores:
        notes.find(
            "capacity_above_porosity",
            "caution",
            "/medium/container_capacity",
            stated=stated,
            substrate=say(f"substrates.name.{substrate.id}"),
            pores=pores,
        )
