"""Water and air in the containers of a batch."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from saltcalc.case.batch import Batch, BoolArray, FloatArray, IntArray
from saltcalc.data.substrates import substrates
from saltcalc.science.substrate import (
    RetentionCurve,
    container_water,
    curve_through_capacity,
    mean_water_content,
    water_profile,
)

REFERENCE_HEIGHT = 15.0
"""Height [cm] for which the water of a medium without a container is given."""


PROFILE_LAYERS = 5
"""Layers in which the water of a drained container is shown."""


SLIVER = 0.001
"""What a curve through a stated figure leaves of air, and of water that drains [L/L]."""


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
    layer_height, layer_water : (m, layers) ndarray
        Middle of each layer above the base [cm], and its water [L/L], lowest layer first.
    """

    container_capacity: FloatArray
    air_space: FloatArray
    total_porosity: FloatArray
    stated: BoolArray
    perched_height: FloatArray
    layer_height: FloatArray
    layer_water: FloatArray


def container_waters(batch: Batch) -> Water:
    """Return the water of each container, one row a container."""
    containers = batch.containers
    return _waters(
        batch,
        containers.sample,
        containers.height,
        np.where(
            np.isnan(containers.top_diameter),
            1.0,
            containers.bottom_diameter / containers.top_diameter,
        ),
    )


def sample_waters(batch: Batch) -> Water:
    """Return the water of each sample at the mean height of its containers.

    The mean is by volume of medium; a sample without containers is given at the reference height.
    """
    ratio = batch.containers.bottom_diameter / batch.containers.top_diameter
    taper = _mean_by_volume(batch, np.where(np.isnan(ratio), 1.0, ratio), 1.0)
    return _waters(batch, np.arange(batch.samples.count), mean_heights(batch), taper)


def mean_heights(batch: Batch) -> FloatArray:
    """Return the mean height of the medium in each sample's containers, by volume [cm]."""
    return _mean_by_volume(batch, batch.containers.height, REFERENCE_HEIGHT)


def _mean_by_volume(batch: Batch, values: FloatArray, otherwise: float) -> FloatArray:
    containers, count = batch.containers, batch.samples.count
    weight = containers.volume * containers.count
    total = np.bincount(containers.sample, weight, minlength=count)
    summed = np.bincount(containers.sample, weight * values, minlength=count)
    with np.errstate(invalid="ignore"):
        return np.where(total > 0, summed / total, otherwise)


def _waters(batch: Batch, sample: IntArray, height: FloatArray, taper: FloatArray) -> Water:
    """Take a stated capacity as it is for this container; else integrate the curve over it."""
    samples = batch.samples
    curve = _curve(batch, sample, height, taper)
    water = container_water(height, curve, taper)
    stated_capacity = samples.container_capacity[sample]
    stated = ~np.isnan(stated_capacity)
    capacity = np.where(stated, stated_capacity, water.container_capacity)
    porosity = np.maximum(np.asarray(curve.theta_s), capacity)
    layer_height, layer_water = water_profile(height, curve, PROFILE_LAYERS)
    return Water(
        container_capacity=capacity,
        air_space=porosity - capacity,
        total_porosity=porosity,
        stated=stated,
        perched_height=water.perched_height,
        layer_height=layer_height,
        layer_water=layer_water,
    )


def _curve(batch: Batch, sample: IntArray, height: FloatArray, taper: FloatArray) -> RetentionCurve:
    """Choose the retention curve: as measured, through a stated capacity, or of the table."""
    samples = batch.samples
    table = RetentionCurve(*(np.asarray(p)[samples.substrate[sample]] for p in _curves()))
    own = RetentionCurve(*(np.asarray(p)[sample] for p in samples.retention))
    given = ~np.isnan(own.theta_s)
    shape = RetentionCurve(
        *(np.where(given, mine, other) for mine, other in zip(own, table, strict=True))
    )
    stated_porosity = samples.total_porosity[sample]
    capacity = samples.container_capacity[sample]
    porosity = np.where(np.isnan(stated_porosity), shape.theta_s, stated_porosity)
    # A measured capacity may lie above the pores of the table: then they are at least that.
    porosity = np.fmax(porosity, capacity)
    anchor = np.where(np.isnan(capacity), mean_water_content(height, shape, taper), capacity)
    restated = ~np.isnan(capacity) | ~np.isnan(stated_porosity)
    if not restated.any():
        return shape
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

    def column(name: str) -> FloatArray:
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
