"""The pages: a form to fill in, and the answer to it."""

from __future__ import annotations

import json

import flask
import marshmallow as ma
from werkzeug.exceptions import Forbidden

from saltcalc.service.body import in_words, words_for
from saltcalc.service.example import DEMO_REQUEST
from saltcalc.service.pages.form import Typed, request_of, typed_of
from saltcalc.service.pages.pasted import pasted_anew, with_report
from saltcalc.service.pages.view import POLICY, WHOLE, beside, form_page, report_page
from saltcalc.service.problems import faults_of
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


@pages.after_request
def _guard(response: flask.Response) -> flask.Response:
    response.headers["Content-Security-Policy"] = POLICY
    if response.mimetype == "text/html":
        response.headers["Cache-Control"] = "no-store"
    return response


@pages.get("/")
def form() -> str:
    """Show the empty form."""
    return form_page({})


@pages.get("/example")
def example() -> str:
    """Show the form filled with the invented example."""
    return form_page(typed_of(json.loads(DEMO_REQUEST.read_text(encoding="utf-8"))), example=True)


@pages.post("/")
def answer() -> str | tuple[str, int]:
    """Show the answer to what was typed, or its faults beside their fields."""
    if flask.request.headers.get("Sec-Fetch-Site") not in (None, "same-origin", "none"):
        raise Forbidden(sentence("page.from_elsewhere"))
    typed: Typed = {name: list(values) for name, values in flask.request.form.lists()}
    if pasted_anew(typed):
        typed, found = with_report(typed)
        return form_page(typed, pasted=found)
    request, places = request_of(typed)
    schema = AssessmentRequestSchema()
    try:
        loaded = schema.load(request)
    except ma.ValidationError as error:
        sent = {"json": error.messages}
        faults, _ = faults_of(sent, schema, lambda _: request)
        return form_page(typed, beside(faults, places, typed)), 422
    found = in_words(loaded, json.dumps(request).encode(), lambda: assessed(loaded, WHOLE))
    return report_page(found, words_for(loaded), typed, places)
