"""Where a single ion leads, the flush goes down to its aim, with a water that lets it get there."""

import pytest

SODIUM_AIM = 160  # mg/L, the upper end by saturated media extract that the table tells
PLENTY = {"sodium": 420, "chloride": 780, "calcium": 40, "magnesium": 15, "nitrate_n": 60}
CUCUMBER = {"sodium": 250, "chloride": 330, "calcium": 60, "magnesium": 15, "potassium": 60}
ITS_WATER = {"sodium": 130, "chloride": 180, "calcium": 30, "magnesium": 6, "bicarbonate": 80}


def request_of(ec, ions, water, crop="tomato", **medium):
    method = {"extraction": "saturated_media_extract", "substrate": "peat_perlite"}
    return {
        "medium": method | {"ec": ec, "ions": ions} | medium,
        "water": water,
        "containers": [{"volume": 12, "height": 20, "drainage": "open"}],
        "crops": [{"crop": crop, "stage": "established"}],
    }


def actions_of(post, request):
    answer = post("/v1/assessments", request)
    return answer, {each["id"]: each for each in answer["summary"]["actions"]}


def test_the_flush_ends_where_the_ion_is_expected_at_its_aim(post):
    answer, actions = actions_of(post, request_of(3.4, PLENTY, {"ec": 0.3}))
    assert answer["summary"]["leading_cause"]["cause"] == "sodium_toxicity"
    done = actions["flush"]["done_at"]["value"]
    # Sodium leaves as the other salt does: what is left of 420 mg/L at the EC of the check.
    left = PLENTY["sodium"] * (done - 0.3) / (3.4 - 0.3)
    assert left <= SODIUM_AIM
    assert "measured again" in actions["remedy_sodium_toxicity"]["sentence"]
    assert "sodium" in answer["flush_plan"][0]["target_from"]


def test_an_ec_in_its_range_does_not_leave_an_ion_without_litres(post):
    request = request_of(1.9, CUCUMBER, {"ec": 0.3}, "cucumber")
    answer, actions = actions_of(post, request)
    assert answer["summary"]["leading_cause"]["cause"] == "sodium_toxicity"
    assert actions["flush"]["amount"]["value"] > 0
    assert "No flush" not in answer["flush_plan"][0]["sentence"]


def test_another_water_comes_first_where_this_one_brings_the_ion(post):
    request = request_of(1.9, CUCUMBER, {"ec": 0.9, "ions": ITS_WATER}, "cucumber")
    answer, actions = actions_of(post, request)
    assert list(actions)[:2] == ["change_water", "flush"]
    assert "130 mg/L" in actions["change_water"]["sentence"]
    assert "With this water that lasts" not in actions["flush"]["sentence"]
    assert "rain_ec" in {each["id"] for each in answer["assumptions"]}


def test_salt_does_not_come_back_from_a_limit_that_is_of_an_ion(post):
    """What the crop stands in the long run is its own limit, not the EC of a flush for an ion."""
    answer, _ = actions_of(post, request_of(1.9, CUCUMBER, {"ec": 0.3}, "cucumber"))
    plan, kept = answer["flush_plan"][0], answer["upkeep"][0]
    assert kept["limit"]["value"] > plan["target_pore_water"]["value"]


@pytest.mark.parametrize("sodium", [60, 120])
def test_no_flush_for_an_ion_within_its_range(post, sodium):
    ions = {"sodium": sodium, "chloride": 90, "calcium": 150, "magnesium": 50, "nitrate_n": 120}
    _, actions = actions_of(post, request_of(2.0, ions, {"ec": 0.3}))
    assert not actions


def test_who_asks_for_a_target_has_it(post):
    request = request_of(3.4, PLENTY, {"ec": 0.3}) | {"target_ec": 3.0}
    answer, _ = actions_of(post, request)
    assert answer["flush_plan"][0]["target_ec"]["value"] == pytest.approx(3.0)


def test_litres_of_another_water_are_never_told_without_that_water(post):
    """Also where salt as a whole leads and sets the target."""
    ions = {"chloride": 420, "sodium": 210, "nitrate_n": 55, "potassium": 110, "calcium": 120}
    water = {"ec": 1.1, "ions": {"chloride": 220, "sodium": 140, "calcium": 60}}
    request = request_of(2.4, ions, water, "strawberry") | {"observations": ["marginal_burn"]}
    answer, actions = actions_of(post, request)
    assert answer["summary"]["leading_cause"]["cause"] == "total_salts"
    assert list(actions)[:2] == ["change_water", "flush"]
    assert "With this water" not in actions["flush"]["sentence"]
    assert answer["upkeep"][0]["ec_applied"]["value"] == pytest.approx(1.1)
