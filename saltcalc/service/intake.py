"""From loaded requests to the column tables of a batch."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from saltcalc.answer.assessment import Labels
from saltcalc.case.batch import (
    NOT_GIVEN,
    Batch,
    Containers,
    FloatArray,
    IntArray,
    Plantings,
    Samples,
    Solutions,
    ThrivingCrops,
)
from saltcalc.case.vocabulary import DRAINAGE, MICRONUTRIENT_EXTRACTS, STAGES
from saltcalc.data.extraction import method_codes
from saltcalc.data.nutrients import MICRONUTRIENTS
from saltcalc.data.observations import observations
from saltcalc.data.reported_ions import reported_ions
from saltcalc.data.slow_release import slow_releases
from saltcalc.data.substrates import substrates
from saltcalc.science.substrate import RetentionCurve
from saltcalc.service.catalogues import crop_catalogue
from saltcalc.units import Measured

Request = Mapping[str, Any]


def batch_of(requests: Sequence[Request]) -> Batch:
    """Lay out loaded requests as column tables.

    Parameters
    ----------
    requests : sequence of mapping
        Each as loaded by a request schema; only the members that it has are used.
    """
    samples = Samples(
        medium=_solutions([request.get("medium", {}) for request in requests]),
        water=_solutions([request.get("water", {}) for request in requests]),
        extraction=_codes(
            [request.get("medium", {}).get("extraction") for request in requests],
            tuple(method_codes()),
        ),
        substrate=_codes(
            [request.get("medium", {}).get("substrate") for request in requests],
            tuple(substrates()),
        ),
        container_capacity=_numbers(
            request.get("medium", {}).get("container_capacity") for request in requests
        ),
        total_porosity=_numbers(
            request.get("medium", {}).get("total_porosity") for request in requests
        ),
        water_content=_numbers(
            request.get("medium", {}).get("water_content") for request in requests
        ),
        target_ec=_numbers(request.get("target_ec") for request in requests),
        leaching_efficiency=_numbers(request.get("leaching_efficiency") for request in requests),
        evapotranspiration=_numbers(request.get("evapotranspiration") for request in requests),
        micronutrients={
            element: _numbers(
                request.get("medium", {}).get("micronutrients", {}).get(element)
                for request in requests
            )
            for element in MICRONUTRIENTS
        },
        micronutrient_extract=_codes(
            [
                request.get("medium", {}).get("micronutrients", {}).get("extract", "water")
                for request in requests
            ],
            MICRONUTRIENT_EXTRACTS,
        ),
        observations=np.array(
            [
                [sign in request.get("observations", ()) for sign in observations()]
                for request in requests
            ]
        ),
        not_seen=np.array(
            [
                [sign in request.get("not_seen", ()) for sign in observations()]
                for request in requests
            ]
        ),
        plant_age=_numbers(request.get("plant_age") for request in requests),
        root_zone_temperature=_numbers(
            request.get("root_zone_temperature") for request in requests
        ),
        retention=RetentionCurve(
            *(
                _numbers(
                    request.get("medium", {}).get("retention", {}).get(name) for request in requests
                )
                for name in RetentionCurve._fields
            )
        ),
        slow_release=_codes(
            [request.get("medium", {}).get("slow_release") for request in requests],
            tuple(slow_releases()),
        ),
        rest=_numbers(request.get("rest") for request in requests),
        irrigation=_numbers(request.get("irrigation") for request in requests),
        feed_ec=_numbers(request.get("feed_ec") for request in requests),
    )
    return Batch(samples, _containers(requests), _plantings(requests), _thriving(requests))


def labels_of(request: Request) -> Labels:
    """Return what the answer repeats of a request: names, and how texts were read."""
    return Labels(
        containers=[container.get("name") for container in request.get("containers", [])],
        readings=list(_readings(request, "")),
    )


def _readings(node: Any, pointer: str) -> Iterator[tuple[str, str]]:
    if isinstance(node, Measured):
        if node.reading:
            yield pointer, node.reading
    elif isinstance(node, Mapping):
        for name, member in node.items():
            yield from _readings(member, f"{pointer}/{name}")
    elif isinstance(node, list):
        for position, member in enumerate(node):
            yield from _readings(member, f"{pointer}/{position}")


def _solutions(given: Sequence[Request]) -> Solutions:
    return Solutions(
        ec=_numbers(solution.get("ec") for solution in given),
        temperature=_numbers(solution.get("temperature") for solution in given),
        ph=_numbers(solution.get("ph") for solution in given),
        ions={
            ion: _numbers(solution.get("ions", {}).get(ion) for solution in given)
            for ion in reported_ions()
        },
        written={
            ion: np.array([_unit_written(solution.get("ions", {}).get(ion)) for solution in given])
            for ion in reported_ions()
        },
        alkalinity=_numbers(solution.get("alkalinity") for solution in given),
        hardness=_numbers(solution.get("hardness") for solution in given),
    )


def _containers(requests: Sequence[Request]) -> Containers:
    owners, rows = _rows(requests, "containers")
    return Containers(
        sample=owners,
        name=np.array([row.get("name") for row in rows], dtype=object),
        volume=_numbers(row["volume"] for row in rows),
        height=_numbers(row.get("height") for row in rows),
        count=np.array([row.get("count", NOT_GIVEN) for row in rows], dtype=np.intp),
        drainage=_codes([row.get("drainage") for row in rows], DRAINAGE),
        top_diameter=_numbers(row.get("top_diameter") for row in rows),
        bottom_diameter=_numbers(row.get("bottom_diameter") for row in rows),
        head_space=_numbers(row.get("head_space") for row in rows),
        moisture=_numbers(row.get("moisture") for row in rows),
    )


def _plantings(requests: Sequence[Request]) -> Plantings:
    owners, rows = _rows(requests, "crops")
    return Plantings(
        sample=owners,
        crop=_codes([row["crop"] for row in rows], tuple(crop_catalogue().crops)),
        stage=_codes([row.get("stage") for row in rows], STAGES),
    )


def _thriving(requests: Sequence[Request]) -> ThrivingCrops:
    owners, crops = _rows(requests, "thriving_crops")
    return ThrivingCrops(owners, _codes(crops, tuple(crop_catalogue().crops)))


def _rows(requests: Sequence[Request], name: str) -> tuple[IntArray, list[Any]]:
    owned = [
        (owner, row) for owner, request in enumerate(requests) for row in request.get(name, [])
    ]
    return np.array([owner for owner, _ in owned], dtype=np.intp), [row for _, row in owned]


def _numbers(given: Iterator[Any]) -> FloatArray:
    return np.array([_number(member) for member in given], dtype=np.float64)


def _number(member: Measured | float | None) -> float:
    if isinstance(member, Measured):
        return member.value
    return math.nan if member is None else member


def _unit_written(member: Measured | float | None) -> bool:
    return isinstance(member, Measured) and member.unit_written


def _codes(given: Sequence[str | None], names: Sequence[str]) -> IntArray:
    return np.array(
        [NOT_GIVEN if name is None else names.index(name) for name in given], dtype=np.intp
    )
