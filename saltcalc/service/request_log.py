"""One JSON log line a request, with a request id and without the payload."""

from __future__ import annotations

import re
import time
import uuid

import flask
import structlog

from saltcalc.deadline import answer_within, answered

_ACCEPTABLE_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")
HEADER = "X-Request-ID"


def install(app: flask.Flask) -> None:
    """Give every request an id, and write its line when it has been answered."""

    @app.before_request
    def _begin() -> None:
        given = flask.request.headers.get(HEADER, "")
        flask.g.request_id = given if _ACCEPTABLE_ID.fullmatch(given) else uuid.uuid4().hex
        flask.g.began = time.perf_counter()
        flask.g.deadline = answer_within(flask.current_app.config["TIMEOUT_SECONDS"])

    @app.after_request
    def _end(response: flask.Response) -> flask.Response:
        response.headers[HEADER] = flask.g.request_id
        rule = flask.request.url_rule
        structlog.get_logger().info(
            "request",
            request_id=flask.g.request_id,
            client=flask.request.remote_addr,
            key=flask.g.get("key_id"),
            method=flask.request.method,
            route=rule.rule if rule else None,
            path=None if rule else flask.request.path[:200],
            status=response.status_code,
            milliseconds=round((time.perf_counter() - flask.g.began) * 1000, 2),
            bytes=response.content_length,
        )
        return response

    @app.teardown_request
    def _close(_error: BaseException | None) -> None:
        if token := flask.g.pop("deadline", None):
            answered(token)
