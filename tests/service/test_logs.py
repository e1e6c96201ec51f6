"""Every line that the running service writes is one JSON object, gunicorn's own among them."""

import json
import subprocess
import sys

import pytest
import requests

from saltcalc.demo import running_service

pytestmark = pytest.mark.xdist_group("gunicorn")


def test_requests_start_and_stop_are_logged_in_one_form(capfd, monkeypatch):
    monkeypatch.setenv("SALTCALC_LOG_LEVEL", "INFO")
    with running_service() as address:
        requests.get(f"{address}/healthz", timeout=30)
    written = capfd.readouterr()
    assert written.err == ""
    lines = [json.loads(line) for line in written.out.splitlines()]
    events = [line["event"] for line in lines]
    assert any(event.startswith("Listening at") for event in events)
    assert "request" in events
    assert any(event.startswith("Shutting down") for event in events)
    assert all({"event", "level", "timestamp"} <= line.keys() for line in lines)


def test_a_fault_of_the_runner_is_logged_in_that_form_too():
    code = (
        "import logging, logging.config\n"
        "from saltcalc.service.logs import for_standard_library\n"
        "logging.config.dictConfig(for_standard_library('INFO'))\n"
        "try:\n"
        "    1 / 0\n"
        "except ZeroDivisionError:\n"
        "    logging.getLogger('gunicorn.error').exception('it broke')\n"
        "logging.getLogger('gunicorn.access').info('not this')\n"
    )
    shown = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    (line,) = (json.loads(each) for each in shown.stdout.splitlines())
    assert (line["event"], line["level"], line["logger"]) == ("it broke", "error", "gunicorn.error")
    assert "ZeroDivisionError" in line["exception"]
