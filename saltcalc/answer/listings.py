"""The tables as lists."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from saltcalc.answer.quantities import EC_UNIT, SHARE_UNIT, Json, quantity, rounded
from saltcalc.data.extraction import (
    ClassScheme,
    EcConversion,
    all_ec_conversions,
    class_schemes,
    extraction_methods,
)
from saltcalc.data.observations import observations
from saltcalc.data.sources import Source, bibliography
from saltcalc.data.substrates import substrates


def substrate_listing() -> list[Json]:
    """Return every medium with the figures its source gives."""
    return [
        {
            "id": substrate.id,
            "name": substrate.name,
            "medium_class": substrate.medium_class,
            "basis": substrate.basis,
            "container_capacity": quantity(substrate.container_capacity, SHARE_UNIT),
            "capacity_height": quantity(substrate.capacity_height, "cm"),
            "total_porosity": quantity(substrate.total_porosity, SHARE_UNIT),
            "theta_s": _number(substrate.theta_s),
            "theta_r": _number(substrate.theta_r),
            "alpha": quantity(substrate.alpha, "1/cm"),
            "n": _number(substrate.n),
            "source": substrate.source,
            "provenance": substrate.provenance,
            "note": substrate.note,
        }
        for substrate in substrates().values()
    ]


def extraction_method_listing() -> list[Json]:
    """Return every extraction method with the classes published for it."""
    return [
        {
            "id": method.id,
            "name": method.name,
            "description": method.description,
            "dilution": method.dilution,
            "basis": method.basis,
            "classes": [
                _scheme(scheme) for scheme in class_schemes() if scheme.method == method.id
            ],
            "conversions": [
                _conversion(each) for each in all_ec_conversions() if each.method == method.id
            ],
            "source": method.source,
            "provenance": method.provenance,
            "note": method.note,
        }
        for method in extraction_methods()
    ]


def observation_listing() -> list[Json]:
    """Return every sign that can be reported."""
    return [
        {
            "id": sign.id,
            "name": sign.name,
            "description": sign.description,
            "hints_at": sign.hints_at,
            "opposite": sign.opposite or None,
            "source": sign.source,
            "provenance": sign.provenance,
            "note": sign.note,
        }
        for sign in observations().values()
    ]


def source_listing(local_sources: Iterable[Source]) -> list[Json]:
    """Return the bibliography, and after it the grower's own sources."""
    return [
        {
            "key": source.key,
            "citation": source.citation,
            "kind": source.kind,
            "note": source.note,
        }
        for source in (*bibliography().values(), *local_sources)
    ]


def _conversion(conversion: EcConversion) -> Json:
    return {
        "id": conversion.id,
        "basis": conversion.to,
        "medium": conversion.medium,
        "governing": conversion.governing,
        "points": [
            {"ec": rounded(given), "ec_on_basis": rounded(basis)}
            for given, basis in conversion.points
        ],
        "unit": EC_UNIT,
        "applies_to": conversion.applies_to,
        "source": conversion.source,
        "provenance": conversion.provenance,
        "note": conversion.note,
    }


def _scheme(scheme: ClassScheme) -> Json:
    return {
        "scheme": scheme.id,
        "governing": scheme.governing,
        "applies_to": scheme.applies_to,
        "unit": EC_UNIT,
        "classes": [
            {"class": each.id, "from": each.lower, "meaning": each.meaning}
            for each in scheme.classes
        ],
        "source": scheme.source,
        "provenance": scheme.provenance,
        "note": scheme.note,
    }


def _number(value: float) -> Any:
    return None if math.isnan(value) else value
