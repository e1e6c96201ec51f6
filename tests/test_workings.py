"""Every working is redone from the text that a person reads, and must give the same figure."""

import math
import re

import pytest

from saltcalc.parts.equations import evaluate
from saltcalc.parts.workings import WORKINGS
from saltcalc.words.text import workings
from tests.golden.record import requests

POSTED = [
    each
    for each in requests()
    if each["method"] == "POST" and each["path"].partition("?")[0] == "/v1/assessments"
]

CALCULATOR = {
    "sqrt": math.sqrt,
    "exp": math.exp,
    "ln": math.log,
    "max": max,
    "min": min,
    "power": math.pow,
}


def redo(lines):
    """Compute a working from its lines as printed; return the last figure printed, and computed."""
    known, printed, computed = {}, math.nan, math.nan
    for line in lines:
        if found := re.fullmatch(r"  (\S+) = (\S+)(?: \S+)?: .+", line):
            known[found[1]] = float(found[2])
        elif found := re.fullmatch(r"  (\S+) = (.+) = (\S+)(?: \S+)?", line):
            symbol, equation, figure = found.groups()
            typed = equation.replace("×", "*").replace("−", "-")
            computed = eval(typed, {"__builtins__": {}} | CALCULATOR | known)
            known[symbol] = printed = float(figure)
            assert computed == pytest.approx(printed, rel=2e-3, abs=2e-3), line
    return printed, computed


def at(answer, path):
    for key in path.split("/"):
        answer = answer[int(key) if isinstance(answer, list) else key]
    return answer["value"] if isinstance(answer, dict) else answer


def worked(client, body):
    """Return the workings of an assessment, each with its lines and the figure of the answer."""
    asked = "salinity,ions,sodicity,crops,flush_plan,upkeep,leaching,workings"
    reply = client.post(f"/v1/assessments?parts={asked}", json=body)
    if reply.status_code != 200:
        return []
    found = reply.json["workings"]
    blocks = "\n".join(workings(found)).split("\n\n") if found else []
    assert len(blocks) == len(found)
    return [
        (each, block.splitlines(), at(reply.json, each["part"]))
        for each, block in zip(found, blocks, strict=True)
    ]


def test_ten_figures_of_the_demo_are_redone_from_the_text_alone(client, demo_request):
    found = worked(client, demo_request)
    assert len({each["id"] for each, _, _ in found}) >= 10
    for working, lines, figure in found:
        printed, computed = redo(lines)
        assert computed == pytest.approx(figure, rel=2e-3, abs=2e-3), (working["id"], lines)
        assert printed == pytest.approx(figure, rel=1e-4, abs=1e-3)


@pytest.mark.parametrize("body", [each["body"] for each in POSTED])
def test_the_workings_of_every_recorded_request_give_the_figures_of_its_answer(client, body):
    for working, lines, figure in worked(client, body):
        _, computed = redo(lines)
        assert computed == pytest.approx(figure, rel=2e-3, abs=2e-3), (working["id"], lines)


def test_every_kind_of_working_occurs(client):
    found = {each["id"] for posted in POSTED for each, _, _ in worked(client, posted["body"])}
    assert found == set(WORKINGS)


def test_workings_come_only_where_they_are_asked_for(post, demo_request):
    assert "workings" not in post("/v1/assessments", demo_request)
    alone = post("/v1/assessments?parts=workings", demo_request)
    assert {each["part"].split("/")[0] for each in alone["workings"]} >= {"salinity", "leaching"}
    beside = post("/v1/assessments?parts=leaching,workings", demo_request)
    assert {each["part"].split("/")[0] for each in beside["workings"]} == {"leaching"}


@pytest.mark.parametrize(
    ("path", "part"),
    [
        ("/v1/sodicity", "sodicity"),
        ("/v1/ions", "ions"),
        ("/v1/leaching-requirement", "leaching"),
    ],
)
def test_single_calculations_show_their_workings(post, demo_request, path, part):
    takes = {"leaching": ("water", "crops")}.get(part, ("medium", "water"))
    body = {name: demo_request[name] for name in takes}
    answer = post(f"{path}?parts=workings,sources", body)
    assert answer["workings"]
    assert {each["part"].split("/")[0] for each in answer["workings"]} == {part}
    assert {key for each in answer["workings"] for key in each["sources"]} <= set(answer["sources"])


@pytest.mark.parametrize("equation", ["1 / 0", "sqrt(−1)", "ln(0)", "exp(1000)"])
def test_what_has_no_value_is_no_number(equation):
    assert math.isnan(evaluate(equation, {}))


def test_what_is_no_equation_is_refused():
    with pytest.raises(KeyError):
        evaluate("a if b else c", {"a": 1, "b": 2, "c": 3})
