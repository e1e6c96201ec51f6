"""The pages: a form to fill in, and the answer to it."""

from __future__ import annotations

import json

import flask
import marshmallow as ma
from werkzeug.exceptions import Forbidden

from saltcalc.service.body import in_words
from saltcalc.service.example import DEMO_REQUEST
from saltcalc.service.language import tell_page_to
from saltcalc.service.pages.flush_log import log_page
from saltcalc.service.pages.form import (
    UNIT,
    Typed,
    method_title,
    request_of,
    two_methods,
    typed_of,
)
from saltcalc.service.pages.pasted import pasted_anew, with_report
from saltcalc.service.pages.trial import trial_page
from saltcalc.service.pages.view import (
    POLICY,
    SCRIPTED,
    WHOLE,
    crop_title,
    faults_beside,
    form_page,
    places_for_faults,
    report_page,
)
from saltcalc.service.resources.assessments import assessed
from saltcalc.service.schemas.requests import AssessmentRequestSchema
from saltcalc.words.catalogue import sentence

pages = flask.Blueprint(
    "pages",
    __name__,
    template_folder="templates",
    static_folder="static",
    static_url_path="/pages",
)


_EXAMPLE_NAMES = {
    "/containers/0/name": "page.example.tub_with_holes",
    "/containers/1/name": "page.example.tub_with_a_liner",
}
"""Of the containers of the invented example."""


@pages.after_request
def _guard(response: flask.Response) -> flask.Response:
    scripted = flask.request.path.startswith(("/flush-log", "/pages/flush-log"))
    response.headers["Content-Security-Policy"] = SCRIPTED if scripted else POLICY
    if flask.request.path == "/pages/flush-log-offline.js":
        response.headers["Service-Worker-Allowed"] = "/flush-log"
    if response.mimetype == "text/html":
        response.headers["Cache-Control"] = "no-store"
    return response


def _typed() -> Typed:
    """Return what was typed into a page of this service, told in its language and units."""
    if flask.request.headers.get("Sec-Fetch-Site") not in (None, "same-origin", "none"):
        raise Forbidden(sentence("page.from_elsewhere"))
    typed: Typed = {name: list(values) for name, values in flask.request.form.lists()}
    tell_page_to({name: typed[name][-1] for name in ("language", "units") if name in typed})
    return typed


@pages.get("/trial")
def trial() -> tuple[str, int]:
    """Show the empty form of a trial."""
    return trial_page({})


@pages.post("/trial")
def read_trial() -> tuple[str, int]:
    """Show what a trial says, or its faults beside their fields."""
    return trial_page(_typed())


@pages.get("/flush-log")
def flush_log() -> tuple[str, int]:
    """Show a log with nothing in it; the browser fills in what it has kept."""
    return log_page({})


@pages.post("/flush-log")
def follow_flush() -> tuple[str, int]:
    """Show a log with what to do next."""
    return log_page(_typed())


@pages.get("/")
def form() -> str:
    """Show the empty form."""
    return form_page({})


@pages.get("/example")
def example() -> str:
    """Show the form filled with the invented example."""
    return form_page(_told_example(), example=True)


def _told_example() -> Typed:
    """Return the invented example as it would be typed in the reader's language."""
    typed = typed_of(json.loads(DEMO_REQUEST.read_text(encoding="utf-8")))
    for name, texts in typed.items():
        if name.endswith("/crop") or name == "/thriving_crops":
            typed[name] = [crop_title(each) for each in texts]
    return typed | {name: [sentence(message)] for name, message in _EXAMPLE_NAMES.items()}


@pages.post("/form")
def again() -> str:
    """Show the form as it was filled, in the language and the units that were chosen."""
    typed = _typed()
    without = {
        name for name in typed if name.endswith(UNIT) and not any(typed.get(name[: -len(UNIT)], ()))
    }
    return form_page({name: typed[name] for name in typed.keys() - without})


@pages.post("/")
def answer() -> str | tuple[str, int]:
    """Show the answer to what was typed, or its faults beside their fields."""
    typed = _typed()
    if pasted_anew(typed):
        typed, found = with_report(typed)
        return form_page(typed, pasted=found)
    if both := two_methods(typed):
        chosen, meant = (method_title(each) for each in both)
        told = sentence("page.two_methods", chosen=chosen, meant=meant)
        return form_page(typed, {"how": [{"detail": told}]}), 422
    request, places = request_of(typed)
    schema = AssessmentRequestSchema()
    try:
        loaded = schema.load(request)
    except ma.ValidationError as error:
        names = places_for_faults(typed)
        return form_page(typed, faults_beside(error, schema, request, places, names)), 422
    found = in_words(loaded, json.dumps(request).encode(), lambda: assessed(loaded, WHOLE))
    return report_page(found, loaded, typed, places)
