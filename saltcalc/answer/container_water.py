"""Water and air in a drained container."""

from __future__ import annotations

import math

import numpy as np

from saltcalc.answer.quantities import SHARE_UNIT, Json, quantity
from saltcalc.data.substrates import substrates
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.notes import Notes


def answer_container_water(assessment: Assessment, row: int, sample: int, notes: Notes) -> Json:
    """Return what a drained container holds, and how wet it stays at the base."""
    water, volume = assessment.container_water, float(assessment.batch.containers.volume[row])
    samples = assessment.given.samples
    substrate = list(substrates().values())[assessment.batch.samples.substrate[sample]]
    basis = substrate.basis
    if not math.isnan(samples.container_capacity[sample]):
        basis = "measured container capacity"
    elif not math.isnan(np.asarray(samples.retention.theta_s)[sample]):
        basis = "measured retention curve"
    elif basis == "curve":
        basis = "published retention curve"
    else:
        basis = (
            f"container capacity stated at {substrate.capacity_height:g} cm, carried to this "
            "height along a borrowed curve"
        )
    stated = samples.container_capacity[sample]
    own_pores = np.fmax(
        samples.total_porosity[sample], np.asarray(samples.retention.theta_s)[sample]
    )
    pores = np.fmax(substrate.theta_s, substrate.total_porosity)
    if math.isnan(own_pores) and stated > pores:
        notes.warn(
            "capacity-above-porosity",
            "caution",
            f"The container capacity given ({stated:.0%}) is more than all the pores of "
            f"{substrate.name} ({pores:.0%}), so no air is left by it. Check the "
            "figure and the substrate, or give the total porosity.",
            "/medium/container_capacity",
        )
    return {
        "basis": basis,
        "container_capacity": quantity(float(water.container_capacity[row]), SHARE_UNIT),
        "air_space": quantity(float(water.air_space[row]), SHARE_UNIT),
        "total_porosity": quantity(float(water.total_porosity[row]), SHARE_UNIT),
        "drainable_volume": quantity(float(water.air_space[row]) * volume, "L"),
        "perched_height": quantity(float(water.perched_height[row]), "cm"),
        "profile": [
            {
                "height": quantity(float(water.layer_height[row, layer]), "cm"),
                "water": quantity(float(water.layer_water[row, layer]), SHARE_UNIT),
            }
            for layer in range(water.layer_height.shape[1])
        ],
        "sources": notes.cite(
            "van-genuchten-1980", "milks-1989", substrate.source, substrate.shape_source
        ),
    }
