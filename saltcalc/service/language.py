"""In which language a request is answered: what it says itself, else what its client prefers.

A page says it in its address, or in an entry of its form; units alike.
"""

from __future__ import annotations

from collections.abc import Mapping

import flask

from saltcalc.words.catalogue import languages
from saltcalc.words.reader import ENGLISH, reader, tell_to, told
from saltcalc.words.unit_systems import SYSTEMS

_WITHOUT_WORDS = frozenset({None, "docs", "api-docs"})
"""Blueprints whose answers are in no language, or in English alone."""


def tell_page_to(said: Mapping[str, str]) -> None:
    """Tell a page in the language and the units that its address or its form says."""
    language, units = said.get("language", ""), said.get("units", "")
    tell_to(language if language in languages() else None, units if units in SYSTEMS else None)


def _liked() -> str:
    """Return the language that the client likes best, its regions apart; English without one."""
    for tag, quality in flask.request.accept_languages:
        base = tag.replace("_", "-").split("-")[0].lower()
        if quality and base in languages():
            return base
    return ENGLISH


def install(app: flask.Flask) -> None:
    """Answer in the language that the client likes best of those that there are."""

    @app.before_request
    def _ask() -> None:
        flask.g.reader = tell_to(_liked())
        if flask.request.blueprint == "pages":
            tell_page_to(flask.request.args)

    @app.after_request
    def _say_which(response: flask.Response) -> flask.Response:
        static = (flask.request.endpoint or "").endswith("static")
        in_words = flask.request.blueprint not in _WITHOUT_WORDS and not static
        if in_words or response.status_code >= 400:
            response.vary.add("Accept-Language")
            response.content_language.add(reader().language)
        return response

    @app.teardown_request
    def _forget(_error: BaseException | None) -> None:
        if before := flask.g.pop("reader", None):
            told(before)
