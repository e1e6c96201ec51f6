"""How to take each container down once: litres, passes, and where to stop."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from saltcalc.assessment.batch import Batch, BoolArray, FloatArray
from saltcalc.assessment.containers import Water
from saltcalc.assessment.salinity import Salinity
from saltcalc.assessment.vocabulary import DRAINAGE
from saltcalc.science.blend import blend_share
from saltcalc.science.extraction import (
    from_saturated_extract,
    to_pore_water,
    to_saturated_extract,
)
from saltcalc.science.well_mixed import drained_for_target, ec_after_flush

DEFAULT_TARGET = 2.0
"""EC of the saturated extract [dS/m] at the top of the class that suits seedlings."""

DEFAULT_EFFICIENCY = 0.7
"""Share of the draining water that takes salt along."""

CLEAN_MEDIUM = 0.8
"""EC of the saturated extract [dS/m] of a low-salt medium to blend with."""

MOST_PASSES = 60


@dataclass(frozen=True)
class FlushPlan:
    """Plans, one row a container; passes are columns, NaN after the last.

    Attributes
    ----------
    sealed : (m,) ndarray of bool
        Where nothing may be flushed in place.
    water_held : (m,) ndarray
        Water in one container after drainage [L].
    target_reading : (m,) ndarray
        Where to bring the medium, by its own extraction method [dS/m].
    target_pore_water : (m,) ndarray
        The same as pore water, and as drainage [dS/m].
    needed : (m,) ndarray of bool
        Where the medium is above its target.
    reachable : (m,) ndarray of bool
        Where this water can reach it.
    water_per_container : (m,) ndarray
        Water to pour through one container [L].
    applied, ec_medium, ec_drainage : (m, passes) ndarray
        Of each pass [L], [dS/m], [dS/m].
    salty_share : (m,) ndarray
        Share by volume of the salty medium in a blend with a low-salt one [L/L].
    """

    sealed: BoolArray
    water_held: FloatArray
    target_reading: FloatArray
    target_pore_water: FloatArray
    needed: BoolArray
    reachable: BoolArray
    water_per_container: FloatArray
    applied: FloatArray
    ec_medium: FloatArray
    ec_drainage: FloatArray
    salty_share: FloatArray


def plan_flush(
    batch: Batch, salinity: Salinity, water: Water, stands_up_to: FloatArray
) -> FlushPlan:
    """Plan the flush of every container of a batch.

    Parameters
    ----------
    batch : Batch
        With its gaps filled.
    salinity : Salinity
        Of its samples.
    water : Water
        Of its containers.
    stands_up_to : (k,) ndarray
        EC of the saturated extract that each planting stands [dS/m].
    """
    containers, samples = batch.containers, batch.samples
    owner = containers.sample
    method, kind = samples.extraction[owner], salinity.medium_kind[owner]
    pores = {
        "total_porosity": water.total_porosity,
        "container_capacity": water.container_capacity,
    }
    extract_target = target_extracts(batch, stands_up_to)[owner]
    own_target = samples.target_ec[owner]
    target_reading = np.where(
        np.isnan(own_target),
        from_saturated_extract(extract_target, method, kind, **pores).value,
        own_target,
    )
    start = to_pore_water(salinity.ec_25c[owner], method, kind, **pores).value
    target = to_pore_water(target_reading, method, kind, **pores).value
    ec_water = salinity.water_ec_25c[owner]
    efficiency = np.where(
        np.isnan(samples.leaching_efficiency[owner]),
        DEFAULT_EFFICIENCY,
        samples.leaching_efficiency[owner],
    )
    held = containers.volume * water.container_capacity
    sealed = containers.drainage == DRAINAGE.index("sealed")
    drained = held * drained_for_target(start, ec_water, target, efficiency)
    reachable = np.isfinite(drained)
    litres = np.where(reachable & ~sealed, drained, np.nan)
    applied = _passes(litres, containers.volume * containers.head_space / containers.height)
    ec_after = ec_after_flush(
        start[:, np.newaxis],
        ec_water[:, np.newaxis],
        np.cumsum(applied, axis=1) / held[:, np.newaxis],
        efficiency[:, np.newaxis],
    )
    return FlushPlan(
        sealed=sealed,
        water_held=held,
        target_reading=target_reading,
        target_pore_water=target,
        needed=start > target,
        reachable=reachable,
        water_per_container=litres,
        applied=applied,
        ec_medium=ec_after,
        ec_drainage=ec_after,
        salty_share=blend_share(
            salinity.saturated_extract.value[owner],
            CLEAN_MEDIUM,
            to_saturated_extract(target_reading, method, kind, **pores).value,
        ),
    )


def target_extracts(batch: Batch, stands_up_to: FloatArray) -> FloatArray:
    """EC of the saturated extract that suits the most sensitive planting of each sample [dS/m]."""
    targets = np.full(batch.samples.count, np.inf)
    known = ~np.isnan(stands_up_to)
    np.minimum.at(targets, batch.plantings.sample[known], stands_up_to[known])
    return np.where(np.isinf(targets), DEFAULT_TARGET, targets)


def _passes(litres: FloatArray, room: FloatArray) -> FloatArray:
    """Split the water into equal passes, none larger than the head-space; NaN after the last."""
    counts = np.ceil(np.nan_to_num(litres) / room).astype(int)
    counts = np.minimum(counts, MOST_PASSES)
    columns = np.arange(max(int(counts.max(initial=0)), 1))
    with np.errstate(divide="ignore", invalid="ignore"):
        each = (litres / counts)[:, np.newaxis]
    return np.where(columns < counts[:, np.newaxis], each, np.nan)
