"""The commands, each run as a person runs it."""

import json
import subprocess
import sys

from tests.conftest import ROOT


def saltcalc(*arguments):
    return subprocess.run(
        [sys.executable, "-m", "saltcalc.cli", *arguments],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def test_the_demo_shows_the_answer_in_words_and_nothing_else():
    shown = saltcalc("demo")
    assert shown.returncode == 0, shown.stderr
    for word in (
        "Class: high",
        "SAR",
        "must drain",
        "passes",
        "sealed, no flush",
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
