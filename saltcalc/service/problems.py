"""Every error as an RFC 9457 problem document; the only place where errors become responses."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import flask
import marshmallow as ma
import structlog
from flask_smorest import Api, Blueprint
from jsonpointer import JsonPointer
from rfc9457 import Problem
from werkzeug.exceptions import (
    HTTPException,
    InternalServerError,
    NotFound,
    RequestEntityTooLarge,
)

from saltcalc.message import Message
from saltcalc.service.fields import Choice, Count, Day, Number, Quantity, TableId
from saltcalc.service.library_words import in_own_words
from saltcalc.service.names import AT_THE_TOP, hint
from saltcalc.words.catalogue import sentence, words
from saltcalc.words.reader import ENGLISH, telling
from saltcalc.words.unit_systems import METRIC

MEDIA_TYPE = "application/problem+json"
HTML = "text/html"
_AS_JSON = (MEDIA_TYPE, "application/json")
_AS_TEXT = ("text/plain", "text/markdown")
INVALID_CONTENT = "urn:saltcalc:problem:invalid-content"
_LONGEST_VALUE = 80
_MOST_FAULTS = 50
_MOST_NAMES = 20
_UNKNOWN = "Unknown field."
"""How marshmallow says that a field is unknown."""
_OF_STATUS = (400, 405)
_TITLED = frozenset((400, 401, 403, 404, 405, 406, 408, 413, 414, 415, 422, 429, 431, 500, 503))
"""Statuses that are answered, each with a name in the catalogues."""
"""Statuses whose fault the framework tells in words of its own."""
_MOST_BYTES = 60_000
"""Of the faults told in one answer."""


class FieldFaultSchema(ma.Schema):
    """One faulty field of a request."""

    pointer = ma.fields.String(
        required=True, metadata={"description": "JSON Pointer (RFC 6901) to the field."}
    )
    detail = ma.fields.String(required=True, metadata={"description": "What is wrong with it."})
    value = ma.fields.String(metadata={"description": "The value as sent, as text, cut short."})
    accepted = ma.fields.String(metadata={"description": "What the field accepts."})
    column = ma.fields.String(
        metadata={"description": "Of a table: the heading of the column it came from."}
    )


class ProblemSchema(ma.Schema):
    """A problem document (RFC 9457)."""

    type = ma.fields.String(
        required=True,
        metadata={
            "description": "URI of the kind of problem; about:blank where the status says it all."
        },
    )
    title = ma.fields.String(
        required=True, metadata={"description": "The kind of problem in words."}
    )
    status = ma.fields.Integer(required=True, metadata={"description": "The HTTP status."})
    detail = ma.fields.String(metadata={"description": "What is wrong with this request."})
    errors = ma.fields.List(
        ma.fields.Nested(FieldFaultSchema),
        metadata={"description": f"The faulty fields, at most the first {_MOST_FAULTS}."},
    )
    errors_left_out = ma.fields.Integer(
        metadata={"description": "How many more there are, where not all are told."}
    )
    request_id = ma.fields.String(
        metadata={"description": "As in the log of the service, and in the header X-Request-ID."}
    )


class ProblemApi(Api):
    """Flask-smorest's Api with problem documents for every HTTP error."""

    ERROR_SCHEMA = ProblemSchema

    def __init__(self, app: flask.Flask, **options: Any) -> None:
        """Take the application; what its document says is worked out when it is asked for."""
        self._untold: list[Callable[[], None]] = []
        self._document = ""
        super().__init__(app, **options)

    def describe(self, later: Callable[[], None]) -> None:
        """Let the document say more; this is called when it is first asked for."""
        self._untold.append(later)

    def register_blueprint(self, blp: Blueprint, **options: Any) -> None:
        """Serve the calls of a blueprint, and describe them when the document is asked for."""
        self._app.extensions["flask-smorest"]["blp_name_to_api"][blp.name] = self
        self._app.register_blueprint(blp, **options)

        def tell() -> None:
            blp.register_views_in_doc(self, self._app, self.spec, name=blp.name, parameters=None)
            self.spec.tag({"name": blp.name, "description": blp.description})

        self.describe(tell)

    def _openapi_json(self) -> flask.Response:
        """Serve the document, which is in English."""
        if not self._document:
            with telling(ENGLISH, METRIC):
                for tell in self._untold:
                    tell()
            self._document = flask.json.dumps(self.spec.to_dict(), indent=2)
        return flask.Response(self._document, mimetype="application/json")

    def _register_responses(self) -> None:
        """Document the errors with their own media type."""
        ordinary: str = self.DEFAULT_RESPONSE_CONTENT_TYPE  # type: ignore[has-type]
        self.DEFAULT_RESPONSE_CONTENT_TYPE = MEDIA_TYPE
        super()._register_responses()
        self.DEFAULT_RESPONSE_CONTENT_TYPE = ordinary

    def _register_pagination_header(self) -> None:
        """Describe no pages: there are none."""

    def handle_http_exception(self, error: HTTPException) -> flask.Response:
        """Answer an HTTP error, of a view or of the framework, with a problem document."""
        if error.code is not None and error.code < 400:
            return error.get_response()  # type: ignore[return-value]
        if isinstance(error, InternalServerError):
            structlog.get_logger().error("unhandled", exc_info=error.original_exception)
        response = _written(problem_of(error), int(error.code or 500))
        response.vary.add("Accept")
        for name, value in error.get_headers():
            if name.lower() in {"allow", "retry-after", "www-authenticate"}:
                response.headers.add(name, value)
        return response


def _written(problem: dict[str, Any], status: int) -> flask.Response:
    """Return a problem in the media type that the client likes best; as JSON for any other."""
    liked = flask.request.accept_mimetypes.best_match((*_AS_JSON, HTML, *_AS_TEXT), MEDIA_TYPE)
    if liked == HTML:
        from saltcalc.service.pages.view import problem_page  # noqa: PLC0415 - it needs the body

        return problem_page(problem, status)
    if liked in _AS_TEXT:
        return flask.Response(as_lines(problem) + "\n", status=status, mimetype="text/plain")
    return flask.Response(flask.json.dumps(problem), status=status, mimetype=MEDIA_TYPE)


def as_lines(problem: Mapping[str, Any]) -> str:
    """Return a problem document as readable text."""
    lines = [problem["title"]]
    if "errors" not in problem and "detail" in problem:
        lines.append(f"  {problem['detail']}")
    for fault in problem.get("errors", []):
        given = f" {sentence('refusal.given', value=fault['value'])}" if "value" in fault else ""
        where = fault["pointer"] or sentence("refusal.whole")
        lines.append(f"  {where}: {fault['detail']}{given}")
        if "accepted" in fault:
            lines.append(f"    {sentence('refusal.accepted', what=fault['accepted'])}")
    if "errors_left_out" in problem:
        lines.append(f"  {sentence('refusal.more', count=problem['errors_left_out'])}")
    return "\n".join(lines)


_NO_ROW = object()


def problem_of(error: HTTPException, row: Any = _NO_ROW) -> dict[str, Any]:
    """Return the problem document of an HTTP error.

    Parameters
    ----------
    error : HTTPException
        With the faults of its fields, where it is for them.
    row : object, optional
        The row of a batch that is at fault, as sent; a row has no id of its own.
    """
    told: dict[str, Any] = _problem(error, row).marshal()
    return told


def _problem(error: HTTPException, row: Any) -> Problem:
    data: Mapping[str, Any] = getattr(error, "data", None) or {}
    extras: dict[str, Any] = {}
    if row is _NO_ROW and (request_id := flask.g.get("request_id")):
        extras["request_id"] = request_id
    if "messages" in data:
        sent_in = _sent if row is _NO_ROW else lambda _location: row
        faults, count = faults_of(data["messages"], data.get("schema"), sent_in)
        if count > len(faults):
            extras["errors_left_out"] = count - len(faults)
        return Problem(
            title=sentence("problem.title"),
            type_=INVALID_CONTENT,
            status=int(error.code or 422),
            detail=sentence("problem.faults", count=count),
            errors=faults,
            **extras,
        )
    return Problem(
        title=_title(int(error.code or 500), error.name),
        type_="about:blank",
        status=int(error.code or 500),
        detail=None if isinstance(error, InternalServerError) else _detail(error),
        **extras,
    )


def _title(status: int, otherwise: str) -> str:
    """Return the name of a status; as the library has it where it is not an expected one."""
    return sentence(f"problem.title_{status}") if status in _TITLED else otherwise


def _detail(error: HTTPException) -> str | None:
    if error.code == RequestEntityTooLarge.code:
        limit = flask.current_app.config["MAX_CONTENT_LENGTH"]
        return sentence("problem.too_large", limit=limit)
    if error.code == NotFound.code and error.description == NotFound.description:
        return sentence("problem.nothing_here", path=cut(flask.request.path))
    if error.description == type(error).description and error.code in _OF_STATUS:
        return sentence(f"problem.status_{error.code}")
    return error.description


def faults_of(
    messages: Mapping[str, Any], schema: ma.Schema | None, sent_in: Callable[[str], Any]
) -> tuple[list[dict[str, str]], int]:
    """Return the first faults, as many as an answer has room for, and the count of all.

    Parameters
    ----------
    messages : dict
        By where it was sent: what marshmallow says of it.
    schema : Schema or None
        That it was read by.
    sent_in : callable
        Returns what was sent there.
    """
    told: list[dict[str, str]] = []
    count, room = 0, _MOST_BYTES
    for location, tree in messages.items():
        sent = sent_in(location)
        for path, message in _leaves(tree, sent, ()):
            count += 1
            if len(told) == _MOST_FAULTS or room <= 0:
                continue
            fault = _fault(path, message, sent, schema)
            room -= len(flask.json.dumps(fault).encode())
            if room > 0:
                told.append(fault)
    return told, count


def _fault(
    path: tuple[str | int, ...], message: Any, sent: Any, schema: ma.Schema | None
) -> dict[str, str]:
    short = [cut(step) if isinstance(step, str) else step for step in path]
    fault = {"pointer": JsonPointer.from_parts(short).path, "detail": in_own_words(str(message))}
    if schema is not None and message == _UNKNOWN and (told := _hint(schema, path)):
        fault["detail"] = words().say(told)
    if (value := _value_at(sent, path)) is not _MISSING:
        fault["value"] = _as_text(value)
    if schema is not None and (accepted := _accepted(schema, tuple(short))):
        fault["accepted"] = accepted
    return fault


def _hint(schema: ma.Schema, path: tuple[str | int, ...]) -> tuple[Message, ...]:
    """Say what an unknown field was meant to be."""
    node: Any = schema
    for step in path[:-1]:
        if isinstance(step, int):
            node = node.inner if isinstance(node, ma.fields.List) else node
        else:
            node = (node.schema if isinstance(node, ma.fields.Nested) else node).fields[step]
    node = node.schema if isinstance(node, ma.fields.Nested) else node
    ions = node.fields.get("ions")
    within = list(ions.schema.fields) if ions else []
    return hint(str(path[-1]), list(node.fields), within, _places(schema, ""))


def _places(node: Any, at: str) -> dict[str, str]:
    """Return where each field of a request is, the first place of it."""
    found: dict[str, str] = {}
    inner: list[tuple[str, Any]] = []
    for name, field in node.fields.items():
        one = field.inner if isinstance(field, ma.fields.List) else field
        found.setdefault(name, at or AT_THE_TOP)
        if isinstance(one, ma.fields.Nested):
            inner.append((f"{at}/{name}".lstrip("/"), one.schema))
    for place, schema in inner:
        for name, there in _places(schema, place).items():
            found.setdefault(name, there)
    return found


def _sent(location: str) -> Any:
    if location == "json":
        return json.loads(flask.request.get_data())
    return flask.request.args.to_dict()


def _leaves(
    tree: Any, sent: Any, path: tuple[str | int, ...]
) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    """Yield each fault with its path, in the order in which the members were sent."""
    if isinstance(tree, Mapping):
        places = {name: place for place, name in enumerate(sent)} if isinstance(sent, dict) else {}
        for name in sorted(tree, key=lambda name: places.get(name, len(places))):
            if name == "_schema":
                yield from _leaves(tree[name], sent, path)
            else:
                yield from _leaves(tree[name], _value_at(sent, (name,)), (*path, name))
    else:
        for message in tree if isinstance(tree, list) else [tree]:
            yield path, message


_MISSING = object()


_PARTED = re.compile(r"\s*[,;]\s*")


def _value_at(sent: Any, path: tuple[str | int, ...]) -> Any:
    """Return what was sent at a path; a text may stand for a list, or an object of one figure."""
    for step in path:
        if isinstance(sent, str):
            if isinstance(step, str):
                return sent
            sent = _PARTED.split(sent)
        try:
            sent = sent[step]
        except (KeyError, IndexError, TypeError):
            return _MISSING
    return sent


def _as_text(value: Any) -> str:
    return cut(value if isinstance(value, str) else json.dumps(value, ensure_ascii=False))


def cut(text: str) -> str:
    """Return a value as it is shown in a fault, its end cut off where it is long."""
    return text if len(text) <= _LONGEST_VALUE else f"{text[:_LONGEST_VALUE]}…"


def _accepted(schema: ma.Schema, path: tuple[str | int, ...]) -> str:
    """Say what the field at ``path`` accepts; for an unknown field, which fields there are."""
    node: ma.Schema | ma.fields.Field[Any] = schema
    for step in path:
        if isinstance(step, int):
            node = node.inner if isinstance(node, ma.fields.List) else node
            continue
        if isinstance(node, ma.fields.Nested):
            node = node.schema
        if not isinstance(node, ma.Schema):
            return _describe(node)
        if step not in node.fields:
            return _describe_fields(node)
        node = node.fields[step]
    return _describe(node)


def _describe_fields(schema: ma.Schema) -> str:
    if not schema.fields:
        return sentence("accepted.no_parameters")
    return sentence("accepted.fields", names=list(schema.fields))


def _describe_choices(names: list[str]) -> str:
    if len(names) > _MOST_NAMES:
        return sentence("accepted.one_of_many", count=len(names), names=names[:3])
    return sentence("accepted.one_of", names=names)


def _describe(node: ma.Schema | ma.fields.Field[Any]) -> str:
    match node:
        case ma.Schema():
            return sentence("accepted.object", names=list(node.fields))
        case ma.fields.Nested():
            return _describe(node.schema)
        case ma.fields.List():
            return sentence("accepted.list", member=_describe(node.inner))
        case Quantity():
            return words().say(node.kind.description)
        case Day():
            return sentence("accepted.day")
        case Choice():
            return _describe_choices(list(node.choices))
        case TableId():
            return sentence("accepted.id", listing=node.listing)
        case Number() | Count():
            limits = next(v for v in node.validators if isinstance(v, ma.validate.Range))
            share = isinstance(node, Number) and node.share
            what = "count" if isinstance(node, Count) else "share" if share else "number"
            return sentence(f"accepted.{what}", low=limits.min, high=limits.max)
        case ma.fields.String():
            longest = [v.max for v in node.validators if isinstance(v, ma.validate.Length)]
            if not longest:
                return sentence("accepted.text")
            return sentence("accepted.bounded_text", longest=longest[0])
        case ma.fields.Boolean():
            return sentence("accepted.flag")
        case _:
            return ""
