"""What the OpenAPI document says that the schemas alone do not."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import flask
import marshmallow as ma
from apispec import APISpec, BasePlugin

from saltcalc.quantities import LONGEST_TEXT, QUANTITY_PATTERN, UNIT_PATTERN
from saltcalc.service.fields import BoundedList, Choice, Count, Label, Number, Quantity
from saltcalc.service.problems import INVALID_CONTENT, MEDIA_TYPE
from saltcalc.service.schemas.basis import RequestSchema
from saltcalc.units import PURE
from saltcalc.words.catalogue import sentence


def quantity_to_forms(_converter: Any, field: Any, **_: Any) -> dict[str, Any]:
    """Describe a quantity field: an object, a number, or text with a unit."""
    if not isinstance(field, Quantity):
        return {}
    kind = field.kind
    least, most = kind.bounds
    return {
        "anyOf": [
            _with_unit(kind.accepted, () if field.required else _NONE),
            {
                "type": "number",
                "minimum": least,
                "maximum": most,
                "description": sentence(
                    "accepted.in_unit",
                    unit=kind.unit,
                    lowest=kind.lowest,
                    highest=kind.highest,
                ),
            },
            {
                "type": "string",
                "pattern": QUANTITY_PATTERN,
                "maxLength": LONGEST_TEXT,
                "description": sentence("accepted.with_unit", units=list(kind.accepted)),
            },
        ],
    }


def number_to_forms(
    _converter: Any, field: Any, *, ret: dict[str, Any], **_: Any
) -> dict[str, Any]:
    """Describe a plain number, which may come as text, and a share, which may come in percent."""
    if not isinstance(field, Count | Number):
        return {}
    plain = {name: ret.pop(name) for name in ("type", "minimum", "maximum")}
    text = {"type": "string", "pattern": QUANTITY_PATTERN, "maxLength": LONGEST_TEXT}
    if not (isinstance(field, Number) and field.share):
        return {"anyOf": [plain, text]}
    percent = text | {"description": "A number, or one in %."}
    return {"anyOf": [plain, percent, _with_unit(PURE.accepted)]}


def request_to_forms(
    _converter: Any, field: Any, *, ret: dict[str, Any], **_: Any
) -> dict[str, Any]:
    """Describe what a field of a request may come as beside its own form.

    A bare text or figure for an object with one field that it can mean, one member for a list, and
    null or an empty text for what is not given. The own form comes first.
    """
    if not isinstance(field.parent, RequestSchema | BoundedList):
        return {}
    own = {name: ret.pop(name) for name in list(ret) if name not in _OF_ANY_FORM}
    forms = own.pop("anyOf", None) or [own]
    if isinstance(field, ma.fields.Nested) and getattr(field.schema, "alone", None):
        forms = [*forms, {"type": ["number", "string"], "minLength": 1, "maxLength": LONGEST_TEXT}]
    if isinstance(field, Choice) and field.pattern:
        forms = [*forms, {"type": "string", "pattern": field.pattern}]
    if isinstance(field, Label):
        forms = [*forms, {"type": "number"}]
    if isinstance(field, BoundedList):
        forms = [*forms, *own["items"].get("anyOf", [own["items"]])]
    if isinstance(field.parent, RequestSchema) and not field.required:
        forms = [*forms, *_NONE]
    return {"anyOf": forms} if len(forms) > 1 else forms[0]


_NONE = ({"type": "string", "maxLength": 0}, {"type": "null"})
_OF_ANY_FORM = ("description", "deprecated", "title")


def _with_unit(accepted: Sequence[str], none: Sequence[Any] = ()) -> dict[str, Any]:
    text = {"type": "string", "pattern": QUANTITY_PATTERN, "maxLength": LONGEST_TEXT}
    return {
        "type": "object",
        "properties": {
            "value": {"anyOf": [{"type": "number"}, text, *none]},
            "unit": {
                "type": "string",
                "pattern": UNIT_PATTERN,
                "maxLength": LONGEST_TEXT,
                "examples": list(accepted),
            },
        },
        "required": ["value"],
        "additionalProperties": False,
    }


EXAMPLE_PROBLEM = {
    "type": INVALID_CONTENT,
    "title": sentence("problem.title"),
    "status": 422,
    "detail": sentence("problem.faults", count=1),
    "errors": [
        {
            "pointer": "/containers/0/drainage",
            "detail": "Must be one of: open, sealed.",
            "value": "half",
            "accepted": sentence("accepted.one_of", names=["open", "sealed"]),
        }
    ],
    "request_id": "tunnel-2",
}


def describe_administration(app: flask.Flask, spec: APISpec) -> None:
    """Describe what is there for the administrator."""
    named = {name: {"type": "string"} for name in ("status", "version")}
    engine = {"type": "string", "enum": ["ready", "missing"]}
    engines = {"type": "object", "properties": {"phreeqc": engine}, "required": ["phreeqc"]}
    status = {"type": "object", "properties": named, "required": list(named)}
    ready = {
        "type": "object",
        "properties": named | {"engines": engines},
        "required": [*named, "engines"],
    }
    spec.components.security_scheme(
        "key",
        {
            "type": "http",
            "scheme": "bearer",
            "description": "Asked for where the administrator has set keys.",
        },
    )
    for endpoint, summary, media, schema, more in (
        ("healthz", "Whether the process lives.", "application/json", status, {}),
        (
            "readyz",
            "Whether it answers correctly.",
            "application/json",
            ready,
            {"503": {"description": "It does not; `fault` says why."}},
        ),
        ("metrics", "Prometheus metrics.", "text/plain", {"type": "string"}, {}),
    ):
        (rule,) = app.url_map.iter_rules(endpoint)
        answer = {"description": summary, "content": {media: {"schema": schema}}}
        operation = {
            "summary": summary,
            "tags": ["administration"],
            "responses": {"200": answer, **more},
        }
        spec.path(rule=rule, operations={"get": operation}, parameters=[])


class OperationIds(BasePlugin):
    """Name each operation after its method and path, for the clients generated from it."""

    def response_helper(self, response: dict[str, Any], **_: Any) -> None:
        """Show a problem document where one is the answer."""
        if problem := response.get("content", {}).get(MEDIA_TYPE):
            problem["example"] = EXAMPLE_PROBLEM

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
