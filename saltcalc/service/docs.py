"""The page on which the interface can be read and tried."""

from __future__ import annotations

from typing import Any

import flask
from flask_swagger_ui import get_swaggerui_blueprint

from saltcalc.service.body import let_keep

_VIEWPORT = '<head>\n  <meta name="viewport" content="width=device-width, initial-scale=1">'


def install(app: flask.Flask) -> None:
    """Serve the page at ``/docs``, fit for a phone, with all that it loads.

    The contract that it shows may be kept, as the tables may.
    """
    pages = get_swaggerui_blueprint(
        "/docs",
        "/openapi.json",
        config={"app_name": "saltcalc: the interface", "validatorUrl": None},
        blueprint_name="docs",
    )
    app.register_blueprint(pages)
    show = app.view_functions["docs.show"]

    def page(path: str | None = None) -> Any:
        answer = show(path)
        return answer.replace("<head>", _VIEWPORT, 1) if isinstance(answer, str) else answer

    app.view_functions["docs.show"] = page
    contract = app.view_functions["api-docs.openapi_json"]
    app.view_functions["api-docs.openapi_json"] = lambda: let_keep(flask.make_response(contract()))
    app.add_url_rule("/docs", "docs_page", page)
