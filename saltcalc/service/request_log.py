"""What is kept of each request: one JSON log line without the payload, and counts for Prometheus.

The counts are gathered over all worker processes.
"""

from __future__ import annotations

import os
import re
import time
import uuid

import flask
import structlog
from prometheus_client import (
    CONTENT_TYPE_LATEST,
    REGISTRY,
    CollectorRegistry,
    Counter,
    Histogram,
    generate_latest,
)
from prometheus_client.multiprocess import MultiProcessCollector

from saltcalc.deadline import answer_within, answered

_ACCEPTABLE_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")
HEADER = "X-Request-ID"

_REQUESTS = Counter("saltcalc_requests", "Requests answered.", ["method", "route", "status"])
_SECONDS = Histogram(
    "saltcalc_request_seconds", "Time to answer a request [s].", ["method", "route"]
)

_METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE"})


def install(app: flask.Flask) -> None:
    """Give every request an id, write its line and count it; serve the counts at ``/metrics``."""

    @app.before_request
    def _begin() -> None:
        given = flask.request.headers.get(HEADER, "")
        flask.g.request_id = given if _ACCEPTABLE_ID.fullmatch(given) else uuid.uuid4().hex
        flask.g.began = time.perf_counter()
        flask.g.deadline = answer_within(flask.current_app.config["TIMEOUT_SECONDS"])

    @app.after_request
    def _end(response: flask.Response) -> flask.Response:
        response.headers[HEADER] = flask.g.request_id
        request, seconds = flask.request, time.perf_counter() - flask.g.began
        route = request.url_rule.rule if request.url_rule else None
        structlog.get_logger().info(
            "request",
            request_id=flask.g.request_id,
            client=request.remote_addr,
            key=flask.g.get("key_id"),
            method=request.method,
            route=route,
            path=None if route else request.path[:200],
            status=response.status_code,
            milliseconds=round(seconds * 1000, 2),
            bytes=response.content_length,
        )
        # A client can make up methods without end, and each label lives as long as the service.
        method = request.method if request.method in _METHODS else "other"
        _REQUESTS.labels(method, route or "none", response.status_code).inc()
        _SECONDS.labels(method, route or "none").observe(seconds)
        return response

    @app.teardown_request
    def _close(_error: BaseException | None) -> None:
        if token := flask.g.pop("deadline", None):
            answered(token)

    @app.get("/metrics")
    def metrics() -> flask.Response:
        return flask.Response(generate_latest(_registry()), content_type=CONTENT_TYPE_LATEST)


def _registry() -> CollectorRegistry:
    if "PROMETHEUS_MULTIPROC_DIR" not in os.environ:
        return REGISTRY
    registry = CollectorRegistry()
    MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
    return registry
