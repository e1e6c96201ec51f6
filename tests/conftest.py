import json
from pathlib import Path

import jsonschema
import pytest
from hypothesis import settings

from saltcalc.cli import DEMO_REQUEST
from saltcalc.service.app import create_app
from saltcalc.service.config import read_settings

settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")

ROOT = Path(__file__).parents[1]
CONTRACT = json.loads((ROOT / "api_spec" / "openapi.json").read_text(encoding="utf-8"))

# The same examples in every run, and no limit of time, which other work on the machine would trip.
settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")


@pytest.fixture(scope="session")
def app():
    return create_app(read_settings({}))


@pytest.fixture
def client(app):
    return app.test_client()


@pytest.fixture
def demo_request():
    return json.loads(DEMO_REQUEST.read_text(encoding="utf-8"))


def fits_the_contract(path, answer, method="post"):
    """Check an answer against the committed document of the interface."""
    answers = CONTRACT["paths"][path][method]["responses"]["200"]["content"]
    schema = answers["application/json"]["schema"]
    jsonschema.validate(answer, {**schema, "components": CONTRACT["components"]})


@pytest.fixture
def post(client):
    """Post a request and return the answer, which must be a 200 that fits the contract."""

    def send(path, request):
        response = client.post(path, json=request)
        assert response.status_code == 200, response.json
        fits_the_contract(path.partition("?")[0], response.json)
        return response.json

    return send


@pytest.fixture
def refuse(client):
    """Post a request and return the problem document, which must have the given status."""

    def send(path, request, status=422, **options):
        sent = options or {"json": request}
        response = client.post(path, **sent)
        assert response.status_code == status, response.json
        assert response.mimetype == "application/problem+json"
        assert response.json["status"] == status
        return response.json

    return send
