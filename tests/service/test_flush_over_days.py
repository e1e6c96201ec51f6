"""What a container uses meanwhile is no part of the litres of a plan over several days."""

import pytest


def plan_of(post, ec, **more):
    request = {
        "medium": {
            "extraction": "saturated_media_extract", "ec": ec, "substrate": "green_waste_compost",
        },
        "target_ec": 2.5,
        "water": {"ec": 0.6},
        "containers": [{"volume": 10, "height": 20}],
        **more,
    }  # fmt: skip
    return post("/v1/flush-plans", request)["flush_plan"][0]


def test_over_days_the_daily_use_comes_to_the_litres(post):
    plan = plan_of(post, 8)
    assert plan["pouring_days"] > 1
    # 4 mm a day on 10 L of 20 cm: 500 cm².
    assert plan["daily_use"]["value"] == pytest.approx(0.2)
    assert "up to 0.2 L a day" in plan["sentence"]
    more = plan_of(post, 8, evapotranspiration=8)
    assert more["daily_use"]["value"] == pytest.approx(0.4)
    assert more["water_per_container"] == plan["water_per_container"]


def test_a_plan_of_one_day_says_nothing_of_it(post):
    plan = plan_of(post, 3.2)
    assert plan["pouring_days"] == 1
    assert "daily_use" not in plan
    assert "up to" not in plan["sentence"]


def test_overhead_it_is_told_as_depth(post):
    plan = plan_of(post, 8, means={"by": "rain"})
    if plan.get("daily_use"):
        assert "up to 4 mm a day" in plan["sentence"]
