"""Who may ask, how often, and from which pages; and the headers that keep a browser safe."""

from __future__ import annotations

from collections.abc import Mapping

import flask
from werkzeug.datastructures import Authorization, WWWAuthenticate
from werkzeug.exceptions import BadRequest, Unauthorized

from saltcalc.service.config import Settings
from saltcalc.service.keys import Keys
from saltcalc.words.catalogue import sentence

OPEN_TO_ALL = frozenset({"/healthz", "/readyz"})

LOOK = "pages.static"
"""The style sheet and the icon of the pages, which say nothing."""

FAULT = "saltcalc.fault"
"""Where a request carries what is wrong with it before the application has seen it."""

HEADERS: Mapping[str, str] = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
}
CONTRACT_PAGE = (
    "default-src 'self'; script-src 'self' 'unsafe-inline'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data:; frame-ancestors 'none'"
)
"""The page of the contract comes from a library, which writes its script into the page."""


def install(app: flask.Flask, settings: Settings) -> None:
    """Let in who may ask, as the settings say."""
    if settings.keys:
        _ask_for_keys(app, Keys(settings.keys))
    if settings.rate_limit:
        _limit_rate(app, settings.rate_limit)
    if settings.cors_origins:
        _let_pages_ask(app, settings.cors_origins)

    @app.before_request
    def refuse() -> None:
        """Refuse what the worker found at fault, and what names no host (RFC 9112, 3.2)."""
        environ = flask.request.environ
        if FAULT in environ:
            raise environ[FAULT]
        if environ.get("SERVER_PROTOCOL") == "HTTP/1.1" and "HTTP_HOST" not in environ:
            raise BadRequest(sentence("problem.no_host"))

    @app.after_request
    def keep_safe(response: flask.Response) -> flask.Response:
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        if flask.request.path.startswith("/docs"):
            response.headers["Content-Security-Policy"] = CONTRACT_PAGE
        return response


def _ask_for_keys(app: flask.Flask, keys: Keys) -> None:
    @app.before_request
    def let_in() -> None:
        asked = flask.request
        if asked.path in OPEN_TO_ALL or asked.method == "OPTIONS" or asked.endpoint == LOOK:
            return
        token = _token_of(asked.authorization)
        flask.g.key_id = keys.whose(token) if token else None
        if flask.g.key_id is None:
            told = sentence("problem.key_unknown" if token else "problem.key_missing")
            ways = [WWWAuthenticate("bearer", {"realm": "saltcalc"})]
            if asked.accept_mimetypes.best_match(["application/json", "text/html"]) == "text/html":
                told = f"{told} {sentence('problem.key_in_browser')}"
                ways.append(WWWAuthenticate("basic", {"realm": "saltcalc", "charset": "UTF-8"}))
            raise Unauthorized(told, www_authenticate=ways)


def _token_of(given: Authorization | None) -> str | None:
    """Return the key that was sent: by a program as it is, by a browser as a password."""
    if given is None:
        return None
    return given.password if given.type == "basic" else given.token


def _limit_rate(app: flask.Flask, rate: str) -> None:
    """Count the requests of each client, or key, in each worker by itself."""
    from flask_limiter import Limiter  # noqa: PLC0415 - only where it is wanted

    def client() -> str:
        return str(flask.g.get("key_id") or flask.request.remote_addr)

    limiter = Limiter(
        client, app=app, default_limits=[rate], storage_uri="memory://", headers_enabled=True
    )
    limiter.request_filter(lambda: flask.request.path in OPEN_TO_ALL)


def _let_pages_ask(app: flask.Flask, origins: tuple[str, ...]) -> None:
    from flask_cors import CORS  # noqa: PLC0415 - only where it is wanted

    CORS(
        app,
        origins=list(origins),
        methods=["GET", "POST"],
        allow_headers=["Authorization", "Content-Type", "X-Request-ID"],
        expose_headers=["ETag", "Retry-After", "X-Request-ID"],
        max_age=3600,
    )

    @app.after_request
    def share(response: flask.Response) -> flask.Response:
        response.headers["Cross-Origin-Resource-Policy"] = "cross-origin"
        return response
