"""The contract keeps what the last released one promised."""

import json
from copy import deepcopy
from pathlib import Path

import pytest

from saltcalc import __version__
from tests.service.contract_changes import breaking, may_break

SPEC = Path(__file__).parents[2] / "api_spec"
NOW = json.loads((SPEC / "openapi.json").read_text(encoding="utf-8"))
RELEASED = sorted(
    (SPEC / "released").glob("*.json"), key=lambda path: tuple(map(int, path.stem.split(".")))
)
"""Each as it was released; ``make freeze`` keeps the next one."""


@pytest.mark.parametrize("released", RELEASED, ids=lambda path: path.stem)
def test_nothing_is_gone_that_a_release_promised(released):
    if not may_break(released.stem, __version__):
        assert breaking(json.loads(released.read_text(encoding="utf-8")), NOW) == []


def test_the_contract_breaks_nothing_of_itself():
    assert breaking(NOW, deepcopy(NOW)) == []


def node(document, *steps):
    for step in steps:
        document = document[step]
    return document


SCHEMAS = ("components", "schemas")


def drop_path(now):
    del now["paths"]["/v1/substrates"]


def drop_operation(now):
    del now["paths"]["/v1/ions"]["post"]


def drop_parameter(now):
    operation = node(now, "paths", "/v1/crops", "get")
    operation["parameters"] = [p for p in operation["parameters"] if p["name"] != "group"]


def ask_for_a_parameter(now):
    parameters = node(now, "paths", "/v1/crops", "get", "parameters")
    parameters.append({"in": "query", "name": "x", "required": True, "schema": {}})


def drop_request_member(now):
    del node(now, *SCHEMAS, "Medium", "properties")["ph"]


def drop_answer_member(now):
    schema = node(now, *SCHEMAS, "Assessment")
    del schema["properties"]["summary"]


def answer_a_member_no_more_always(now):
    node(now, *SCHEMAS, "Assessment", "required").remove("trace")


def ask_for_a_member(now):
    node(now, *SCHEMAS, "Medium").setdefault("required", []).append("ec")


def narrow_an_enum(now):
    narrowed = [each for each in _nodes(node(now, *SCHEMAS, "Container")) if "enum" in each]
    narrowed[0]["enum"] = narrowed[0]["enum"][1:]


def narrow_a_range(now):
    bounded = [each for each in _nodes(node(now, *SCHEMAS, "Medium")) if "maximum" in each]
    bounded[0]["maximum"] /= 2


def change_a_type(now):
    texts = [
        each
        for each in _nodes(node(now, *SCHEMAS, "Assessment", "properties"))
        if each.get("type") == "string"
    ]
    (texts or [node(now, *SCHEMAS, "Summary", "properties", "sentence")])[0]["type"] = "integer"


def drop_a_media_type(now):
    content = node(now, "paths", "/v1/assessments/batch", "post", "requestBody", "content")
    del content["text/csv"]


def drop_an_answer(now):
    del node(now, "paths", "/v1/ions", "post", "responses")["200"]


def _nodes(tree):
    if isinstance(tree, dict):
        yield tree
        tree = list(tree.values())
    for each in tree if isinstance(tree, list) else ():
        yield from _nodes(each)


@pytest.mark.parametrize(
    "change",
    [
        drop_path,
        drop_operation,
        drop_parameter,
        ask_for_a_parameter,
        drop_request_member,
        drop_answer_member,
        answer_a_member_no_more_always,
        ask_for_a_member,
        narrow_an_enum,
        narrow_a_range,
        change_a_type,
        drop_a_media_type,
        drop_an_answer,
    ],
)
def test_a_change_that_breaks_a_client_is_told(change):
    changed = deepcopy(NOW)
    change(changed)
    assert breaking(NOW, changed)


def gain_a_path(now):
    now["paths"]["/v1/more"] = deepcopy(now["paths"]["/v1/ions"])


def gain_members(now):
    for name in ("Medium", "Assessment"):
        node(now, *SCHEMAS, name, "properties")["more"] = {"type": "string"}
    node(now, *SCHEMAS, "Assessment", "required").append("more")


def take_more(now):
    for each in _nodes(node(now, *SCHEMAS, "Container")):
        if "enum" in each:
            each["enum"] = [*each["enum"], "more"]
        if "maximum" in each:
            each["maximum"] *= 2


@pytest.mark.parametrize("change", [gain_a_path, gain_members, take_more])
def test_a_change_that_only_gains_is_not(change):
    changed = deepcopy(NOW)
    change(changed)
    assert breaking(NOW, changed) == []


@pytest.mark.parametrize(
    ("earlier", "now", "may"),
    [
        ("0.1.0", "0.1.9", False),
        ("0.1.0", "0.2.0", True),
        ("1.0.0", "1.9.0", False),
        ("0.9.0", "1.0.0", True),
        ("1.2.0", "2.0.0", True),
    ],
)
def test_when_a_version_may_break_what_was_promised(earlier, now, may):
    assert may_break(earlier, now) is may
