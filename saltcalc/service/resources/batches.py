"""A season of samples in one request: lines of JSON, or a table."""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Iterator
from itertools import chain
from pathlib import Path
from typing import Any

import flask
from flask.views import MethodView
from werkzeug.exceptions import UnprocessableEntity, UnsupportedMediaType

import saltcalc
from saltcalc.parts.answer import OF_ASSESSMENT, ON_REQUEST
from saltcalc.service.batch import TURN, Json, answers_to
from saltcalc.service.body import Blueprint
from saltcalc.service.schemas.queries import wanted_of, wanted_schema
from saltcalc.service.sent_rows import Lines, json_rows
from saltcalc.service.short_form import headings
from saltcalc.service.table_rows import cells_of, table_in, written
from saltcalc.words.catalogue import sentence
from saltcalc.words.reader import Reader, reader, telling

batches = Blueprint("batches", __name__, url_prefix="/v1", description="Many media at once.")

NDJSON, CSV = "application/x-ndjson", "text/csv"

_TEMPLATE = Path(saltcalc.__file__).parent / "words" / "templates" / "samples.csv"

# Invented: two tubs in a polytunnel on an estuary, by a portable meter.
_LINES = (
    '{"sample_id": "tub 1", "medium": {"extraction": "one_to_two", "ec": "1450 µS/cm"}, '
    '"containers": [{"volume": "40 L"}], "crops": [{"crop": "French bean"}]}\n'
    '{"sample_id": "tub 2", "medium": {"extraction": "one_to_two", "ec": "0.6 mS/cm"}}\n'
)
_TABLE = "sample_id,ec [mS/cm],method,volume [L],crop\ntub 1,1.45,1:2,40,French bean\n"

_TEXT = {"type": "string"}
_REQUEST = {
    "required": True,
    "description": "Requests as for `POST /v1/assessments`: one on each line, in JSON; or one in "
    "each row of a table, as `GET /v1/templates/samples.csv` begins one. It may be compressed "
    "(`Content-Encoding: gzip`), and be of any length; a line may be as long as a single request.",
    "content": {
        NDJSON: {"schema": _TEXT, "example": _LINES},
        CSV: {"schema": _TEXT, "example": _TABLE},
    },
}
_ANSWER = {
    "description": "The answers in their order, while the requests still come in; lines or a "
    "table as they were sent, or as `Accept` says. Read them while you send: who takes none for "
    "10 s, or sends nothing for 10 s, is let go. On lines: `line` (`row` of a table), `sample_id`, "
    "and the parts that are chosen, or else the short form: figures and ids under headings with "
    f"their units ({', '.join(headings())}), without what is not known; of a faulty line its "
    "`problem` instead. The last line has `closing`: `rows`, `failed`, `by_verdict` of the first "
    "cause, and `complete`, false with a `problem` where not all could be read. In a table: the "
    "short form, a row each, a faulty one with its `problem` in words; no cell begins as a formula "
    "of a spreadsheet does: one that would takes an apostrophe first.",
    "content": {NDJSON: {"schema": _TEXT}, CSV: {"schema": _TEXT}},
}


@batches.route("/assessments/batch")
class Batches(MethodView):
    """The short answers to many media."""

    @batches.doc(requestBody=_REQUEST, responses={200: _ANSWER})
    @batches.arguments(wanted_schema((*OF_ASSESSMENT, *ON_REQUEST)), location="query")
    def post(self, query: dict[str, Any]) -> flask.Response:
        """Assess any number of media, each by itself."""
        request, wanted = flask.request, wanted_of(query)
        kind = request.mimetype
        if kind not in (NDJSON, CSV):
            raise UnsupportedMediaType(sentence("body.neither_lines_nor_table"))
        answers_in = request.accept_mimetypes.best_match((kind, NDJSON, CSV), kind)
        if answers_in == CSV and wanted.parts:
            raise UnprocessableEntity(sentence("table.no_parts"))
        encoding = request.headers.get("Content-Encoding", "identity")
        if encoding not in ("identity", "gzip"):
            raise UnsupportedMediaType(sentence("body.encoded", encoding=encoding[:40]))
        longest = int(flask.current_app.config["MAX_CONTENT_LENGTH"])
        sent = request.environ["wsgi.input"]  # without the limit of a single request
        lines = Lines(sent, is_gzip=encoding == "gzip", longest=longest)
        table = table_in(lines) if kind == CSV else None
        answers = answers_to(
            table.rows if table else json_rows(lines),
            wanted,
            place="row" if table else "line",
            at_hand=lines.at_hand,
            turn=request.environ.get(TURN),
        )
        told = (
            _as_table(answers, "row" if table else "line", table.mark if table else ",")
            if answers_in == CSV
            else _as_lines(answers)
        )
        if table and table.begins_with_bom and answers_in == CSV:
            told = chain(["\ufeff".encode()], told)
        return _streamed(told, answers_in)


@batches.route("/templates/samples.csv")
class SamplesTemplate(MethodView):
    """A table to fill in."""

    @batches.doc(
        responses={
            200: {"description": "The table.", "content": {CSV: {"schema": _TEXT}}},
        }
    )
    def get(self) -> flask.Response:
        """Return a table of samples to fill in, with an invented row."""
        response = flask.Response(_TEMPLATE.read_text(encoding="utf-8"), mimetype=CSV)
        response.headers["Content-Disposition"] = 'attachment; filename="samples.csv"'
        return response


def _streamed(told: Iterable[bytes], kind: str) -> flask.Response:
    told = _to_reader(reader(), told)
    accepts = flask.request.accept_encodings.quality("gzip") > 0
    body = flask.stream_with_context(_zipped(told) if accepts else iter(told))
    response = flask.Response(body, content_type=f"{kind}; charset=utf-8")
    response.vary.add("Accept")
    response.headers["X-Accel-Buffering"] = "no"  # proxies that gather an answer would hold it
    if accepts:
        response.headers["Content-Encoding"] = "gzip"
    return response


def _to_reader(now: Reader, told: Iterable[bytes]) -> Iterator[bytes]:
    """Yield what is told to a reader, also when the request has gone on to others."""
    pieces = iter(told)
    while True:
        with telling(*now):
            piece = next(pieces, None)
        if piece is None:
            return
        yield piece


def _as_lines(answers: Iterable[list[Json]]) -> Iterator[bytes]:
    write = flask.current_app.json.dumps
    for chunk in answers:
        yield "".join([f"{write(each)}\n" for each in chunk]).encode()


def _as_table(answers: Iterable[list[Json]], place: str, mark: str) -> Iterator[bytes]:
    comma = mark == ";"
    columns = [place, *headings(reader().units), "problem"]
    yield written([columns], mark)
    for chunk in answers:
        rows = [cells_of(each, columns, comma) for each in chunk if place in each]
        problem = chunk[-1].get("closing", {}).get("problem")
        if problem:
            broken = {place: "", "problem": problem}
            rows.append(cells_of(broken, columns, comma))
        if rows:
            yield written(rows, mark)


def _zipped(told: Iterable[bytes]) -> Iterator[bytes]:
    zipper = zlib.compressobj(wbits=31)
    for piece in told:
        yield zipper.compress(piece) + zipper.flush(zlib.Z_SYNC_FLUSH)
    yield zipper.flush()
