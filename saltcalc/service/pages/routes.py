"""The pages: a form to fill in, and the answer to it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import flask
import marshmallow as ma
from werkzeug.exceptions import Forbidden

from saltcalc import __version__
from saltcalc.message import say
from saltcalc.parts.answer import Wanted
from saltcalc.service.body import in_words, words_for
from saltcalc.service.catalogues import crop_catalogue
from saltcalc.service.example import DEMO_REQUEST
from saltcalc.service.pages.form import (
    UNIT,
    Typed,
    all_entries,
    entries,
    request_of,
    typed_of,
)
from saltcalc.service.pages.report import report_of
from saltcalc.service.problems import faults_of
from saltcalc.service.resources.assessments import assessed
from saltcalc.service.schemas.requests import AssessmentRequestSchema
from saltcalc.words.catalogue import Words, sentence, words
from saltcalc.words.rendering import Json

WHOLE = Wanted(all_passes=True)
"""What a report shows: everything, and what each pass of a flush does."""

POLICY = (
    "default-src 'none'; style-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)
"""A page loads its style sheet from here, and nothing else from anywhere."""

pages = flask.Blueprint(
    "pages",
    __name__,
    template_folder="templates",
    static_folder="static",
    static_url_path="/pages",
)


@pages.after_request
def _guard(response: flask.Response) -> flask.Response:
    response.headers["Content-Security-Policy"] = POLICY
    if response.mimetype == "text/html":
        response.headers["Cache-Control"] = "no-store"
    return response


@pages.get("/")
def form() -> str:
    """Show the empty form."""
    return _form({})


@pages.get("/example")
def example() -> str:
    """Show the form filled with the invented example."""
    return _form(typed_of(json.loads(DEMO_REQUEST.read_text(encoding="utf-8"))), example=True)


@pages.post("/")
def answer() -> str | tuple[str, int]:
    """Show the answer to what was typed, or its faults beside their fields."""
    if flask.request.headers.get("Sec-Fetch-Site") not in (None, "same-origin", "none"):
        raise Forbidden(sentence("page.from_elsewhere"))
    typed: Typed = {name: list(values) for name, values in flask.request.form.lists()}
    request, places = request_of(typed)
    schema = AssessmentRequestSchema()
    try:
        loaded = schema.load(request)
    except ma.ValidationError as error:
        sent = {"json": error.normalized_messages()}
        faults, _ = faults_of(sent, schema, lambda _: request)
        return _form(typed, _beside(faults, places, typed)), 422
    found = in_words(loaded, json.dumps(request).encode(), lambda: assessed(loaded, WHOLE))
    return _report(found, words_for(loaded), typed, places)


def report(answer: Json, loaded: Mapping[str, Any]) -> flask.Response:
    """Return the answer to a request of the interface as a page."""
    request = json.loads(flask.request.get_data())
    page = _report(answer, words_for(loaded), typed_of(request), {})
    response = flask.make_response(page)
    response.headers["Content-Security-Policy"] = POLICY
    return response


def _form(
    typed: Typed, faults: Mapping[str, list[dict[str, str]]] | None = None, **shown: Any
) -> str:
    return flask.render_template("form.html", faults=faults or {}, **_filled(typed), **shown)


def _report(answer: Json, told: Words, typed: Typed, places: Mapping[str, str]) -> str:
    shown = report_of(answer, told)
    names = {each.name for each in all_entries()}
    for row in shown["assumptions"]:
        row["name_in_form"] = _place(row["field"], places)
        row["in_form"] = row["name_in_form"] in names
    return flask.render_template("answer.html", faults={}, **_filled(typed), **shown)


def _filled(typed: Typed) -> dict[str, Any]:
    """Return what every page with the form needs."""
    names = {each.name for each in all_entries()}
    besides = {
        name: values[-1]
        for name, values in typed.items()
        if name.startswith("/") and not name.endswith(UNIT) and name not in names and any(values)
    }
    catalogue = crop_catalogue().crops.values()
    return {
        "entries": entries(),
        "typed": typed,
        "besides": besides,
        "unit": UNIT,
        "crop_names": [each.name for each in catalogue],
        "version": __version__,
        "t": _told,
    }


def _told(message: str, **told: Any) -> str:
    return words().say(say(f"page.{message}", **told))


def _beside(
    faults: list[dict[str, str]], places: Mapping[str, str], typed: Typed
) -> dict[str, list[dict[str, str]]]:
    """Return the faults by the entry that each stands beside; those of none by nothing."""
    names = {each.name for each in all_entries()} | {
        name for name in typed if name.startswith("/") and not name.endswith(UNIT)
    }
    beside: dict[str, list[dict[str, str]]] = {}
    for fault in faults:
        pointer = _place(fault["pointer"], places)
        steps = pointer.split("/")
        above = ("/".join(steps[:count]) for count in range(len(steps), 1, -1))
        name = next((each for each in above if each in names), "")
        beside.setdefault(name, []).append(fault)
    return beside


def _place(pointer: str, places: Mapping[str, str]) -> str:
    """Return where a pointer into the request stands in the form."""
    for begin, instead in places.items():
        if pointer == begin or pointer.startswith(f"{begin}/"):
            return instead + pointer.removeprefix(begin)
    return pointer
