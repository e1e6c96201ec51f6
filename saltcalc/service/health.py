"""Liveness and readiness."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache
from importlib import import_module
from inspect import signature
from pkgutil import iter_modules

import flask
import numpy as np

from saltcalc import data
from saltcalc.science.sodicity import sar


def install(app: flask.Flask) -> None:
    """Serve ``/healthz`` (the process lives) and ``/readyz`` (it answers correctly)."""

    @app.get("/healthz")
    def healthz() -> flask.Response:
        return flask.jsonify(status="ok")

    @app.get("/readyz")
    def readyz() -> tuple[flask.Response, int]:
        fault = _fault()
        if fault:
            return flask.jsonify(status="not ready", fault=fault), 503
        return flask.jsonify(status="ready"), 200


@cache
def _fault() -> str:
    """Load the tables and check one figure; return what is wrong, or an empty string."""
    try:
        read_tables()
    except ValueError as error:
        return str(error)
    # FAO 29, section 3.2: Na 7.73, Ca 2.32, Mg 1.44 mmol_c/L give SAR 5.64.
    if not np.isclose(sar(7.73, 2.32, 1.44), 5.64, atol=0.005):
        return "the SAR of a published water came out wrong"
    return ""


def read_tables() -> None:
    """Read every table, so that a fault stops the start and no request waits for one.

    Raises
    ------
    TableError
        Naming the table and what is wrong in it.
    """
    for load in _loaders():
        load()


def _loaders() -> Iterator[Callable[[], object]]:
    """Every function of the data modules that reads a whole table: cached, and asked nothing."""
    for module in iter_modules(data.__path__, f"{data.__name__}."):
        for member in vars(import_module(module.name)).values():
            if hasattr(member, "cache_info") and all(
                parameter.default is not parameter.empty
                for parameter in signature(member).parameters.values()
            ):
                yield member
