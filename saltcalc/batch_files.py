"""A file of samples answered into another file; after a break it goes on where it was."""

from __future__ import annotations

import json
import os
from collections import Counter
from collections.abc import Callable, Iterator
from itertools import islice
from pathlib import Path
from typing import Any, NamedTuple

import flask
from werkzeug.exceptions import HTTPException

from saltcalc import __version__
from saltcalc.frames import answers_here, in_process, schema_of, table_of
from saltcalc.service.sent_rows import Lines, Row, json_rows
from saltcalc.service.short_form import headings
from saltcalc.service.table_rows import cells_of, rows_under, table_in, written

LINES, TABLE, PARQUET = (".ndjson", ".jsonl"), ".csv", ".parquet"
SUFFIXES = (*LINES, TABLE, PARQUET)

_ROWS = 1024
"""Of a Parquet file that are read, or written, at once."""


class Closing(NamedTuple):
    """What became of a file."""

    rows: int
    failed: int
    by_verdict: dict[str, int]
    resumed_at: int
    """Rows that were answered already."""


class _Source(NamedTuple):
    """A file as it is read."""

    rows: Iterator[Row]
    place: str
    """What the number of a row is called."""
    mark: str = ","
    """What parts the cells of a table."""
    bom: str = ""


def answer_file(
    source: Path, target: Path, *, units: str, progress: Callable[[float], None]
) -> Closing:
    """Answer every sample of a file.

    Beside the target stand, until it is whole, its beginning (``.part``) and how far it got
    (``.part.json``). A second run of the same file goes on from there.

    Parameters
    ----------
    source, target : Path
        Lines of JSON, CSV, or Parquet, by their suffixes.
    units : {"metric", "us"}
        Of the answer.
    progress : callable
        Is told which share of the file has been read.

    Raises
    ------
    werkzeug.exceptions.HTTPException
        If the file cannot be read, or not to its end.
    """
    part, journal = (target.with_name(target.name + end) for end in (".part", ".part.json"))
    was = source.stat()
    same = {"size": was.st_size, "modified": was.st_mtime_ns, "units": units, "by": __version__}
    done = _done(part, journal, same)
    start = int(done["row"])
    with in_process(units) as app, source.open("rb") as stream:
        found = _opened(source, stream, int(app.config["MAX_CONTENT_LENGTH"]))
        write = _writer(target.suffix, found, units)
        ahead = (row for row in found.rows if row.number > start)
        verdicts = Counter(done["by_verdict"])
        with part.open("r+b" if start else "wb") as out:
            if start:
                out.seek(done["bytes"])
                out.truncate()
            else:
                out.write(write(None))
            for chunk in answers_here(ahead, found.place):
                if closing := chunk[0].get("closing"):
                    if not closing["complete"]:
                        problem = closing["problem"]
                        raise HTTPException(problem.get("detail", problem["title"]))
                    break
                out.write(write(chunk))
                out.flush()
                os.fsync(out.fileno())
                verdicts.update(each["verdict"] for each in chunk if "verdict" in each)
                done["rows"] += len(chunk)
                done["failed"] += sum("problem" in each for each in chunk)
                done |= {"row": chunk[-1][found.place], "bytes": out.tell()}
                _keep(journal, done | {"by_verdict": verdicts, "of": same})
                progress(stream.tell() / max(was.st_size, 1))
        if target.suffix == PARQUET:
            _as_parquet(part, target, units, found.place)
        else:
            part.replace(target)
    journal.unlink(missing_ok=True)
    part.unlink(missing_ok=True)
    return Closing(done["rows"], done["failed"], dict(verdicts), start)


def _done(part: Path, journal: Path, same: dict[str, Any]) -> dict[str, Any]:
    """Return how far a run of the same file got; nowhere if there was none."""
    try:
        kept: dict[str, Any] = json.loads(journal.read_bytes())
        if kept["of"] == same and part.stat().st_size >= kept["bytes"]:
            return kept
    except (OSError, ValueError, KeyError):
        pass
    return {"row": 0, "rows": 0, "failed": 0, "bytes": 0, "by_verdict": {}}


def _keep(journal: Path, done: dict[str, Any]) -> None:
    """Write how far it got, whole or not at all."""
    new = journal.with_name(journal.name + ".new")
    new.write_text(json.dumps(done), encoding="utf-8")
    new.replace(journal)


def _opened(source: Path, stream: Any, longest: int) -> _Source:
    if source.suffix == PARQUET:
        import pyarrow.parquet as pq  # noqa: PLC0415 - an extra

        file = pq.ParquetFile(stream)
        records = (
            record
            for batch in file.iter_batches(_ROWS)
            for record in zip(*(each.to_pylist() for each in batch.columns), strict=True)
        )
        return _Source(rows_under(file.schema_arrow.names, records), "row")
    lines = Lines(stream, is_gzip=False, longest=longest)
    if source.suffix != TABLE:
        return _Source(json_rows(lines), "line")
    table = table_in(lines)
    return _Source(table.rows, "row", table.mark, "\ufeff" if table.begins_with_bom else "")


def _writer(
    suffix: str, found: _Source, units: str
) -> Callable[[list[dict[str, Any]] | None], bytes]:
    """Return what writes a chunk of answers, or what is before the first."""
    columns = [found.place, *headings(units), "problem"]

    def as_table(chunk: list[dict[str, Any]] | None) -> bytes:
        if chunk is None:
            return found.bom.encode() + written([columns], found.mark)
        comma = found.mark == ";"
        return written([cells_of(each, columns, comma) for each in chunk], found.mark)

    def as_lines(chunk: list[dict[str, Any]] | None) -> bytes:
        return "".join(f"{flask.json.dumps(each)}\n" for each in chunk or ()).encode()

    return as_table if suffix == TABLE else as_lines


def _as_parquet(part: Path, target: Path, units: str, place: str) -> None:
    """Turn lines into Parquet, no more than a few at once."""
    import pyarrow.parquet as pq  # noqa: PLC0415

    made = target.with_name(target.name + ".new")
    with part.open("rb") as lines, pq.ParquetWriter(made, schema_of(units, place)) as out:
        while chunk := [json.loads(line) for line in islice(lines, _ROWS)]:
            out.write_table(table_of(chunk, units, place=place))
    made.replace(target)
