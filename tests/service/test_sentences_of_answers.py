"""Whatever is asked, no sentence of an answer holds what a program would say to itself."""

import json
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltcalc.words.text import full
from tests.findings.cases import cases
from tests.golden.record import requests
from tests.service.test_any_request import many, medium, scrap, sometimes, valid

LEFT_BEHIND = re.compile(
    r"\b(nan|inf|None|True|False)\b|[{}]| {2}|\( | \)| [,.;:](?!\d)|\.\.(?!\.)"
)
"""Names of no figure, a brace that was not filled, marks and blanks that stand wrong."""

TOLD_BACK = {"container", "name", "value", "field", "citation", "sample_id", "pointer", "media"}
"""Members that repeat what was given, or point to it."""


def sentences_in(node, key=""):
    """Yield the texts of an answer that the program wrote."""
    if isinstance(node, dict):
        for name, member in node.items():
            if name not in TOLD_BACK:
                yield from sentences_in(member, name)
    elif isinstance(node, list):
        for member in node:
            yield from sentences_in(member, key)
    elif isinstance(node, str) and " " in node:
        yield node


def wrong_in(answer):
    return [each for each in sentences_in(answer) if LEFT_BEHIND.search(each)]


@pytest.mark.parametrize("text", ["nan L", "{litres} L", "two  blanks", "at most inf", "to None"])
def test_what_was_left_behind_is_seen(text):
    assert wrong_in({"warnings": [{"sentence": text}]})


def unnamed(request):
    """Return a request without names of containers: they may be any text."""
    containers = [
        {name: each for name, each in (container or {}).items() if name != "name"}
        for container in request.get("containers", [])
    ]
    return request | ({"containers": containers} if containers else {})


asked = valid.map(unnamed)
compared = st.lists(st.fixed_dictionaries({"medium": medium}), min_size=2, max_size=3)


@many
@given(request=asked, units=st.sampled_from(["metric", "us"]))
def test_no_sentence_of_an_assessment_is_left_unfinished(post, request, units):
    answer = post(f"/v1/assessments?causes=all&units={units}", request)
    assert not wrong_in(answer)
    lines = full(answer).splitlines()
    assert not [each for each in lines if LEFT_BEHIND.search(each.strip())]


@many
@given(shared=asked, media=compared)
def test_no_sentence_of_a_comparison_is_left_unfinished(post, shared, media):
    own = {"medium", "observations"}
    request = {name: each for name, each in shared.items() if name not in own}
    assert not wrong_in(post("/v1/comparisons", request | {"media": media}))


volumes = st.floats(0.01, 50)
reading = st.fixed_dictionaries(
    {"applied": volumes, "ec_drainage": st.floats(0, 30)}, optional={"drained": volumes}
)
pot = sometimes(
    applied=volumes,
    collected=st.floats(0, 50),
    ec_applied=st.floats(0, 10),
    ec_drainage=st.floats(0, 30),
)


@many
@given(request=asked, readings=st.lists(reading, min_size=1, max_size=4))
def test_no_sentence_of_a_flush_under_way_is_left_unfinished(client, request, readings):
    body = {name: request[name] for name in ("medium", "water", "target_ec") if name in request}
    containers = (request.get("containers") or [{"volume": 10}])[:1]
    body |= {"containers": containers, "readings": readings}
    reply = client.post("/v1/flush-plans/progress", json=body)
    assert reply.status_code == 422 or not wrong_in(reply.json)


@many
@given(pots=st.lists(pot, min_size=1, max_size=4))
def test_no_sentence_of_a_leaching_fraction_is_left_unfinished(client, pots):
    reply = client.post("/v1/leaching-fraction", json={"pots": pots})
    assert reply.status_code == 422 or not wrong_in(reply.json)


@many
@given(request=asked, place=st.sampled_from(["medium", "water", "containers", "crops"]), junk=scrap)
def test_no_fault_is_told_unfinished(client, request, place, junk):
    body = json.dumps(request | {place: junk})
    reply = client.post("/v1/assessments", data=body, content_type="application/json")
    if reply.status_code != 200:
        told = [reply.json["title"], reply.json.get("detail", "")]
        told += [error.get("accepted", "") for error in reply.json.get("errors", [])]
        assert not [each for each in told if re.search(r"\b(nan|inf|None)\b| {2}", each)]


@pytest.mark.parametrize(
    ("path", "body"),
    [(each["path"], each["body"]) for each in requests() if each["method"] == "POST"]
    + [(each["path"], each["request"]) for each in cases().values()],
)
def test_no_sentence_of_a_recorded_request_is_left_unfinished(client, path, body):
    reply = client.post(path, json=body and unnamed(body))
    assert reply.status_code != 200 or not wrong_in(reply.json)


def test_no_sentence_of_a_table_is_left_unfinished(client):
    for request in requests():
        if request["method"] == "GET":
            assert not wrong_in(client.get(request["path"]).json)
