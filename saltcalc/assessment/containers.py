"""Water and air in the containers of a batch."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from saltcalc.assessment.batch import Batch, FloatArray, IntArray
from saltcalc.data.substrates import substrates
from saltcalc.science.substrate import (
    RetentionCurve,
    container_water,
    curve_through_capacity,
)

REFERENCE_HEIGHT = 15.0
"""Height [cm] for which the water of a medium without a container is given."""


@dataclass(frozen=True)
class Water:
    """Water and air after free drainage; shares of the volume of the medium.

    Attributes
    ----------
    container_capacity, air_space, total_porosity : ndarray
        [L/L]
    """

    container_capacity: FloatArray
    air_space: FloatArray
    total_porosity: FloatArray


def container_waters(batch: Batch) -> Water:
    """Return the water of each container, one row a container."""
    return _waters(batch, batch.containers.sample, batch.containers.height)


def sample_waters(batch: Batch) -> Water:
    """Return the water of each sample in its first container, or at the reference height."""
    heights = np.full(batch.samples.count, REFERENCE_HEIGHT)
    owners, first = np.unique(batch.containers.sample, return_index=True)
    heights[owners] = batch.containers.height[first]
    return _waters(batch, np.arange(batch.samples.count), heights)


def _waters(batch: Batch, sample: IntArray, height: FloatArray) -> Water:
    """Let a stated capacity or porosity override that of the table, at whatever height."""
    curve = RetentionCurve(*(np.asarray(p)[batch.samples.substrate[sample]] for p in _curves()))
    water = container_water(height, curve)
    stated_capacity = batch.samples.container_capacity[sample]
    stated_porosity = batch.samples.total_porosity[sample]
    capacity = np.where(np.isnan(stated_capacity), water.container_capacity, stated_capacity)
    porosity = np.where(np.isnan(stated_porosity), water.total_porosity, stated_porosity)
    porosity = np.maximum(porosity, capacity)
    return Water(capacity, porosity - capacity, porosity)


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
