"""Answers compressed for the clients that take it."""

from __future__ import annotations

import flask
from flask_compress import Compress

from saltcalc.service.problems import MEDIA_TYPE

SMALLEST = 1000
_TEXTS = ("text/html", "text/plain", "text/markdown", "text/css")
"""Bytes of the smallest answer that is worth it."""


def install(app: flask.Flask) -> None:
    """Compress what is longer than :data:`SMALLEST` with gzip, where the client accepts that."""
    app.config.update(
        COMPRESS_ALGORITHM=["gzip"],
        COMPRESS_MIMETYPES=["application/json", MEDIA_TYPE, *_TEXTS],
        COMPRESS_MIN_SIZE=SMALLEST,
        COMPRESS_STREAMS=False,
        COMPRESS_REGISTER=False,
    )
    compress = Compress(app)

    @app.after_request
    def shorten(response: flask.Response) -> flask.Response:
        response.vary.add("Accept-Encoding")
        # The library takes a quality of zero, which refuses, for a wish.
        if not flask.request.accept_encodings.quality("gzip"):
            return response
        shortened: flask.Response = compress.after_request(response)
        return shortened
