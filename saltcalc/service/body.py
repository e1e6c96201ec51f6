"""Read a request body as strict JSON: nothing lost, nothing guessed."""

from __future__ import annotations

import codecs
import functools
import json
import re
from collections.abc import Callable, Iterable, Mapping
from http import HTTPStatus
from typing import Any

import flask
import marshmallow as ma
from flask_smorest import Blueprint as SmorestBlueprint
from webargs.flaskparser import FlaskParser, is_json_request
from werkzeug.exceptions import (
    BadRequest,
    NotAcceptable,
    RequestEntityTooLarge,
    ServiceUnavailable,
    UnsupportedMediaType,
)

from saltcalc.deadline import TooLateError
from saltcalc.parts.shown import Joined
from saltcalc.service.sample import sample_of, trace_of
from saltcalc.service.schemas.answer_form import AnswerFormSchema
from saltcalc.words.catalogue import Words, sentence, spoken, words
from saltcalc.words.reader import tell_to
from saltcalc.words.rendering import Json, as_json

DEEPEST = 40
_HALF_A_PAIR = re.compile(rb"\\u[dD][89a-fA-F]")
"""A half of the pair that a character beyond the first plane may be escaped as."""

_DECIMAL_COMMA = re.compile(rb":\s*-?\d+,\d+\s*[,}\n]")


class _DuplicateMemberError(ValueError):
    pass


def _unique_members(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) < len(pairs):
        seen: set[str] = set()
        for name, _ in pairs:
            if name in seen:
                raise _DuplicateMemberError(name[:80])
            seen.add(name)
    return members


_DECODER = json.JSONDecoder(object_pairs_hook=_unique_members)


def _depth(value: Any, limit: int) -> int:
    if limit == 0 or not isinstance(value, dict | list):
        return 0
    members = value.values() if isinstance(value, dict) else value
    return 1 + max((_depth(member, limit - 1) for member in members), default=0)


def read_json(text: bytes) -> Any:
    """Parse a request body.

    Parameters
    ----------
    text : bytes
        The body as it was sent, UTF-8.

    Returns
    -------
    object
        The parsed JSON value. ``NaN`` and ``Infinity`` come out as floats, so that the field
        that holds them can be named.

    Raises
    ------
    werkzeug.exceptions.BadRequest
        If the body is empty, not JSON, repeats a member, or is nested too deeply.
    """
    if text.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)) or b"\0" in text[:4]:
        raise BadRequest(sentence("body.charset", charset="utf-16"))
    if not text.strip():
        raise BadRequest(sentence("body.empty"))
    try:
        value = _DECODER.decode(text.decode("utf-8-sig"))
    except _DuplicateMemberError as error:
        raise BadRequest(sentence("body.member_twice", member=str(error))) from error
    except json.JSONDecodeError as error:
        told = sentence("body.no_json", fault=error.msg, line=error.lineno, column=error.colno)
        comma = sentence("body.decimal_comma") if _DECIMAL_COMMA.search(text) else ""
        raise BadRequest(f"{told} {comma}".strip()) from error
    except UnicodeDecodeError as error:
        raise BadRequest(sentence("body.no_utf8")) from error
    except RecursionError as error:
        raise BadRequest(sentence("body.too_deep")) from error
    except ValueError as error:
        raise BadRequest(sentence("body.too_many_digits")) from error
    if _HALF_A_PAIR.search(text):
        try:
            json.dumps(value, ensure_ascii=False).encode()
        except UnicodeEncodeError as error:
            raise BadRequest(sentence("body.half_a_pair")) from error
    opened = text.count(b"{") + text.count(b"[")
    if opened > DEEPEST and _depth(value, DEEPEST + 1) > DEEPEST:
        raise BadRequest(sentence("body.deeper_than", levels=DEEPEST))
    return value


JSON = "application/json"

AsForm = Callable[[Json, Mapping[str, Any]], flask.Response]
"""Makes an answer of its JSON and the loaded request."""


def in_words(body: Mapping[str, Any], sent: bytes, view: Callable[[], Any]) -> Json:
    """Return what a view shows as JSON, in the language and the units that were asked for.

    Parameters
    ----------
    body : dict
        The loaded request.
    sent : bytes
        The request as it was sent.
    view : callable
        Returns the parts to show.

    Raises
    ------
    werkzeug.exceptions.ServiceUnavailable
        If the time for the answer is over.
    """
    try:
        answer = Joined((sample_of(body), view(), trace_of(sent)))
        told: Json = as_json(answer, words_for(body))
        return told
    except TooLateError as error:
        seconds = flask.current_app.config["TIMEOUT_SECONDS"]
        raise ServiceUnavailable(
            sentence("problem.too_late", seconds=seconds), retry_after=5
        ) from error


def wanted_form(forms: Iterable[str]) -> str:
    """Return the media type that the client likes best; JSON where it likes none more.

    Raises
    ------
    werkzeug.exceptions.NotAcceptable
        If it takes none of them.
    """
    liked, known = flask.request.accept_mimetypes, [JSON, *forms]
    wanted = liked.best_match(known) if liked.provided else JSON
    if wanted is None:
        raise NotAcceptable(sentence("problem.no_such_form", forms=known))
    return wanted


def words_for(body: Mapping[str, Any]) -> Words:
    """Return the words of the language and the units that were asked for."""
    if language := body.get("language"):
        tell_to(spoken(language))
    return words()


class StrictJSONParser(FlaskParser):
    """Webargs' parser with :func:`read_json` for the body, and query parameters known and once."""

    DEFAULT_UNKNOWN_BY_LOCATION = {  # noqa: RUF012 - webargs' own idiom
        **FlaskParser.DEFAULT_UNKNOWN_BY_LOCATION,
        "query": ma.RAISE,
    }

    def load_querystring(self, req: flask.Request, schema: ma.Schema) -> Any:
        """Return the query parameters; one that is given twice is a fault."""
        twice = {name for name, values in req.args.lists() if len(values) > 1}
        if twice:
            raise ma.ValidationError({name: [sentence("problem.given_twice")] for name in twice})
        return super().load_querystring(req, schema)

    def _raw_load_json(self, req: flask.Request) -> Any:
        if not is_json_request(req):
            raise UnsupportedMediaType(sentence("body.not_sent_as_json"))
        if (encoding := req.headers.get("Content-Encoding", "identity")) != "identity":
            raise UnsupportedMediaType(sentence("body.encoded", encoding=encoding[:40]))
        charset = req.mimetype_params.get("charset", "utf-8")
        if charset.lower() not in {"utf-8", "utf8", "us-ascii"}:
            raise UnsupportedMediaType(sentence("body.charset", charset=charset[:40]))
        text = req.get_data(cache=True)
        limit = req.max_content_length
        if req.content_length is None and limit is not None and len(text) >= limit:
            # A body sent in chunks is cut at the limit without a word.
            raise RequestEntityTooLarge
        return read_json(text)


class Blueprint(SmorestBlueprint):
    """A blueprint of the interface: strict JSON, no unknown parameter, tables that may be kept."""

    ARGUMENTS_PARSER = StrictJSONParser()

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.before_request(self._refuse_query)
        self.after_request(let_keep)

    def arguments(self, schema: Any, *, location: str = "json", **options: Any) -> Any:
        """Declare the schema of the body, or of the query; it is made once for all requests."""
        made = schema() if isinstance(schema, type) else schema
        declare = super().arguments(made, location=location, **options)

        def decorate(view: Any) -> Any:
            declared = declare(view)
            declared.takes_query = location == "query" or getattr(view, "takes_query", False)
            return declared

        return decorate

    def route(self, rule: str, **options: Any) -> Any:
        """Declare the path of a resource; what it computes can be had in other units."""
        declare = super().route(rule, **options)

        def decorate(resource: Any) -> Any:
            view = getattr(resource, "post", None)
            if view and not view.takes_query:
                form = self.arguments(AnswerFormSchema, location="query", as_kwargs=True)
                resource.post = form(view)
            return declare(resource)

        return decorate

    def response(
        self,
        status: int,
        schema: Any = None,
        *,
        forms: Mapping[str, AsForm] | None = None,
        **options: Any,
    ) -> Any:
        """Declare the answer, and put into words and JSON what the view shows.

        With it comes what the body says of the sample, and by what the answer can be traced.
        ``forms`` are the media types that it comes in besides JSON, each with what makes it.
        """
        declare = super().response(status, schema, **options)

        def decorate(view: Any) -> Any:
            @functools.wraps(view)
            def rendered(*arguments: Any, **keywords: Any) -> Any:
                if flask.request.method != "POST":
                    return as_json(view(*arguments, **keywords), words())
                _, body, *_ = arguments
                answer = in_words(
                    body, flask.request.get_data(cache=True), lambda: view(*arguments, **keywords)
                )
                if not forms:
                    return answer
                wanted = wanted_form(forms)
                response = flask.jsonify(answer) if wanted == JSON else forms[wanted](answer, body)
                response.vary.add("Accept")
                return response

            declared = declare(rendered)
            if not forms:
                return declared
            content: dict[str, Any] = {JSON: {"schema": schema}}
            text = {"schema": {"type": "string"}}
            content |= {form: text if form.startswith("text/") else {} for form in forms}
            answered = {"description": HTTPStatus(status).phrase, "content": content}
            refused = {"406": "DEFAULT_ERROR", str(status): answered}
            return self.doc(responses=refused)(declared)

        return decorate

    def _refuse_query(self) -> None:
        """Refuse query parameters where an operation takes none."""
        request = flask.request
        view = flask.current_app.view_functions[request.endpoint or ""]
        methods = getattr(view, "view_class", None)
        operation = getattr(methods, request.method.lower(), getattr(methods, "get", None))
        if request.args and not getattr(operation, "takes_query", False):
            self.ARGUMENTS_PARSER.parse(_NoParameters(), request, location="query")


class _NoParameters(ma.Schema):
    """What an operation without query parameters takes."""


def let_keep(response: flask.Response) -> flask.Response:
    """Let clients keep a table, and ask only whether it is still the same."""
    if flask.request.method in {"GET", "HEAD"} and response.status_code == 200:
        response.cache_control.no_cache = True
        response.add_etag()
        response.make_conditional(flask.request)
    return response
