"""Mistakes that people make in a request: taken as meant, asked back with a way on, or doubted."""

import json
from pathlib import Path

import pytest

from tests.service.test_as_people_write import MEANT, written

MISTAKES = Path(__file__).parent / "mistakes.txt"
PARTS = "summary,salinity,ions,water,crops,flush_plan,warnings"
LEFT_OUT = {"trace", "assumptions", "not_computed", "summary"}


def _rows():
    for line in MISTAKES.read_text(encoding="utf-8").splitlines():
        if line and not line.startswith("#"):
            pointer, value, then = line.split(" | ", 2)
            yield pytest.param(pointer, json.loads(value), then[0], then[2:], id=line[:80])


def _figures(answer):
    """Return an answer without how its request was read, which its words tell too."""
    return {name: part for name, part in answer.items() if name not in LEFT_OUT}


@pytest.mark.parametrize(("pointer", "value", "then", "expected"), [*_rows()])
def test_a_mistake_is_met(client, pointer, value, then, expected):
    def ask(request):
        response = client.post(f"/v1/assessments?parts={PARTS}&sources=none", json=request)
        return response.status_code, response.get_json()

    status, answer = ask(written(pointer, value))
    if then == "?":
        assert status == 422
        told = " ".join(part for each in answer["errors"] for part in each.values())
        assert expected in told
        return
    assert status == 200, answer["errors"]
    if then == "!":
        assert expected in {warning["id"] for warning in answer["warnings"]}
        return
    status, as_meant = ask(written(pointer, json.loads(expected)))
    assert status == 200
    assert _figures(answer) == _figures(as_meant)


def test_the_request_without_a_mistake_is_answered(post):
    post("/v1/assessments", MEANT)
