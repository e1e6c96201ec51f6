"""Liveness and readiness."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from importlib import import_module
from inspect import signature
from pkgutil import iter_modules

import flask
import numpy as np

from saltcalc import __version__, data
from saltcalc.science import phreeqc
from saltcalc.science.sodicity import sar
from saltcalc.words.catalogue import sentence

# FAO Irrigation and Drainage Paper 29, section 3.2: Na 7.73, Ca 2.32, Mg 1.44 mmol_c/L.
_WATER, _PUBLISHED_SAR = (7.73, 2.32, 1.44), 5.64


def install(app: flask.Flask) -> None:
    """Serve ``/healthz`` (the process lives) and ``/readyz`` (it answers correctly)."""

    @app.get("/healthz")
    def healthz() -> flask.Response:
        return flask.jsonify(status="ok", version=__version__)

    @app.get("/readyz")
    def readyz() -> tuple[flask.Response, int]:
        if fault := _fault():
            return flask.jsonify(status="not ready", version=__version__, fault=fault), 503
        engines = {"phreeqc": "ready" if phreeqc.available() else "missing"}
        return flask.jsonify(status="ready", version=__version__, engines=engines), 200


def _fault() -> str:
    """Look at the tables, compute one published figure; return what is wrong, or nothing."""
    try:
        read_tables()
    except ValueError as error:
        return str(error)
    if not np.isclose(sar(*_WATER), _PUBLISHED_SAR, atol=0.005):
        return sentence("health.figure_is_off")
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
