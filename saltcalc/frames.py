"""A season of samples in a data frame: of pandas, of Arrow, or of Dask on many machines.

It takes and gives the columns of a table of samples as the service does: headings with their units
in brackets, as ``saltcalc samples-template`` prints them.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from functools import cache
from typing import TYPE_CHECKING, Any

import flask

from saltcalc.parts.answer import Wanted
from saltcalc.service.app import create_app
from saltcalc.service.batch import answers_to
from saltcalc.service.config import read_settings
from saltcalc.service.sent_rows import Row
from saltcalc.service.short_form import headings
from saltcalc.service.table_rows import problem_in_words, rows_under
from saltcalc.words.reader import telling
from saltcalc.words.unit_systems import METRIC

if TYPE_CHECKING:
    import pyarrow as pa

Answers = Iterator[list[dict[str, Any]]]

PROBLEM = "problem"


@contextmanager
def in_process(units: str = METRIC) -> Iterator[flask.Flask]:
    """Answer here until the block ends, by the settings of the environment and in these units."""
    app = _service()
    with app.test_request_context(), telling(units=units):
        yield app


@cache
def _service() -> flask.Flask:
    return create_app(read_settings({**os.environ, "SALTCALC_LOG_LEVEL": "CRITICAL"}))


def answers_here(rows: Iterator[Row], place: str) -> Answers:
    """Yield the short answers to rows, chunk by chunk, and at last the closing line alone.

    It holds within the block of :func:`in_process`.
    """
    return answers_to(rows, Wanted(), place=place)


def assess_frame(frame: Any, *, units: str = METRIC) -> Any:
    """Assess every row of a data frame as a sample.

    Parameters
    ----------
    frame : pandas.DataFrame or pyarrow.Table, n rows
        A column each for what is known of the samples, under a heading with its unit in brackets:
        ``ec [mS/cm]``, ``Na [mg/L]``, ``volume [L]``, ``crop``. A cell that is missing or blank is
        not given; a text is read as in a table that is sent to the service.
    units : {"metric", "us"}, optional
        The units of the answer.

    Returns
    -------
    pandas.DataFrame or pyarrow.Table, n rows
        As it came, with the index of the frame: the short form of each answer, its figures under
        headings with their units, missing where a figure is not known; and in ``problem`` in words
        why a row was refused.

    Raises
    ------
    werkzeug.exceptions.HTTPException
        If a heading is not known; the description says which.

    Examples
    --------
    >>> import pandas as pd
    >>> samples = pd.DataFrame({"ec [mS/cm]": [1.45, 0.4], "method": "1:2", "crop": "bean"})
    >>> assess_frame(samples)[["verdict", "ec_saturated_extract [dS/m]", "limit [dS/m]"]]
         verdict  ec_saturated_extract [dS/m]  limit [dS/m]
    0  supported                         3.95           1.0
    1   unlikely                         1.01           1.0
    """
    is_arrow = hasattr(frame, "column_names")
    if is_arrow:
        records: Iterable[Any] = zip(*(each.to_pylist() for each in frame.columns), strict=True)
        headed = frame.column_names
    else:
        missing = frame.isna()
        records = frame.astype(object).mask(missing, None).itertuples(index=False, name=None)
        headed = [str(each) for each in frame.columns]
    with in_process(units):
        found = [
            each
            for chunk in answers_here(rows_under(headed, records), "row")
            for each in chunk
            if "closing" not in each
        ]
    table = table_of(found, units)
    return table if is_arrow else _as_pandas(table, frame.index)


def table_of(answers: Iterable[dict[str, Any]], units: str, *, place: str = "") -> pa.Table:
    """Return short answers as a table of Arrow; with the number of each row where it has a name."""
    import pyarrow as pa  # noqa: PLC0415 - an extra

    rows = [
        {**each, PROBLEM: problem_in_words(each) if PROBLEM in each else None} for each in answers
    ]
    return pa.Table.from_pylist(rows, schema=schema_of(units, place))


def schema_of(units: str, place: str = "") -> pa.Schema:
    """Return the columns of the short form in Arrow."""
    import pyarrow as pa  # noqa: PLC0415

    columns = [
        (each, pa.float64() if each.endswith("]") else pa.string())
        for each in (*headings(units), PROBLEM)
    ]
    return pa.schema([*([(place, pa.int64())] if place else []), *columns])


def _as_pandas(table: pa.Table, index: Any) -> Any:
    frame = table.to_pandas()
    texts = {each: "string" for each in frame.columns if not each.endswith("]")}
    return frame.astype(texts).set_axis(index, axis=0)


def assess_dask(frame: Any, *, units: str = METRIC) -> Any:
    """Assess every row of a Dask data frame, partition by partition, wherever its workers are.

    Parameters
    ----------
    frame : dask.dataframe.DataFrame
        As for :func:`assess_frame`.
    units : {"metric", "us"}, optional
        The units of the answer.

    Returns
    -------
    dask.dataframe.DataFrame
        Not computed yet; its partitions, divisions and index are those of the frame. A partition
        of which a worker is lost is computed anew by another.
    """
    empty = assess_frame(frame._meta, units=units)
    return frame.map_partitions(assess_frame, units=units, meta=empty)
