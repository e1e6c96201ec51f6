"""What the OpenAPI document says of the fields that only this service has."""

from __future__ import annotations

from typing import Any

from saltcalc.service.fields import Quantity


def quantity_to_properties(_converter: Any, field: Any, **_: Any) -> dict[str, Any]:
    """Describe a quantity field: a number, text with a unit, or an object."""
    if not isinstance(field, Quantity):
        return {}
    kind = field.kind
    return {
        "oneOf": [
            {"type": "number", "description": f"In {kind.unit}."},
            {"type": "string", "description": f"A number with a unit: {', '.join(kind.accepted)}."},
            {
                "type": "object",
                "properties": {"value": {"type": "number"}, "unit": {"type": "string"}},
                "required": ["value", "unit"],
                "additionalProperties": False,
            },
        ],
    }
