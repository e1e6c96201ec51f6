import gc
import json
import os
import shutil
from pathlib import Path

import jsonschema
import pytest
from hypothesis import settings
from hypothesis.internal.conjecture import providers

from saltcalc.cli import DEMO_REQUEST
from saltcalc.science import phreeqc
from saltcalc.service import logs
from saltcalc.service.app import create_app
from saltcalc.service.config import read_settings

ROOT = Path(__file__).parents[1]
CONTRACT = json.loads((ROOT / "api_spec" / "openapi.json").read_text(encoding="utf-8"))

# The same examples in every run and folder, and no limit of time, which other work on the machine
# would trip. Hypothesis mixes constants of the code into its examples, but only of modules that no
# folder `test` or `tests` holds: the name of a folder would choose the examples. Cases that a
# random run finds (--hypothesis-profile=wander) are kept in tests/service/found_requests.json.
providers.is_local_module_file = lambda _path: False
settings.register_profile("steady", deadline=None, derandomize=True)
settings.register_profile("wander", deadline=None, max_examples=500)
settings.load_profile("steady")

WITHOUT_ENGINE = "SALTCALC_TESTS_WITHOUT_ENGINE"
"""Set to anything, the tests run without PHREEQC, and say how many were left out."""

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")

INDEPENDENT = 300
"""Least number of independent published checks in a run of all tests."""


def pytest_configure(config):
    config.addinivalue_line("markers", "engine: asks PHREEQC, which must be installed")
    config.addinivalue_line("markers", "browser: opens the pages in chromium")
    config.addinivalue_line(
        "markers",
        "independent: holds a figure that was published or computed elsewhere, and that neither "
        "the code nor a table was made from; a table typed a second time has no such mark",
    )
    if not phreeqc.available() and not os.environ.get(WITHOUT_ENGINE):
        raise pytest.UsageError(
            "phreeqpython is not installed, so checks against PHREEQC cannot run; install "
            f"requirements.lock, or set {WITHOUT_ENGINE}=1 to leave them out"
        )


def pytest_collection_modifyitems(items):
    if not BROWSER:
        for item in items:
            if item.get_closest_marker("browser"):
                item.add_marker(pytest.mark.skip("without a browser"))
    if not phreeqc.available():
        for item in items:
            if item.get_closest_marker("engine"):
                item.add_marker(pytest.mark.skip("without the chemistry engine"))


def pytest_terminal_summary(terminalreporter):
    """Count the independent checks, and what was left out without the engine."""

    def count(outcome, marker):
        reports = terminalreporter.stats.get(outcome, [])
        return sum(marker in getattr(report, "keywords", ()) for report in reports)

    passed, failed = (count(outcome, "independent") for outcome in ("passed", "failed"))
    if passed or failed:
        terminalreporter.write_line(
            f"{passed + failed} independent published checks, {failed} of them failed"
        )
    if left_out := count("skipped", "engine"):
        terminalreporter.write_line(f"{left_out} checks left out without the chemistry engine")
    if left_out := count("skipped", "browser"):
        terminalreporter.write_line(
            f"{left_out} checks left out without a browser; "
            "to bring it: sudo apt-get install --yes chromium"
        )


def pytest_collection_finish():
    """Let the collector of garbage pass over what stays to the end, as the service does."""
    gc.collect()
    gc.freeze()


@pytest.fixture(autouse=True)
def _log_as_the_service_does():
    """Undo what an application of another test said of the log, which is one for the process."""
    logs.configure("INFO")


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
