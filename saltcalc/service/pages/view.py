"""The form and the report as HTML: of what was typed, and of an answer in words."""

from __future__ import annotations

import datetime
import json
from collections.abc import Mapping, Set
from functools import lru_cache
from typing import Any

import flask
import marshmallow as ma

from saltcalc import __version__
from saltcalc.data.crop_lookup import find
from saltcalc.data.crop_names import LANGUAGES
from saltcalc.data.crops import Crop
from saltcalc.data.name_forms import plain
from saltcalc.message import say
from saltcalc.parts.answer import Wanted
from saltcalc.service.body import words_for
from saltcalc.service.catalogues import crop_catalogue
from saltcalc.service.pages.form import UNIT, Typed, all_entries, entries, entry_besides, typed_of
from saltcalc.service.pages.numbered import VERY_MANY, are_many, for_both, names_of, with_number
from saltcalc.service.pages.report import assumptions_of, report_of
from saltcalc.service.pages.told import told_on_paper
from saltcalc.service.pages.trial_pictures import multiples
from saltcalc.service.problems import faults_of
from saltcalc.words.catalogue import languages, words
from saltcalc.words.figures import locale_of
from saltcalc.words.reader import reader
from saltcalc.words.rendering import Json
from saltcalc.words.trial_text import columns_of, in_marks, outcome_marks, sections
from saltcalc.words.unit_systems import SYSTEMS

_LONG = 15_000
"""Characters that are said of a trial, from which it is told in one run why media are as they are,
for three sheets to hold it."""
_CALL = "GET /v1/"
"""Where a program reads which names there are; a page offers them itself."""
WHOLE = Wanted(all_passes=True, as_advised=True)
"""What a report shows: everything, and each flush as it is advised, pass by pass."""

POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)
"""A page loads its style sheet and its icon from here, and nothing else from anywhere."""
SCRIPTED = f"{POLICY}; script-src 'self'; connect-src 'self'; worker-src 'self'"
"""The same for the log of a flush, whose script keeps it in the browser."""


def report(answer: Json, loaded: Mapping[str, Any]) -> flask.Response:
    """Return the answer to a request of the interface as a page."""
    request = json.loads(flask.request.get_data())
    return _safe(report_page(answer, loaded, typed_of(request), {}))


def trial_report(answer: Json, loaded: Mapping[str, Any]) -> flask.Response:
    """Return the answer to a comparison of the interface as a page, without a form."""
    shown = page_words() | shown_of_trial(answer, loaded)
    return _safe(flask.render_template("trial.html", **shown))


def shown_of_trial(answer: Json, loaded: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a page shows of the answer to a loaded comparison."""
    told, names, many = words_for(loaded), names_of(loaded), are_many(loaded)
    parts = sections(answer, lettered=many)
    kinds = columns_of(next(each.table for each in parts if each.table))
    return {
        "parts": parts,
        "many": many,
        "very_many": len(names) >= VERY_MANY,
        "long": sum(len(each.said) for part in parts for each in part.said) > _LONG,
        "kinds": kinds,
        "marks": outcome_marks() if in_marks(kinds, answer) else {},
        "named": lambda text: for_both(text, names),
        "numbered": lambda text: with_number(text, names),
        "pictures": multiples(answer, told, names, many=many),
        "assumptions": assumptions_of(answer["assumptions"]),
        "intervals": answer["intervals"],
        "sources": [each["citation"] for each in answer["sources"].values()],
    }


def problem_page(problem: Mapping[str, Any], status: int) -> flask.Response:
    """Return a problem document as a page."""
    return _safe(flask.render_template("problem.html", problem=problem, **page_words()), status)


def _safe(page: str, status: int = 200) -> flask.Response:
    response = flask.make_response(page, status)
    response.headers["Content-Security-Policy"] = POLICY
    return response


def form_page(
    typed: Typed, faults: Mapping[str, list[dict[str, str]]] | None = None, **shown: Any
) -> str:
    """Return the form, filled with what was typed."""
    return flask.render_template(
        "form.html", faults=faults or {}, switched_by="/form", **_filled(typed), **shown
    )


def report_page(
    answer: Json, loaded: Mapping[str, Any], typed: Typed, places: Mapping[str, str]
) -> str:
    """Return the report on the answer to a loaded request, with the form of what was typed."""
    shown = report_of(answer, words_for(loaded), loaded)
    names = {each.name for each in all_entries()}
    for row in shown["assumptions"]:
        name = _place(row["field"], places)
        row["in_form"] = name in names
        row["entry"] = entry_besides(name) if name and not row["in_form"] else None
        # What was taken is no example of a field that holds another quantity.
        row["asked"] = not row["id"].endswith(name.rpartition("/")[2])
    return flask.render_template(
        "answer.html",
        faults={},
        switched_by="/",
        on_paper=list(told_on_paper(typed, words_for(loaded))),
        **_filled(typed),
        **shown,
    )


def _filled(typed: Typed) -> dict[str, Any]:
    """Return what every page with the form needs."""
    names = {each.name for each in all_entries()}
    besides = {
        entry_besides(name): values[-1]
        for name, values in typed.items()
        if name.startswith("/") and not name.endswith(UNIT) and name not in names and any(values)
    }
    return {
        "entries": entries(),
        "typed": typed,
        "besides": besides,
        "unit": UNIT,
        "is_day": is_day,
        "crop_names": crop_names(),
        **page_words(),
    }


def page_words() -> dict[str, Any]:
    """Return what the frame of every page needs."""
    return {
        "version": __version__,
        "t": _told,
        "labelled": words().labelled,
        "reader": reader(),
        "languages": [(each, locale_of(each).get_language_name(each)) for each in languages()],
        "systems": SYSTEMS,
    }


def crop_names() -> list[str]:
    """Return the names that the entry of a crop offers, in the reader's language."""
    known = crop_catalogue()
    names = ((words().say(each.name), each.id) for each in known.crops.values())
    language = reader().language if reader().language in LANGUAGES else None
    meant = [name for name, crop in names if _crop_of(name, language, known.local) == crop]
    return sorted(meant, key=plain)


@lru_cache(maxsize=4096)
def _crop_of(name: str, language: str | None, own: tuple[Crop, ...]) -> str | None:
    return find(name, language, own).crop


def is_day(text: str) -> bool:
    """Tell whether the browser's calendar can show what was typed; else it would be lost."""
    try:
        return not text or datetime.date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def crop_title(name: str) -> str:
    """Return what a crop is called in the reader's language."""
    known = crop_catalogue()
    crop = find(name, None, known.local).crop
    return words().say(known.crops[crop].name) if crop else name


def _told(message: str, **told: Any) -> str:
    return words().say(say(f"page.{message}", **told))


def places_for_faults(typed: Typed) -> set[str]:
    """Return the entries of the form that a fault can stand beside."""
    boxes = {each.name for each in all_entries() if each.several}
    besides = {name for name in typed if name.startswith("/") and not name.endswith(UNIT)}
    return ({each.name for each in all_entries()} | besides) - boxes


def faults_beside(
    error: ma.ValidationError,
    schema: ma.Schema,
    request: Mapping[str, Any],
    places: Mapping[str, str],
    names: Set[str],
) -> dict[str, list[dict[str, str]]]:
    """Return the faults by the entry of these names that each is beside; else by nothing."""
    faults, _ = faults_of({"json": error.messages}, schema, lambda _: request)
    beside: dict[str, list[dict[str, str]]] = {}
    offered = {each.name for each in all_entries() if each.choices}
    for fault in faults:
        # A page offers its choices in words, and a list of ids beside them tells nobody more.
        if _CALL in fault.get("accepted", "") or _place(fault["pointer"], places) in offered:
            fault.pop("accepted", None)
        pointer = _place(fault["pointer"], places)
        steps = pointer.split("/")
        above = ("/".join(steps[:count]) for count in range(len(steps), 1, -1))
        name = next((each for each in above if each in names), "")
        fault["what"] = entry_besides(pointer).label
        if fault["detail"] not in [each["detail"] for each in beside.get(name, ())]:
            beside.setdefault(name, []).append(fault)
    return beside


def _place(pointer: str, places: Mapping[str, str]) -> str:
    """Return where a pointer into the request is in the form."""
    for begin, instead in places.items():
        if pointer == begin or pointer.startswith(f"{begin}/"):
            return instead + pointer.removeprefix(begin)
    return pointer
