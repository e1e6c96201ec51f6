"""A little more salt takes a little more water: no plan jumps between like media."""

from itertools import pairwise

import pytest

CASES = {
    "sphagnum_peat": (5.0, 8.0),
    "general_potting_mix": (4.2, 6.6),
    "pine_bark": (4.6, 6.2),
    "green_waste_compost": (4.2, 5.8),
}


def plan_of(post, substrate, ec, volume=10, height=20):
    request = {
        "medium": {"extraction": "saturated_media_extract", "ec": ec, "substrate": substrate},
        "target_ec": 2.5,
        "water": {"ec": 0.6},
        "containers": [{"volume": volume, "height": height}],
    }
    return post("/v1/flush-plans?sources=none", request)["flush_plan"][0]


def litres_of(plan):
    return plan["water_per_container"]["value"]


@pytest.mark.parametrize("substrate", CASES)
def test_litres_rise_with_the_salt_without_jumps(post, substrate):
    low, high = CASES[substrate]
    plans = []
    while low < high:
        plans.append(plan_of(post, substrate, round(low, 3)))
        low *= 1.02
    for before, after in pairwise(plans):
        fewer, more = litres_of(before), litres_of(after)
        each = before["applied_each"]["value"]
        assert more >= fewer - 1.001 * each
        assert max(more, fewer) <= 1.25 * min(more, fewer) + 1e-6


@pytest.mark.parametrize(
    ("substrate", "ec", "first", "second"),
    [
        ("pine_bark", 6, (10, 30), (10, 30.5)),
        ("general_potting_mix", 6, (28.8, 28.46), (29.7, 28.74)),
    ],
)
def test_litres_of_pots_of_about_one_size_are_about_the_same(post, substrate, ec, first, second):
    one, other = (litres_of(plan_of(post, substrate, ec, *size)) for size in (first, second))
    assert other == pytest.approx(one, rel=0.25)


def test_where_rests_buy_nothing_none_is_asked_for(post):
    assert plan_of(post, "sphagnum_peat", 4.0)["rest"]["value"] == 0


def test_passes_of_a_day_are_few_enough_for_hands_where_rests_make_them_so(post):
    assert plan_of(post, "sphagnum_peat", 7.28)["passes"] <= 12


def test_progress_asks_for_no_more_pourings_at_a_time_than_people_pour(post):
    request = {
        "medium": {
            "extraction": "saturated_media_extract", "ec": 9, "substrate": "vermicompost",
        },
        "target_ec": 2,
        "water": {"ec": 0.5},
        "containers": [{"volume": 25, "height": 30}],
        "readings": [{"applied": 2.0, "ec_drainage": 10}],
    }  # fmt: skip
    found = post("/v1/flush-plans/progress", request)["progress"]
    assert found["verdict"] == "go_on"
    assert 0 < found["passes_now"] <= 12
    poured = found["passes_now"] * found["applied_each"]["value"]
    assert found["pour_now"]["value"] == pytest.approx(poured, rel=1e-3)
