"""The Flask application."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import flask
from flask.json.provider import DefaultJSONProvider

from saltcalc import __version__
from saltcalc.service import access, compression, docs, health, language, logs, request_log
from saltcalc.service.config import Settings, read_settings
from saltcalc.service.pages.routes import pages
from saltcalc.service.problems import ProblemApi
from saltcalc.service.resources import BLUEPRINTS
from saltcalc.service.spec import (
    OperationIds,
    describe_administration,
    number_to_forms,
    quantity_to_forms,
    request_to_forms,
)

DESCRIPTION = """\
Is it salt, which salt, how far is it above what this crop at this age tolerates, how much water \
per container takes it down, in how many passes, and what to do if it cannot drain.

A quantity comes in as {value, unit}, as a bare number in the unit its field documents, or as \
text with a unit; it goes out as {value, unit}, with low and high where it is uncertain, in metric \
units, or with `?units=us` in US ones. What a request says of its sample comes back at the top of \
the answer. Errors are problem documents (RFC 9457).

An answer comes in the language of the request's `language`, or else in the one that \
`Accept-Language` likes best of those there are. Tables come with an `ETag`; asked again with it \
in `If-None-Match` they answer 304. With `Accept-Encoding: gzip` longer answers come compressed. \
Where more is asked than can be answered, or by a client than it may (429, 503), `Retry-After` \
says in how many seconds to ask again. Follow local rules on drainage water, and ask \
licensed advice before you act on soil, acids or boron.
"""


class StrictJSON(DefaultJSONProvider):
    """Writes every JSON answer; one with NaN or Infinity, which JSON has not, is an error."""

    def dumps(self, obj: Any, **kwargs: Any) -> str:
        """Write a value, or raise ``ValueError`` for a number that JSON has not."""
        return _encoder(**kwargs).encode(obj)


@cache
def _encoder(**options: Any) -> json.JSONEncoder:
    """Return what writes values, made once for each way in which flask writes them."""
    own: dict[str, Any] = {"default": StrictJSON.default, "ensure_ascii": False, "allow_nan": False}
    return json.JSONEncoder(**(own | options))


def create_app(settings: Settings | None = None) -> flask.Flask:
    """Make the application.

    Parameters
    ----------
    settings : Settings, optional
        Read from the environment if not given.

    Raises
    ------
    TableError
        If a table cannot be trusted.
    """
    settings = settings or read_settings()
    health.read_tables()
    app = flask.Flask(__name__)
    app.url_map.merge_slashes = False
    app.config.update(
        MAX_CONTENT_LENGTH=settings.max_body_bytes,
        LOCAL_CROPS=settings.local_crops,
        LOCAL_RANGES=settings.local_ranges,
        TIMEOUT_SECONDS=settings.timeout_seconds,
        API_TITLE="saltcalc",
        API_VERSION=__version__,
        OPENAPI_VERSION="3.1.0",
        OPENAPI_URL_PREFIX="/",
        API_SPEC_OPTIONS={
            "info": {"description": DESCRIPTION},
            "servers": [{"url": "/"}],
            "security": [{}, {"key": []}],
        },
    )
    app.json = StrictJSON(app)
    logs.configure(settings.log_level)
    request_log.install(app)
    language.install(app)
    access.install(app, settings)
    compression.install(app)
    health.install(app)
    api = ProblemApi(app, spec_kwargs={"extra_plugins": [OperationIds()]})
    api.ma_plugin.converter.add_attribute_function(quantity_to_forms)
    api.ma_plugin.converter.add_attribute_function(number_to_forms)
    api.ma_plugin.converter.add_attribute_function(request_to_forms)
    for blueprint in BLUEPRINTS:
        api.register_blueprint(blueprint)
    api.describe(lambda: describe_administration(app, api.spec))
    docs.install(app)
    app.register_blueprint(pages)
    return app
