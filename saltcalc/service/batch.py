"""Many requests answered as one batch: in their order, chunk by chunk, the faulty ones told."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import nullcontext
from functools import cache
from typing import Any

import flask
import marshmallow as ma
import structlog
from werkzeug.exceptions import HTTPException, InternalServerError, UnprocessableEntity

from saltcalc.case.intake import Request, ends_of, readings_of
from saltcalc.deadline import answer_within
from saltcalc.parts.answer import Answer, Wanted, answer_assessment
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.short import show_short
from saltcalc.parts.shown import Joined
from saltcalc.service.catalogues import assessment_of, crop_catalogue, crops_in, with_ends
from saltcalc.service.problems import cut, problem_of
from saltcalc.service.sample import sample_of, trace_of
from saltcalc.service.schemas.columns import UNREAD, read_together
from saltcalc.service.schemas.requests import AssessmentRequestSchema
from saltcalc.service.sent_rows import Cell, Row
from saltcalc.service.short_form import in_rows, sample_in_row
from saltcalc.words.catalogue import spoken, words
from saltcalc.words.reader import reader, telling
from saltcalc.words.rendering import as_json

Json = dict[str, Any]

TURN = "saltcalc.turn"
"""Where a request carries its turn to compute, which it takes and gives back piece by piece."""

FIRST_ROWS, MOST_ROWS, MOST_WITH_PARTS = 32, 512, 128
"""Rows of the first chunk, for an early answer, and of the largest; of one with whole parts."""

ROWS_READ = 64
"""Rows that are read at once, before others are let in."""

_OF_SHORT = ("salinity", "causes", "flush_plan", "upkeep")
_COMPUTED = (*_OF_SHORT, "leaching", "flush_options")
"""Arrays that a summary rests on, in an order in which others can be let in between them."""

Found = Json | tuple[Assessment, int]
"""What there is of a sample: its short form, or its assessment and its place in it."""


class NoTurn(nullcontext[None]):
    """The turn of a batch where nobody else waits."""

    def pass_on(self) -> None:
        """Go on."""


def answers_to(
    rows: Iterator[Row],
    wanted: Wanted,
    *,
    place: str = "line",
    at_hand: Callable[[], bool] = lambda: True,
    turn: Any = None,
) -> Iterator[list[Json]]:
    """Yield the answers to the rows of a batch in their order, chunk by chunk.

    Parameters
    ----------
    rows : iterator of Row
        The requests.
    wanted : Wanted
        What of each answer is wanted; its short form where no part is.
    place : {"line", "row"}
        What the number of a row is called.
    at_hand : callable
        Whether another row can be had without a wait for the sender.
    turn : object, optional
        A context in which to compute, with ``pass_on`` to let others in.

    Yields
    ------
    list of dict
        An answer or a problem a row; and at the very end the closing line alone.
    """
    answer_within(math.inf)  # each wait has an end, the whole has none
    turn = turn or NoTurn()
    verdicts: Counter[str] = Counter()
    count = failed = 0
    size, going, fault = FIRST_ROWS, True, None
    most = MOST_WITH_PARTS if wanted.parts else MOST_ROWS
    while going:
        chunk: list[Row] = []
        going = False
        try:
            for row in rows:
                chunk.append(row)
                if len(chunk) == size or not at_hand():
                    going = True
                    break
        except HTTPException as error:
            fault = error
        size = min(4 * size, most)
        with turn:
            answered = [
                {place: row.number} | each
                for row, each in zip(chunk, _answers(chunk, wanted, verdicts, turn), strict=True)
            ]
        count += len(answered)
        failed += sum("problem" in each for each in answered)
        if answered:
            yield answered
    closing = {
        "rows": count,
        "failed": failed,
        "by_verdict": dict(sorted(verdicts.items())),
        "complete": fault is None,
    }
    told = {} if fault is None else {"problem": problem_of(fault, None)}
    traced = as_json(trace_of(b""), words())["trace"]
    traced.pop("request")
    structlog.get_logger().info(
        "batch", request_id=flask.g.get("request_id"), rows=count, failed=failed
    )
    yield [{"closing": closing | told, "trace": traced}]


def _answers(
    chunk: Sequence[Row], wanted: Wanted, verdicts: Counter[str], turn: Any
) -> Iterator[Json]:
    loaded: list[Request | HTTPException] = []
    for start in range(0, len(chunk), ROWS_READ):
        loaded += _loaded(chunk[start : start + ROWS_READ])
        turn.pass_on()
    sound = [each for each in loaded if not isinstance(each, HTTPException)]
    assessed = iter(_assessed(sound, wanted, turn))
    for row, request in zip(chunk, loaded, strict=True):
        if isinstance(request, HTTPException):
            yield _told(row, request)
            continue
        if wanted.parts:
            turn.pass_on()
        try:
            yield _shown(request, next(assessed), wanted, verdicts)
        except Exception as error:
            structlog.get_logger().error("unhandled", exc_info=error)
            yield _told(row, InternalServerError(original_exception=error))


def _loaded(rows: Sequence[Row]) -> list[Request | HTTPException]:
    """Return requests as the schema of a single one reads it, or why they are refused."""
    together = read_together(_schema(), [row.request for row in rows])
    return [
        row.fault or (_by_itself(row) if request is UNREAD else request)
        for row, request in zip(rows, together, strict=True)
    ]


def _by_itself(row: Row) -> Request | HTTPException:
    try:
        with telling():
            request: Request = _schema().load(row.request)
    except ma.ValidationError as error:
        fault = UnprocessableEntity()
        fault.data = {"messages": {"json": error.messages}, "schema": _schema()}  # type: ignore[attr-defined]
        return fault
    return request


@cache
def _schema() -> AssessmentRequestSchema:
    return AssessmentRequestSchema()


def _assessed(
    requests: Sequence[Request], wanted: Wanted, turn: Any
) -> Iterator[Found | Exception]:
    """Assess requests as one batch, and by itself each that would meddle with the others."""
    alone = _alone(requests)
    together = [each for each, by_itself in zip(requests, alone, strict=True) if not by_itself]
    found: Iterator[Found] | None = None
    try:
        found = _found(assessment_of(*together), wanted, turn) if together else None
    except Exception as error:
        structlog.get_logger().error("unhandled", exc_info=error)
    for request, by_itself in zip(requests, alone, strict=True):
        if found is not None and not by_itself:
            yield next(found)
            continue
        try:
            yield next(_found(with_ends(request), wanted, turn))
        except Exception as error:
            yield error


def _found(assessment: Assessment, wanted: Wanted, turn: Any) -> Iterator[Found]:
    """Return what there is of each sample, once what is to be computed of all together is."""
    for name in _COMPUTED if wanted.parts else _OF_SHORT:
        getattr(assessment, name)
        turn.pass_on()
    if not wanted.parts:
        return iter(in_rows(show_short(assessment), reader().units))
    return ((assessment, sample) for sample in range(assessment.batch.samples.count))


def _alone(requests: Sequence[Request]) -> list[bool]:
    """Tell which requests leave a figure open, or write an unknown crop otherwise."""
    known = crop_catalogue().crops
    written: dict[str, str] = {}
    alone = []
    for request in requests:
        others = [each for each in crops_in([request]) if each not in known]
        differs = any(written.setdefault(each, each.written) != each.written for each in others)
        alone.append(differs or bool(ends_of(request)))
    return alone


def _shown(
    request: Request, found: Found | Exception, wanted: Wanted, verdicts: Counter[str]
) -> Json:
    if isinstance(found, Exception):
        raise found
    if isinstance(found, dict):
        verdicts[found["verdict"]] += 1
        return sample_in_row(request) | found
    shown = answer_assessment(found[0], readings_of(request), found[1], wanted)
    whole: Answer = shown.part
    verdicts[whole.summary.leading_cause.verdict] += 1
    with telling(_language_of(request)):
        answer: Json = as_json(Joined((sample_of(request), shown)), words())
    return answer


def _language_of(request: Any) -> str | None:
    """Return the language that a row asks for, or None where it asks for none."""
    said = request.get("language") if isinstance(request, Mapping) else None
    return spoken(said) if isinstance(said, str) else None


def _told(row: Row, fault: HTTPException) -> Json:
    """Return a row that is at fault: its problem, the column of a table beside each field."""
    sent = row.request if isinstance(row.request, Mapping) else {}
    with telling(_language_of(sent)):
        problem = problem_of(fault, row.request)
    for each in problem.get("errors", ()):
        if cell := _cell_of(each["pointer"], row.cells):
            each["column"] = cell.heading
            if each["pointer"] in row.cells and "value" in each:
                each["value"] = cut(cell.given)
    sample = sent.get("sample_id")
    named = {"sample_id": sample} if isinstance(sample, str) and len(sample) <= 100 else {}
    return named | {"problem": problem}


def _cell_of(pointer: str, cells: Mapping[str, Cell]) -> Cell | None:
    """Return the cell of a table that a member of a request came from."""
    while pointer:
        if pointer in cells:
            return cells[pointer]
        pointer = pointer.rpartition("/")[0]
    return None
