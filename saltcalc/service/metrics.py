"""Prometheus metrics of the service, gathered over all its worker processes."""

from __future__ import annotations

import os
import time

import flask
from prometheus_client import (
    CONTENT_TYPE_LATEST,
    REGISTRY,
    CollectorRegistry,
    Counter,
    Histogram,
    generate_latest,
)
from prometheus_client.multiprocess import MultiProcessCollector

_REQUESTS = Counter("saltcalc_requests", "Requests answered.", ["method", "route", "status"])
_SECONDS = Histogram(
    "saltcalc_request_seconds", "Time to answer a request [s].", ["method", "route"]
)

_METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE"})


def install(app: flask.Flask) -> None:
    """Count every request, and serve the counts at ``/metrics``."""

    @app.before_request
    def _begin() -> None:
        flask.g.metrics_began = time.perf_counter()

    @app.after_request
    def _end(response: flask.Response) -> flask.Response:
        rule = flask.request.url_rule
        route = rule.rule if rule else "none"
        # A client can make up methods without end, and each label lives as long as the service.
        method = flask.request.method if flask.request.method in _METHODS else "other"
        _REQUESTS.labels(method, route, response.status_code).inc()
        _SECONDS.labels(method, route).observe(time.perf_counter() - flask.g.metrics_began)
        return response

    @app.get("/metrics")
    def metrics() -> flask.Response:
        return flask.Response(generate_latest(_registry()), content_type=CONTENT_TYPE_LATEST)


def _registry() -> CollectorRegistry:
    if "PROMETHEUS_MULTIPROC_DIR" not in os.environ:
        return REGISTRY
    registry = CollectorRegistry()
    MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
    return registry
