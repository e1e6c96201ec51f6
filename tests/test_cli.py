"""The commands: those that start a service as a person runs them, the others within the tests."""

import json
import os
import re
import shlex
import subprocess
import sys

import pytest
from click.testing import CliRunner

from saltcalc.cli import main
from saltcalc.terminal import request_words
from saltcalc.words.reader import telling
from tests.conftest import ROOT


def program(*arguments, given=None, **environment):
    """Run a command as a program of its own."""
    return subprocess.run(
        [sys.executable, "-m", "saltcalc.cli", *arguments],
        capture_output=True,
        input=given,
        text=True,
        timeout=120,
        check=False,
        env=os.environ | environment,
    )


def saltcalc(*arguments, given=None, **environment):
    """Run a command within the tests, which spares the start of a program."""
    return CliRunner().invoke(main, arguments, given, env=environment, catch_exceptions=False)


def test_the_demo_shows_the_answer_in_words_and_nothing_else():
    shown = program("demo")
    assert shown.returncode == 0, shown.stderr
    for word in (
        "An invented example",
        "12 × tub with holes, 40 L, 30 cm high, open",
        "too salty (strong evidence)",
        "270 mg/L",
        "pH 6.4",
        "passes",
        "flush a container that cannot drain",
        "bean (seedling)",
        "Assumed",
    ):
        assert word.lower() in shown.stdout.lower(), word
    assert "{" not in shown.stdout


@pytest.mark.parametrize(
    ("language", "told"),
    [
        ("de", ("EC 3900 µS/cm", "pH 6,4", "mit Löchern", "(Sämling)")),
        ("fr", ("méthode\u00a0:", "pH 6,4", "percé", "(plantule)")),
        ("es", ("método:", "pH 6,4", "con agujeros", "(plántula)")),
    ],
)
def test_the_demo_tells_what_it_asks_in_the_language_of_the_answer(language, told, demo_request):
    with telling(language):
        asked = request_words(demo_request)
    for word in told:
        assert word in asked, word
    assert not re.findall(r"\b(?:sealed|open|seedling|crust|extract|green)\b", asked)


def test_the_demo_refuses_a_language_that_there_is_not():
    shown = program("demo", "--language", "xx")
    assert shown.returncode == 2
    assert "en, de, es, fr" in shown.stderr


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
        ((), {"SALTCALC_WORKERS": "0"}, "SALTCALC_WORKERS"),
        ((), {"SALTCALC_PORT": "99999"}, "SALTCALC_PORT"),
        (("--host", "no such host"), {}, "SALTCALC_HOST"),
    ],
)
def test_a_setting_that_is_not_acceptable_is_named_and_nothing_starts(
    arguments, environment, named
):
    shown = program("serve", *arguments, **environment)
    assert shown.returncode != 0
    assert shown.stderr.startswith(f"Error: {named}: '")


def test_a_port_that_is_none_is_refused_by_the_name_of_its_option():
    shown = program("serve", "--port", "99999")
    assert shown.returncode != 0
    assert "'--port': 99999 is not in the range 1<=x<=65535" in shown.stderr


@pytest.mark.parametrize(
    "held",
    [b"EC;\x81\xff\0", bytes(range(256)), b'name,value\nEC,"' + 200 * (999 * b"x" + b"\n")],
)
def test_a_file_that_is_no_request_is_refused_in_a_sentence(held, tmp_path):
    file = tmp_path / "odd.csv"
    file.write_bytes(held)
    shown = saltcalc("assess", str(file))
    assert shown.exit_code != 0
    said = shown.stdout + shown.stderr
    assert said.startswith(("Error: ", "The request cannot be used")), said


ASKED = {"medium": {"ec": "900 µS/cm"}, "containers": [{"volume": 5}]}


@pytest.mark.parametrize("by", ["standard input", "dash", "file"])
def test_a_request_is_answered_in_words_without_a_service(by, tmp_path):
    request = tmp_path / "request.json"
    request.write_text(json.dumps(ASKED), encoding="utf-8")
    arguments = {"standard input": (), "dash": ("-",), "file": (str(request),)}[by]
    shown = saltcalc("assess", *arguments, given=json.dumps(ASKED))
    assert shown.exit_code == 0, shown.stderr
    assert "No flush" in shown.stdout
    assert "{" not in shown.stdout


def test_the_rest_of_the_answer_is_told_in_full():
    shown = saltcalc("assess", "--full", given=json.dumps(ASKED))
    for word in ("In short", "Class: ", "Not computed"):
        assert word in shown.stdout, word


def test_it_is_answered_in_the_units_of_the_reader():
    asked = ["ask", "--ec", "1.8", "--method", "1:2", "--crop", "lettuce", "--volume", "3 gal"]
    shown = saltcalc(*asked, "--units", "us")
    assert " gal" in shown.stdout, shown.stderr
    assert not re.search(r"\d L\b", shown.stdout.partition("Read as")[0])


def test_a_request_is_answered_as_the_service_answers_it(post):
    answer = json.loads(program("assess", "--json", given=json.dumps(ASKED)).stdout)
    served = post("/v1/assessments", ASKED)
    assert answer.pop("trace")["tables"] == served.pop("trace")["tables"]
    assert answer == served


def test_its_workings_are_shown_where_they_are_asked_for():
    plain, worked = (
        saltcalc("assess", *asked, given=json.dumps(ASKED)).stdout for asked in ([], ["--workings"])
    )
    assert "\nWorkings\n" not in plain
    assert "ECe × φ / θ = " in worked.partition("\nWorkings\n")[2]


def test_a_refused_request_says_which_field_and_fails():
    shown = saltcalc("assess", given='{"medium": {"ec": "2 L"}}')
    assert shown.exit_code != 0
    assert "/medium/ec: " in shown.stdout
    assert "(given: 2 L)" in shown.stdout
    assert "Accepted: " in shown.stdout


def test_a_demo_of_ones_own_request_says_why_it_is_refused(tmp_path):
    request = tmp_path / "request.json"
    request.write_text("{}")
    shown = program("demo", str(request))
    assert shown.returncode != 0
    assert "Give the EC, the ions, the pH, or signs" in shown.stderr


def test_a_bare_question_is_answered():
    asked = ["--ec", "1.8", "--method", "1:2", "--crop", "lettuce", "--stage", "seedling"]
    shown = saltcalc("ask", *asked, "--volume", "3 gal", "--sign", "tip burn", "--set", "Na=60")
    assert shown.exit_code == 0, shown.stderr
    assert "lettuce (seedling)" in shown.stdout


def test_an_unknown_name_is_refused_with_the_nearest():
    shown = saltcalc("ask", "--ec", "1.8", "--set", "sodim=60")
    assert shown.exit_code != 0
    assert "Did you mean 'sodium'?" in shown.stderr


def test_the_example_is_answered_as_it_is_printed():
    shown = saltcalc("assess", given=saltcalc("example").stdout)
    assert shown.exit_code == 0, shown.stderr + shown.stdout
    assert "bean (seedling)" in shown.stdout


@pytest.mark.parametrize(
    "rows",
    [
        "name;value;unit\nEC;1,45;mS/cm\nmethod;1:2;\nSO4;180;mg/L\nwater EC;0,9;\n",
        "\ufeffEC,1.45 mS/cm\nmethod,1:2\nSO4,180 mg/L\nwater EC,0.9\n",
        "EC,1,45,mS/cm\nmethod,1:2\nSO4,180,mg/L\nwater ec,0.9\n",
        "ec: 1,45 mS/cm\nmethod: 1:2\nSO4: 180 mg/L\nwater ec: 0.9\n",
        "medium:\n  ec: 1.45\n  extraction: 1:2\n  ions: {sulfate_s: 180 mg/L SO4}\nwater: 0.9\n",
        '{"medium": {"ec": 1.45, "extraction": "1:2", "ions": {"sulfate_s": "180 mg/L SO4"}},'
        ' "water": 0.9}',
    ],
)
def test_one_question_in_many_forms(rows):
    shown = saltcalc("assess", "--json", given=rows)
    assert shown.exit_code == 0, shown.stderr + shown.stdout
    answer = json.loads(shown.stdout)
    assert answer["salinity"]["ec_25c"]["value"] == 1.45
    assert answer["salinity"]["method"] == "one_to_two"
    assert answer["ions"]["medium"]["shares"]["of_ions"][0] == "sulfate_s"
    assert not any(row["id"] == "water_ec" for row in answer["assumptions"])


def test_a_crop_of_ones_own_from_the_template(tmp_path):
    table = tmp_path / "ours.csv"
    table.write_text(saltcalc("crops-template").stdout, encoding="utf-8")
    asked = ["ask", "--ec", "1.8", "--method", "SME", "--crop", "sea kale"]
    shown = saltcalc(*asked, SALTCALC_LOCAL_CROPS=str(table))
    assert "sea kale (seedling" in shown.stdout, shown.stderr


def test_the_answer_in_the_readme_is_what_is_answered():
    told = (ROOT / "README.md").read_text(encoding="utf-8")
    command, _, answer = told.partition("$ saltcalc ")[2].partition("```")[0].partition("\n")
    lines = saltcalc(*shlex.split(command)).stdout.rstrip().splitlines()
    assert answer.rstrip().splitlines() == lines[:-1]
    assert lines[-1].startswith("saltcalc ")
