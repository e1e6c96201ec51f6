"""The irrigation water as a source of salt, over HTTP."""

import pytest


def assess(post, water, crops=("French bean",)):
    sent = {
        "medium": {"extraction": "saturated_media_extract", "ec": 4.0},
        "water": water,
        "containers": [{"volume": 10, "drainage": "open"}],
        "crops": [{"crop": crop, "stage": "established"} for crop in crops],
    }
    return post("/v1/assessments", sent)


def warnings(answer):
    return {warning["id"]: warning for warning in answer["warnings"]}


def test_a_water_beyond_the_crop_is_stopped_with_the_rain_it_needs(post):
    answer = assess(post, {"ec": 6.0})
    crop = answer["water"]["crops"][0]
    assert crop["exceeds"]
    least = crop["least_rain"]["value"]
    blend = (1 - least) * 6.0 + least * 0.05
    assert blend == pytest.approx(crop["highest_ec"]["value"], rel=5e-5)
    assert crop["comfortable_rain"]["value"] > least
    found = warnings(answer)["water_exceeds_crop"]
    assert found["severity"] == "stop"
    assert "rain" in found["sentence"]
    assert answer["water"]["class"] == "severe"


def test_a_good_water_needs_no_rain(post):
    answer = assess(post, {"ec": 0.4})
    assert answer["water"]["crops"][0]["exceeds"] is False
    assert answer["water"]["crops"][0]["least_rain"]["value"] == 0
    assert "water_exceeds_crop" not in warnings(answer)


def test_alkalinity_and_hardness_leave_in_every_form(post):
    ions = {"calcium": "3 meq/L", "magnesium": "1 meq/L"}
    water = assess(post, {"ec": 0.6, "ions": ions, "alkalinity": "150 mg/L CaCO3"})["water"]
    forms = {one["unit"]: one["value"] for one in water["alkalinity"]}
    assert forms["mg/L CaCO3"] == pytest.approx(150, rel=5e-5)
    assert forms["mmol_c/L"] == pytest.approx(3.0, rel=0.002)
    assert forms["°dH"] == pytest.approx(8.4, abs=0.02)
    assert forms["°fH"] == pytest.approx(15.0, abs=0.01)
    assert forms["mg/L HCO3"] == pytest.approx(183, abs=0.2)
    hard = {one["unit"]: one["value"] for one in water["hardness"]}
    assert hard["mmol_c/L"] == pytest.approx(4.0, rel=5e-5)
    assert "mg/L HCO3" not in hard
    soft = {one["unit"]: one["value"] for one in water["carbonate_hardness"]}
    assert soft["mmol_c/L"] == pytest.approx(3.0, rel=0.002)


def test_nothing_said_of_the_water(post):
    answer = post("/v1/assessments", {"medium": {"ec": 3}})
    assert answer["water"] is None
    missing = {each["part"]: each["missing"] for each in answer["not_computed"]}
    assert missing["water"] == ["/water/ec", "/water/ions"]


def test_the_floor_of_a_water_without_a_reading(post):
    answer = assess(post, {"ions": {"sodium": 230, "chloride": 355}})
    assert answer["water"]["basis"] == "lower_bound"
    # 10 mmol/L of sodium chloride: 1.18 dS/m (CRC Handbook, equivalent conductivity 118.5).
    assert answer["water"]["ec_25c"]["value"] == pytest.approx(1.185, rel=0.01)
    assert answer["leaching"][0]["requirement"]


def test_carbonate_forms_by_ph(post):
    water = assess(post, {"ec": 0.6, "ph": 8.3, "alkalinity": "3 meq/L"})["water"]
    told = water["carbonate_forms"]
    forms = dict(zip(told["of_forms"], told["of_carbonate"]["values"], strict=True))
    assert forms["bicarbonate"] == pytest.approx(0.98, abs=0.002)
    assert sum(forms.values()) == pytest.approx(1, rel=5e-5)


@pytest.mark.parametrize(
    ("water", "told"),
    [
        ({"ec": 0.4}, "does not restrict its use"),
        ({"ec": 1.2}, "slight to moderate restriction"),
        ({"ec": 5.5}, "restricts its use severely"),
        ({"ph": 7.4}, "without its EC"),
    ],
)
def test_a_water_without_a_medium_is_judged_as_a_water(post, water, told):
    """The classes are those of FAO 29, table 1: from 0.7 and from 3 dS/m."""
    sentence = post("/v1/assessments", {"water": water})["summary"]["leading_cause"]["sentence"]
    assert sentence.startswith("Only the water was given")
    assert told in sentence


def test_a_water_with_a_crop_that_it_harms_is_told_so_without_a_medium(post):
    answer = post("/v1/assessments", {"water": {"ec": 6.0}, "crops": ["French bean"]})
    assert "water_exceeds_crop" in warnings(answer)


@pytest.mark.parametrize("told", [{"medium": 1.8}, {"observations": ["white crust"]}])
def test_with_a_medium_or_a_sign_of_it_the_medium_is_judged(post, told):
    answer = post("/v1/assessments", {"water": {"ec": 5.5}} | told)
    assert "Only the water" not in answer["summary"]["leading_cause"]["sentence"]
