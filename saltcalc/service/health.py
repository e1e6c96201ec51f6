"""Liveness and readiness."""

from __future__ import annotations

from functools import cache

import flask
import numpy as np

from saltcalc.data.crops import catalogue
from saltcalc.data.extraction import method_codes
from saltcalc.data.observations import observations
from saltcalc.data.sources import bibliography
from saltcalc.data.substrates import substrates
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
    """Load every table and check one figure; return what is wrong, or an empty string."""
    tables = (bibliography, catalogue, method_codes, observations, substrates)
    try:
        for table in tables:
            table()
    except ValueError as error:
        return str(error)
    # FAO 29, section 3.2: Na 7.73, Ca 2.32, Mg 1.44 mmol_c/L give SAR 5.64.
    if not np.isclose(sar(7.73, 2.32, 1.44), 5.64, atol=0.005):
        return "the SAR of a published water came out wrong"
    return ""
