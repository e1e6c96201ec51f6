"""What the OpenAPI document says that the schemas alone do not."""

from __future__ import annotations

import re
from typing import Any

from apispec import BasePlugin

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


class OperationIds(BasePlugin):
    """Name each operation after its method and path, for the clients generated from it."""

    def operation_helper(
        self, path: str | None = None, operations: dict[str, Any] | None = None, **_: Any
    ) -> None:
        """Give every operation of a path its id, such as ``post_flush_plans_progress``."""
        words = re.findall(r"[a-z0-9]+", (path or "").removeprefix("/v1").lower())
        for method, operation in (operations or {}).items():
            operation["operationId"] = "_".join([method, *words])
            for status in operation.get("responses", {}).keys() & {422, "422"}:
                # The name that Python gives this status depends on its version.
                operation["responses"][status] = "DEFAULT_ERROR"
