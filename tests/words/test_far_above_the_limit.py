"""Far above the limit another medium comes before many days of leaching (judgement)."""

import re

import pytest

from saltcalc.words.text.layout import as_text
from saltcalc.words.text.short import short


def request_of(ec, stage="seedling", drainage="open"):
    return {
        "medium": {"extraction": "one_to_five", "ec": ec, "substrate": "green_waste_compost"},
        "containers": [{"volume": 5, "drainage": drainage}],
        "crops": [{"crop": "bean", "stage": stage}],
    }


def words_of(post, request):
    answer = post("/v1/assessments", request)
    return answer, " ".join(as_text(short(answer, request)).split())


def test_mixing_comes_before_leaching_for_weeks(post):
    _, far = words_of(post, request_of(1.5))
    assert far.index("Mix this medium into a low-salt one") < far.index("Or leach by dripper")
    _, near = words_of(post, request_of(0.6))
    assert "Mix this medium into a low-salt one, or replace it" not in near
    _, rooted = words_of(post, request_of(2.2, "established"))
    assert "Mix this medium into a low-salt one, or replace it" not in rooted


def test_a_sealed_tub_far_above_its_limit_is_mixed_before_it_is_drilled(post):
    options = post("/v1/assessments", request_of(1.5, drainage="sealed"))["flush_plan"][0]
    ways = [each["id"] for each in options["options"]]
    others = [ways.index(each) for each in ("drill_holes", "flush_elsewhere") if each in ways]
    assert ways.index("replace") < min(others)


def test_the_least_water_is_told_only_where_it_is_less(post):
    _, told = words_of(post, request_of(1.5))
    litres = re.findall(r"([\d.]+) L a container", told)
    assert f"; {litres[0]} L would only just do" not in told


@pytest.mark.parametrize(("water", "alone"), [(1.2, True), (0.4, False)])
def test_nobody_is_told_to_let_most_of_a_watering_drain(post, water, alone):
    request = {
        "medium": {"extraction": "saturated_paste", "ec": 3.2, "substrate": "clay_loam"},
        "water": {"ec": water},
        "containers": [{"volume": 15, "height": 30, "drainage": "open", "count": 100}],
        "crops": [{"crop": "mango", "stage": "seedling"}],
    }
    answer, told = words_of(post, request)
    assert ("more than half of each watering" in told) == alone
    shares = re.findall(r"let (\d+) % of each watering drain", told)
    assert all(int(each) <= 50 for each in shares)
    assert answer["upkeep"][0]["leaching_fraction_needed"]["value"] > 0.5 or not alone
