"""The log of a flush: what was poured and read so far, and what it comes to."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import flask
import marshmallow as ma

from saltcalc.case.intake import readings_of
from saltcalc.parts.answer import Wanted, answer_flush_plan
from saltcalc.service.body import in_words
from saltcalc.service.catalogues import assessment_of
from saltcalc.service.pages.form import (
    EC_UNITS,
    UNIT,
    VOLUME_UNITS,
    Entry,
    Typed,
    first_of,
    is_place,
    request_of,
)
from saltcalc.service.pages.view import faults_beside, page_words
from saltcalc.service.resources.flush import progress_of
from saltcalc.service.schemas.flush_requests import MOST_READINGS, ProgressRequestSchema
from saltcalc.service.schemas.requests import AssessmentRequestSchema, FlushPlanRequestSchema
from saltcalc.words.catalogue import sentence
from saltcalc.words.rendering import Json

COLUMNS = {
    "at": (),
    "applied": VOLUME_UNITS,
    "ec_drainage": EC_UNITS,
    "drained": VOLUME_UNITS,
    "ec_own": EC_UNITS,
}
"""What a row asks, and the units that its figures take; all rows share one."""
CHOSEN = "container"
"""Names the entry that tells which of the containers is flushed."""
_READINGS = "/readings/"
_SPARE = 1
"""Empty rows after the last one that was filled."""


def log_page(typed: Typed) -> tuple[str, int]:
    """Return the page of a log, with the advice that its rows come to, and its status.

    Parameters
    ----------
    typed : dict of str to list of str
        What was typed into the form of the medium, and into the rows of the log.
    """
    request, places = request_of(_with_units(typed))
    kept = [
        (name, value)
        for name, values in typed.items()
        if not name.startswith(_READINGS)
        and name not in (CHOSEN, *(f"{each}{UNIT}" for each in COLUMNS))
        for value in (values[-1:] if name in ("language", "units") else values)
        if value
    ]
    shown: dict[str, Any] = {"advice": "", "options": [], "warnings": [], "faults": {}}
    status = 200
    if kept:
        try:
            shown |= _advice(request, _chosen(typed))
        except ma.ValidationError as error:
            status = 422
            names = {each.name for place in range(MOST_READINGS) for each in _row(place)}
            schema = ProgressRequestSchema()
            shown["faults"] = faults_beside(error, schema, request, places, names)
    filled = (name for name, values in typed.items() if _is_row(name) and any(values))
    rows = 1 + max((int(name.split("/")[2]) for name in filled), default=-1)
    page = flask.render_template(
        "flush_log.html",
        rows=[_row(place) for place in range(min(rows + _SPARE, MOST_READINGS))],
        typed=typed,
        kept=kept,
        containers=_names(request),
        chosen=CHOSEN,
        unit=UNIT,
        switched_by="/flush-log" if kept else "",
        switched="log",
        **page_words(),
        **shown,
    )
    return page, status


def _row(place: int) -> list[Entry]:
    """Return the entries of a row; the units of its figures stand in the first."""
    return [
        Entry(
            f"{_READINGS}{place}/{column}",
            sentence(f"page.log.label.{column}"),
            units=() if place else units,
        )
        for column, units in COLUMNS.items()
    ]


def _is_row(name: str) -> bool:
    steps = name.split("/")
    return name.startswith(_READINGS) and len(steps) == 4 and is_place(steps[2])


def _with_units(typed: Typed) -> Typed:
    """Return what was typed with the unit of its column beside each figure of a row."""
    units = {
        f"{name}{UNIT}": typed.get(f"{column}{UNIT}", [])
        for name in typed
        for column in COLUMNS
        if _is_row(name) and name.endswith(f"/{column}")
    }
    return {name: values for name, values in {**typed, **units}.items() if values}


def _chosen(typed: Typed) -> int:
    place = first_of(typed, CHOSEN)
    return int(place) if is_place(place) else 0


def _names(request: Mapping[str, Any]) -> list[str]:
    containers = request.get("containers")
    each_of = containers if isinstance(containers, list) else []
    return [each.get("name", "") if isinstance(each, dict) else "" for each in each_of]


def _loaded(schema: ma.Schema, request: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a schema takes of a request, loaded."""
    asked = {name: given for name, given in request.items() if name in schema.fields}
    loaded: dict[str, Any] = schema.load(asked)
    return loaded


def _advice(request: Mapping[str, Any], chosen: int) -> dict[str, Any]:
    """Return what to do now: by the plan while nothing is read, else by the readings.

    The plan is the one that the answer to the same request advises, of which some of what was
    told decides how far the flush goes, and not only what a flush plan alone asks for.
    """
    containers = request.get("containers")
    if isinstance(containers, list):
        request = {**request, "containers": containers[chosen : chosen + 1] or containers[:1]}
    follows = bool(request.get("readings"))
    schema = ProgressRequestSchema() if follows else FlushPlanRequestSchema()
    loaded, whole = (_loaded(each, request) for each in (schema, AssessmentRequestSchema()))

    def found() -> Any:
        advised = assessment_of(whole).as_advised
        if follows:
            return progress_of(loaded, advised)
        return answer_flush_plan(advised, list(readings_of(loaded)), Wanted())

    answer: Json = in_words(loaded, json.dumps(request).encode(), found)
    plans = answer.get("flush_plan") or []
    said = (
        answer["progress"]["sentence"]
        if follows
        else " ".join(each.get("in_short") or each["sentence"] for each in plans)
    )
    gaps = [] if said else [each["sentence"] for each in answer.get("not_computed", [])]
    of_options = [answer["progress"] or {}] if follows else plans
    return {
        "advice": said or " ".join(gaps),
        "options": [each["sentence"] for one in of_options for each in one.get("options", [])],
        "warnings": answer["warnings"],
        "followed": follows,
    }
