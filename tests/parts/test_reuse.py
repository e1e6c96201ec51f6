"""The drainage of a flush used again, held against the balance of the salt and against the plan."""

from __future__ import annotations

from typing import Any

import pytest

IONS = {
    "nitrate_n": 250, "potassium": 300, "calcium": 250, "magnesium": 70,
    "sodium": 40, "chloride": 50, "sulfate_s": 60,
}  # fmt: skip
SALTY = {
    "medium": {"extraction": "saturated_media_extract", "ec": 4.0, "ions": IONS},
    "water": {"ec": 0.4},
    "containers": [{"volume": 10, "height": 20, "count": 20}],
    "crops": [{"crop": "bean"}, {"crop": "beetroot", "stage": "established"}],
}


@pytest.fixture
def plan_of(client):
    def ask(request: dict[str, Any], row: int = 0) -> dict[str, Any]:
        response = client.post("/v1/flush-plans?passes=all", json=request)
        assert response.status_code == 200, response.get_json()
        plan: dict[str, Any] = response.get_json()["flush_plan"][row]
        return plan

    return ask


def of(part: dict[str, Any], *names: str) -> list[float]:
    return [part[name]["value"] for name in names]


def test_the_drainage_is_that_of_its_passes(plan_of):
    plan = plan_of(SALTY)
    by_pass = plan["pass_by_pass"]["drainage_ec"]["values"]
    [mixed] = of(plan["drainage_as_feed"], "mixed_drainage_ec")
    assert mixed == pytest.approx(sum(by_pass) / len(by_pass), rel=2e-4)


def test_the_hardier_crop_is_fed_within_its_limit_and_no_nitrogen_is_lost(plan_of):
    plan = plan_of(SALTY | {"crops": [{"crop": "bean"}, {"crop": "beetroot"}]})
    feed = plan["drainage_as_feed"]
    assert (feed["crop"], feed["stage"]) == ("beet_red", "seedling")
    share, drained, mixed_ec = of(feed, "greatest_share", "mixed_drainage_ec", "mix_ec")
    assert 0.1 < share < 1
    assert mixed_ec == pytest.approx(share * drained + (1 - share) * 0.4, rel=2e-4)
    litres, nitrogen, worth = of(
        feed, "mix_per_container", "nitrogen_in_mix", "nitrogen_per_container"
    )
    assert litres * share == pytest.approx(plan["drained_per_container"]["value"], rel=2e-4)
    assert nitrogen * litres == pytest.approx(worth, rel=2e-4)
    assert "pnw_water_molds_2023" in feed["sources"]


@pytest.mark.parametrize(
    "change",
    [
        {"crops": [{"crop": "bean"}]},
        {"crops": [{"crop": "bean"}, {"crop": "bean"}]},
        {"crops": []},
        {"medium": SALTY["medium"] | {"ions": IONS | {"chloride": 900, "sodium": 600}}},
    ],
    ids=["one crop", "alike", "none", "salt that feeds nothing"],
)
def test_where_it_feeds_no_other_crop_nothing_is_said(plan_of, change):
    assert "drainage_as_feed" not in plan_of(SALTY | change)


def test_without_nitrogen_in_the_report_none_is_promised(plan_of):
    ions = {name: value for name, value in IONS.items() if name != "nitrate_n"}
    feed = plan_of(SALTY | {"medium": SALTY["medium"] | {"ions": ions}})["drainage_as_feed"]
    assert not feed.keys() & {"nitrogen_in_mix", "nitrogen_per_container"}


@pytest.mark.parametrize(("more", "is_told"), [(0, False), (300, True)])
def test_sodium_and_chloride_that_go_along_are_told(plan_of, more, is_told):
    ions = IONS | {"sodium": 40 + more, "chloride": 50 + more}
    feed = plan_of(SALTY | {"medium": SALTY["medium"] | {"ions": ions}})["drainage_as_feed"]
    assert ("sodium and chloride" in feed["sentence"]) == is_told


def test_returned_drainage_keeps_its_salt(plan_of):
    request = SALTY | {"return_tank": 500}
    plan, count = plan_of(request), 20
    returned, held = plan["returned_drainage"], plan["water_held"]["value"]
    least, medium, tank = of(returned, "least_reachable_ec", "ec_after", "tank_ec")
    # What the medium holds beside its water follows from the least, where both are of one strength.
    before = _pore_water(plan_of)
    store = 500 / count * (least - 0.4) / (before - least)
    assert held <= store <= 1.3 * held
    assert store * medium + 500 / count * tank == pytest.approx(
        store * before + 500 / count * 0.4, rel=1e-3
    )
    assert least < medium
    assert not returned["reaches_target"]


def _pore_water(plan_of) -> float:
    """EC of the pore water before: where a tank holds next to nothing, it stays as it was."""
    [least] = of(plan_of(SALTY | {"return_tank": 0.001})["returned_drainage"], "least_reachable_ec")
    return least


def test_a_tank_for_two_kinds_is_shared_by_them(plan_of):
    alone = plan_of(SALTY | {"return_tank": 500})["returned_drainage"]
    two = SALTY | {"containers": [{"volume": 10, "height": 20, "count": 10}] * 2}
    sealed = SALTY | {"containers": [*SALTY["containers"], {"volume": 99, "drainage": "sealed"}]}
    for shared in (two, sealed):
        assert plan_of(shared | {"return_tank": 500})["returned_drainage"] == alone


def test_the_larger_the_tank_the_lower_the_medium_down_to_the_plan(plan_of):
    plans = [plan_of(SALTY | {"return_tank": each}) for each in (5, 500, 5_000, 100_000)]
    told = [plan["returned_drainage"] for plan in plans]
    assert "ec_after" not in told[0]  # Less than a pass for each.
    after = [each["ec_after"]["value"] for each in told[1:]]
    assert after == sorted(after, reverse=True)
    assert after[-1] == pytest.approx(plans[-1]["rebound"]["ec_settled"]["value"], rel=0.05)
    assert [each["reaches_target"] for each in told] == [False, False, True, True]


def test_nothing_runs_back_from_a_container_without_holes(plan_of):
    sealed = SALTY | {"containers": [{"volume": 10, "drainage": "sealed"}], "return_tank": 500}
    assert not plan_of(sealed).keys() & {"returned_drainage", "drainage_as_feed"}


def test_drainage_is_fed_undiluted_where_the_crop_tolerates_it(plan_of):
    feed = plan_of(SALTY)["drainage_as_feed"]
    share, drained, mixed_ec = of(feed, "greatest_share", "mixed_drainage_ec", "mix_ec")
    assert (share, mixed_ec) == (1, drained)
    assert feed["sentence"].startswith("As it is")


def test_too_little_in_the_mix_is_not_worth_the_work(plan_of):
    barely = SALTY | {"water": {"ec": 1.5}, "target_ec": 1.6}
    assert "drainage_as_feed" not in plan_of(
        barely | {"crops": [{"crop": "bean"}, {"crop": "tomato"}]}
    )


def test_a_tank_too_small_for_a_pass_is_told_so_and_not_by_an_ec_that_would_do(plan_of):
    """Its balance lies below what is wanted: the litres fail, not the salt."""
    near = {
        "medium": {"extraction": "saturated_media_extract", "ec": 2.0},
        "water": {"ec": 0.3},
        "target_ec": 1.8,
        "containers": [{"volume": 10, "height": 15}],
        "rest": "60 min",
    }
    [each] = of(plan_of(near), "applied_each")
    plan = plan_of(near | {"return_tank": 0.95 * each})
    returned = plan["returned_drainage"]
    assert returned["least_reachable_ec"]["value"] < plan["target_pore_water"]["value"]
    assert returned["sentence"].startswith("The tank holds too little for one pass")
    assert "dS/m" not in returned["sentence"]


GYPSUM = {
    "calcium": 600, "sulfate_s": 480, "nitrate_n": 150, "potassium": 200, "magnesium": 60,
    "sodium": 30, "chloride": 40,
}  # fmt: skip


@pytest.mark.parametrize(("target", "reaches"), [(1.5, False), (2.0, True)])
def test_gypsum_holds_the_medium_up_with_the_drainage_returned_too(plan_of, target, reaches):
    plan = plan_of(
        {
            "medium": {"extraction": "saturated_media_extract", "ec": 6, "ions": GYPSUM},
            "water": {"ec": 0.3},
            "target_ec": target,
            "containers": [{"volume": 10, "height": 15}],
            "return_tank": 3000,
        }
    )
    assert plan["passes"]
    assert plan["reaches_target"] is reaches
    assert ("returned_drainage" in plan) is reaches
    if reaches:
        [plateau] = of(plan, "least_reachable_ec")
        assert min(of(plan["returned_drainage"], "least_reachable_ec", "ec_after")) >= plateau > 0.3


def test_a_crop_that_boron_harms_gives_way_to_the_next(plan_of):
    crops = [{"crop": each, "stage": "established"} for each in ("bean", "barley", "tomato")]
    fed = {
        boron: plan_of(
            SALTY | {"crops": crops, "medium": SALTY["medium"] | {"ions": IONS | {"boron": boron}}}
        )["drainage_as_feed"]["crop"]
        for boron in (0.1, 4.5)
    }
    assert fed == {0.1: "barley", 4.5: "tomato"}
