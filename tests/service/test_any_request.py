"""Whatever fits the schema gets an answer that fits its own; whatever does not gets a problem."""

import json
import math
from pathlib import Path

import jsonschema
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from hypothesis.internal.conjecture import providers

from saltcalc.case.vocabulary import DRAINAGE, MICRONUTRIENT_EXTRACTS, STAGES
from saltcalc.data.crops import catalogue
from saltcalc.data.extraction import method_codes
from saltcalc.data.observations import observations
from saltcalc.data.reported_ions import reported_ions
from saltcalc.data.substrates import substrates
from saltcalc.data.washout import slow_releases
from tests.service.test_api_spec import schema_of

FOUND = json.loads(Path(__file__).with_name("found_requests.json").read_text(encoding="utf-8"))

many = settings(
    max_examples=40,
    # Without the search for the smallest one that fails: it takes many minutes here.
    phases=(Phase.explicit, Phase.reuse, Phase.generate),
    deadline=4_000,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


def sometimes(**members):
    return st.fixed_dictionaries({}, optional=members)


def number(low, high, least=0.01):
    """Return numbers of a range, its ends often; none but zero is below the least."""
    return st.sampled_from([low, high]) | st.floats(low or least, high)


ions = sometimes(**{ion: number(0, 2000) for ion in reported_ions()})
solution = {"ec": number(0, 100), "temperature": number(-5, 60), "ph": number(0, 14), "ions": ions}
sums = {"alkalinity": number(0, 10), "hardness": number(0, 10)}


def one_of_each(given_):
    """Return a solution without the sums that its ions say already."""
    given_ions = given_.get("ions", {})
    twice = {"alkalinity": "bicarbonate" in given_ions} | {
        "hardness": {"calcium", "magnesium"} <= set(given_ions)
    }
    return {name: member for name, member in given_.items() if not twice.get(name)}


medium = sometimes(
    **solution,
    **sums,
    extraction=st.sampled_from(list(method_codes())),
    substrate=st.sampled_from(list(substrates())),
    container_capacity=number(0.05, 0.7),
    total_porosity=number(0.7, 0.99),
    water_content=number(0.02, 0.7),
    slow_release=st.sampled_from(list(slow_releases())),
    micronutrients=sometimes(
        extract=st.sampled_from(MICRONUTRIENT_EXTRACTS), boron=number(0, 100), zinc=number(0, 100)
    ),
)
medium = medium.map(one_of_each).filter(lambda given_: "ec" in given_ or given_.get("ions"))
container = st.fixed_dictionaries(
    {"volume": number(0.01, 200)},
    optional={
        "count": st.integers(1, 1000),
        "drainage": st.sampled_from(DRAINAGE),
        "name": st.text(min_size=1, max_size=20),
        "head_space": number(0.1, 20),
        "relative_water_content": number(0.05, 1),
    },
)
crop = st.fixed_dictionaries(
    {"crop": st.sampled_from(list(catalogue().crops))}, optional={"stage": st.sampled_from(STAGES)}
)
valid = st.fixed_dictionaries(
    {"medium": medium},
    optional={
        "water": sometimes(**solution, **sums).map(one_of_each),
        "containers": st.lists(container, max_size=3),
        "crops": st.lists(crop, max_size=3),
        "observations": st.lists(st.sampled_from(list(observations())), max_size=4, unique=True),
        "target_ec": number(0.01, 10),
        "leaching_efficiency": number(0.05, 1),
        "evapotranspiration": number(0, 20),
        "rest": number(0, 24),
        "irrigation": number(0, 20),
        "feed_ec": number(0, 10),
        "plant_age": number(0, 200),
        "root_zone_temperature": number(0, 40),
        "thriving_crops": st.lists(st.sampled_from(list(catalogue().crops)), max_size=2),
    },
)
scrap = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=10),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=8,
)


def numbers_in(node):
    if isinstance(node, dict):
        for member in node.values():
            yield from numbers_in(member)
    elif isinstance(node, list):
        for member in node:
            yield from numbers_in(member)
    elif isinstance(node, float):
        yield node


@pytest.mark.parametrize("found", FOUND, ids=lambda found: str(found["status"]))
def test_requests_that_once_broke_an_answer(client, found):
    """Random runs found these; what they find goes here, so that every run asks it again."""
    response = client.post("/v1/assessments", json=found["request"])
    assert response.status_code == found["status"]
    assert all(math.isfinite(value) for value in numbers_in(response.json))


def test_no_constant_of_the_code_chooses_the_examples():
    assert not len(providers._get_local_constants())


@many
@given(request=valid)
def test_every_valid_request_gets_a_whole_answer(post, request):
    answer = post("/v1/assessments", request)
    jsonschema.validate(answer, schema_of("Assessment"))
    assert all(math.isfinite(value) for value in numbers_in(answer))
    gaps = {gap["part"] for gap in answer["not_computed"]}
    for part in ("salinity", "leaching", "flush_plan", "crops", "nutrients", "causes"):
        assert answer[part] is not None or part in gaps, part


@many
@given(request=valid, place=st.sampled_from(["medium", "water", "containers", "crops"]), junk=scrap)
def test_junk_is_refused_or_answered_but_never_breaks(client, request, place, junk):
    body = json.dumps(request | {place: junk})
    response = client.post("/v1/assessments", data=body, content_type="application/json")
    assert response.status_code in {200, 400, 422}
    assert response.is_json


@pytest.mark.parametrize(
    "path",
    [
        "/v1/sodicity",
        "/v1/leaching-requirement",
        "/v1/flush-plans",
        "/v1/conductivity/convert",
        "/v1/ions",
    ],
)
@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(request=valid)
def test_small_calculations_refuse_or_answer(client, path, request):
    parts = {name: member for name, member in request.items() if name in {"medium", "water"}}
    for body in (request, parts, request["medium"] | {"to": "press"}):
        assert client.post(path, json=body).status_code in {200, 422}
