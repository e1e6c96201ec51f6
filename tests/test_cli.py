"""The commands, each run as a person runs it."""

import json
import os
import subprocess
import sys

import pytest

from tests.conftest import ROOT


def saltcalc(*arguments, **environment):
    return subprocess.run(
        [sys.executable, "-m", "saltcalc.cli", *arguments],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        env=os.environ | environment,
    )


def test_the_demo_shows_the_answer_in_words_and_nothing_else():
    shown = saltcalc("demo")
    assert shown.returncode == 0, shown.stderr
    for word in (
        "Class: high",
        "SAR",
        "must drain",
        "passes",
        "In short",
        "Do not flush: this container cannot drain",
        "bean (seedling)",
        "[stop]",
        "Assumed",
    ):
        assert word.lower() in shown.stdout.lower(), word
    assert "{" not in shown.stdout


def test_the_demo_takes_a_request_of_ones_own(tmp_path):
    request = tmp_path / "request.json"
    request.write_text(json.dumps({"medium": {"ec": "900 µS/cm"}, "containers": [{"volume": 5}]}))
    shown = saltcalc("demo", str(request))
    assert "No flush" in shown.stdout


def test_the_contract_is_printed():
    shown = saltcalc("openapi")
    assert json.loads(shown.stdout) == json.loads(
        (ROOT / "api_spec" / "openapi.json").read_text(encoding="utf-8")
    )


@pytest.mark.parametrize(
    ("arguments", "environment", "named"),
    [
        ((), {"SALTCALC_WORKERS": "two"}, "SALTCALC_WORKERS"),
        ((), {"SALTCALC_TIMEOUT_SECONDS": "0"}, "SALTCALC_TIMEOUT_SECONDS"),
        (("--port", "99999"), {}, "SALTCALC_PORT"),
    ],
)
def test_a_setting_that_is_not_acceptable_is_named_and_nothing_starts(
    arguments, environment, named
):
    shown = saltcalc("serve", *arguments, **environment)
    assert shown.returncode != 0
    assert shown.stderr.startswith(f"Error: {named}: ")
