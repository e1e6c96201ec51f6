"""Answers in US units are the metric ones, converted."""

import math
import re

import pytest

from tests.conftest import fits_the_contract
from tests.service.test_api_spec import EXAMPLES

# NIST Special Publication 811, Appendix B: 1 US gal = 3.785412 L, 1 in = 2.54 cm, 1 oz
# (avoirdupois) = 28.34952 g; 1 lb/yd3 = 0.5932764 kg/m3; t/°F = 1.8 t/°C + 32.
OF_METRIC = {
    "L": ("gal", lambda value: value / 3.785412),
    "L/day": ("gal/day", lambda value: value / 3.785412),
    "cm": ("in", lambda value: value / 2.54),
    "mm": ("in", lambda value: value / 25.4),
    "mm/h": ("in/h", lambda value: value / 25.4),
    "L/h": ("gal/h", lambda value: value / 3.785412),
    "mm/day": ("in/day", lambda value: value / 25.4),
    "°C": ("°F", lambda value: 1.8 * value + 32),
    "g": ("oz", lambda value: value / 28.34952),
    "g/L": ("lb/yd³", lambda value: value / 0.5932764),
}


def quantities(node, path=""):
    if isinstance(node, dict):
        if {"value", "unit"} <= set(node) and isinstance(node["value"], int | float):
            yield path, node
        for name, member in node.items():
            yield from quantities(member, f"{path}/{name}")
    elif isinstance(node, list):
        for place, member in enumerate(node):
            yield from quantities(member, f"{path}/{place}")


@pytest.fixture
def both(client):
    """Post a request, and return its answer in metric and in US units."""

    def send(path, request):
        answers = [client.post(f"{path}?units={units}", json=request) for units in ("metric", "us")]
        for answer in answers:
            assert answer.status_code == 200, answer.json
            fits_the_contract(path, answer.json)
        assert answers[0].json == client.post(path, json=request).json
        return tuple(answer.json for answer in answers)

    return send


@pytest.mark.parametrize("path", sorted(EXAMPLES))
def test_every_quantity_is_converted(both, path):
    metric, us = (dict(quantities(answer)) for answer in both(path, EXAMPLES[path]))
    assert metric.keys() == us.keys()
    for place, told in metric.items():
        unit, convert = OF_METRIC.get(told["unit"], (told["unit"], lambda value: value))
        assert us[place]["unit"] == unit, place
        for end in told.keys() & {"value", "low", "high"}:
            assert math.isclose(us[place][end], convert(told[end]), rel_tol=1e-4), (
                place
            )  # of five digits


def test_the_demo_tells_volumes_heights_and_rates(both, demo_request):
    _, us = both("/v1/assessments", demo_request)
    units = {told["unit"] for _, told in quantities(us)}
    assert {"gal", "gal/day", "in", "°F", "dS/m", "mg/L"} <= units
    assert not units & OF_METRIC.keys()


IN_METRIC = re.compile(r"\d (L|mL|cm|mm|g|°C)\b")
IN_US = re.compile(r"\d (gal|fl oz|in|oz|°F)\b(?! all)")


def sentences(node):
    if isinstance(node, dict):
        for member in node.values():
            yield from sentences(member)
    elif isinstance(node, list):
        for member in node:
            yield from sentences(member)
    elif isinstance(node, str):
        yield node


@pytest.mark.parametrize("path", sorted(EXAMPLES))
def test_no_sentence_tells_what_the_figures_do_not(both, path):
    for answer, unsaid in zip(both(path, EXAMPLES[path]), (IN_US, IN_METRIC), strict=True):
        # The texts of the tables of causes and tests are the same for everyone.
        for fixed in ("sources", "causes", "next_measurement"):
            answer.pop(fixed, None)
        assert not [each for each in sentences(answer) if unsaid.search(each)]


def test_a_small_volume_is_told_in_fluid_ounces(both):
    small = {"medium": {"ec": 5}, "containers": [{"volume": "150 mL", "drainage": "open"}]}
    metric, us = (str(list(sentences(answer))) for answer in both("/v1/flush-plans", small))
    assert " mL" in metric
    assert " fl oz" not in metric
    assert " fl oz" in us
    assert " mL" not in us


def test_a_sealed_container_is_told_its_air_in_gallons(both):
    sealed = {"medium": {"ec": 5}, "containers": [{"volume": "40 L", "drainage": "sealed"}]}
    _, us = both("/v1/flush-plans", sealed)
    assert not [each for each in sentences(us["flush_plan"]) if " L " in each]


def test_units_are_one_of_two_and_given_once(refuse):
    request = {"medium": {"ec": 1}}
    problem = refuse("/v1/assessments?units=imperial", request)
    assert [fault["pointer"] for fault in problem["errors"]] == ["/units"]
    problem = refuse("/v1/assessments?units=us&units=metric", request)
    assert "more than once" in problem["errors"][0]["detail"]


def test_tables_have_no_units_to_choose(client):
    assert client.get("/v1/substrates?units=us").status_code == 422
