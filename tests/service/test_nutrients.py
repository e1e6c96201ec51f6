import jsonschema
import pytest

from tests.service.test_api_spec import schema_of

GOOD = {
    "nitrate_n": 90,
    "ammonium_n": 4,
    "phosphorus": 8,
    "potassium": 160,
    "calcium": 180,
    "magnesium": 60,
    "sulfate_s": 40,
    "sodium": 40,
    "chloride": 60,
    "boron": 0.3,
}


def medium(ec=1.8, ph=6.0, method="saturated_media_extract", **ions):
    return {"extraction": method, "ec": ec, "ph": ph, "ions": GOOD | ions}


def nutrients(post, given, **rest):
    answer = post("/v1/assessments", {"medium": given, **rest})
    jsonschema.validate(answer, schema_of("Assessment"))
    return answer["nutrients"]


def status(part, nutrient):
    (row,) = [row for row in part["elements"] if row["nutrient"] == nutrient]
    return row["status"]


def remedies(part):
    return {row["id"]: row for row in part["remedies"]}


def test_a_good_medium_comes_out_clean(post):
    part = nutrients(post, medium())
    assert {row["status"] for row in part["elements"]} <= {"in_range", "undetermined"}
    assert part["remedies"] == []


def test_low_ph_with_low_magnesium_points_at_dolomitic_lime(post):
    part = nutrients(post, medium(ph=5.4, magnesium=15))
    lime = remedies(part)["dolomitic_lime"]
    assert lime["for"] == ["ph", "magnesium"]
    # 0.6 units of pH at 1.5 to 4.75 g/L for a unit.
    assert lime["rate"]["low"] == pytest.approx(0.9, rel=5e-5)
    assert lime["rate"]["high"] == pytest.approx(2.85, rel=5e-5)
    assert lime["wait"]["unit"] == "week"
    assert "local" in lime["sentence"]
    assert lime["sources"]


def test_low_ph_alone_does_not_call_for_magnesium(post):
    given = medium(ph=5.2)
    assert "ground_limestone" in remedies(nutrients(post, given))
    del given["ions"]["magnesium"]
    lime = remedies(nutrients(post, given))["ground_limestone"]
    assert "if magnesium is low" in lime["sentence"]


def test_starved_of_nitrogen(post):
    part = nutrients(
        post,
        medium(ec=0.5, nitrate_n=6, ammonium_n=1),
        containers=[{"name": "cell", "volume": "40 mL", "height": "4 cm"}],
        crops=[{"crop": "lettuce", "stage": "seedling"}],
    )
    assert status(part, "nitrate_n") == "low"
    feed = remedies(part)["organic_nitrogen"]
    assert "12-0-0" in feed["sentence"]
    assert 0.5 < feed["rate"]["low"] < feed["rate"]["value"] < feed["rate"]["high"] < 2.0
    (cell,) = part["nitrogen"]
    assert (cell["container"], cell["stage"]) == ("cell", "seedling")
    assert cell["weeks"]["value"] < 0.5


def test_a_lean_medium_wants_a_feed_rather_than_single_salts(post):
    part = nutrients(post, medium(ec=0.5, nitrate_n=5, potassium=30, calcium=50, magnesium=20))
    found = remedies(part)
    assert set(found) == {"organic_nitrogen", "complete_feed"}
    assert found["complete_feed"]["for"] == ["nitrate_n", "potassium", "calcium", "magnesium"]


def test_magnesium_alone_wants_its_salt(post):
    assert set(remedies(nutrients(post, medium(magnesium=10)))) == {"magnesium_salt"}


def test_sodium_and_chloride_are_washed_out(post):
    found = remedies(nutrients(post, medium(ec=3, sodium=400, chloride=700)))
    assert found["wash_out"]["for"] == ["sodium", "chloride"]


def test_much_ammonium_is_not_fed(post):
    part = nutrients(post, medium(nitrate_n=10, ammonium_n=120))
    assert status(part, "ammonium_n") == "high"
    assert set(remedies(part)) == {"let_ammonium_turn"}


def test_more_volume_lasts_longer(post):
    part = nutrients(
        post,
        medium(),
        containers=[{"volume": "0.1 L"}, {"volume": "1 L"}],
        crops=[
            {"crop": "lettuce", "stage": "seedling"},
            {"crop": "lettuce", "stage": "established"},
        ],
    )
    weeks = {
        (row["nitrogen_held"]["value"], row["stage"]): row["weeks"]["value"]
        for row in part["nitrogen"]
    }
    small, large = sorted({held for held, _ in weeks})
    assert weeks[large, "seedling"] > weeks[small, "seedling"]
    assert weeks[large, "seedling"] > weeks[large, "established"]


def test_nitrate_in_a_dilute_extract_is_scaled_and_calcium_is_not(post):
    part = nutrients(post, medium(ec=0.7, method="one_to_two", nitrate_n=35))
    (nitrate,) = [row for row in part["elements"] if row["nutrient"] == "nitrate_n"]
    assert nitrate["status"] == "in_range"
    assert nitrate["range_method"] == "saturated_media_extract"
    assert 80 < nitrate["on_range_method"]["value"] < 110
    assert nitrate["on_range_method"]["low"] < nitrate["on_range_method"]["high"]
    (calcium,) = [row for row in part["elements"] if row["nutrient"] == "calcium"]
    assert calcium["status"] == "undetermined"
    assert "cannot be scaled" in calcium["note"]


def test_an_uncertain_figure_gives_a_range_of_statuses(post):
    part = nutrients(post, medium(ec=0.7, method="one_to_two", nitrate_n=15))
    (nitrate,) = [row for row in part["elements"] if row["nutrient"] == "nitrate_n"]
    assert nitrate["status_range"] == ["low", "in_range"]


def test_dtpa_is_judged_by_its_own_ranges(post):
    figures = {"iron": 20, "manganese": 10, "zinc": 8, "copper": 1, "boron": 1}
    by_water = nutrients(post, medium() | {"micronutrients": figures})
    by_dtpa = nutrients(post, medium() | {"micronutrients": figures | {"extract": "dtpa"}})
    for element in figures:
        assert status(by_water, element) == "high"
        assert status(by_dtpa, element) == "in_range"


def test_parts_per_million_of_a_micronutrient(post):
    part = nutrients(post, medium() | {"micronutrients": {"iron": "1.2 ppm", "zinc": "900 µg/L"}})
    values = {row["nutrient"]: row["figure"]["value"] for row in part["elements"]}
    assert values["iron"] == pytest.approx(1.2, rel=5e-5)
    assert values["zinc"] == pytest.approx(0.9, rel=5e-5)


def test_balance_of_the_salts(post):
    part = nutrients(post, medium(ec=2.0, sodium=300))
    (sodium,) = [row for row in part["elements"] if row["nutrient"] == "sodium"]
    assert sodium["share_of_salts"]["value"] == pytest.approx(300 / 1400, rel=5e-5)
    assert sodium["share_status"] == "high"


def test_mineral_soil_has_only_its_ph_judged(post):
    part = nutrients(post, medium(ph=6.3, method="saturated_paste") | {"substrate": "loam"})
    assert status(part, "ph") == "in_range"
    assert {row["status"] for row in part["elements"] if row["nutrient"] != "ph"} == {
        "undetermined"
    }


def test_nothing_reported_is_said(post):
    answer = post("/v1/assessments", {"medium": {"ec": 2}})
    assert answer["nutrients"] is None
    (gap,) = [row for row in answer["not_computed"] if row["part"] == "nutrients"]
    assert gap["missing"] == ["/medium/ph", "/medium/ions"]


@pytest.mark.parametrize(
    "given",
    [
        {"ions": {"nitrate_n": 0, "ammonium_n": 0}},
        {"ec": 0, "ph": 3, "ions": {"nitrate_n": 50}},
        {"ec": 2, "ph": 10},
        {"ec": 0, "extraction": "pore_water_sensor", "ions": {"calcium": 10}},
    ],
)
def test_odd_reports_get_an_answer(post, given):
    part = nutrients(post, given, containers=[{"volume": 1}, {"volume": 50, "drainage": "sealed"}])
    assert part["elements"]


def test_unknown_micronutrient_is_refused(refuse):
    problem = refuse(
        "/v1/assessments", {"medium": {"ec": 1, "micronutrients": {"gold": 1, "extract": "acid"}}}
    )
    assert {error["pointer"] for error in problem["errors"]} == {
        "/medium/micronutrients/gold",
        "/medium/micronutrients/extract",
    }


def test_high_ph_beside_much_ammonium_asks_for_no_more_of_it(post):
    told = remedies(nutrients(post, medium(ph=8.1, ammonium_n=95)))
    assert "more acid" not in told["less_alkalinity"]["sentence"]
    assert "feed no ammonium" in told["let_ammonium_turn"]["sentence"]
    told = remedies(nutrients(post, medium(ph=8.1)))
    assert "more acid" in told["less_alkalinity"]["sentence"]


def test_a_starved_medium_does_not_boast_of_weeks_of_nitrogen(post):
    given = {"extraction": "saturated_media_extract", "ec": 0.6, "ions": {"nitrate_n": 4}}
    part = nutrients(post, given, containers=[{"volume": "3 L"}], plant_age="60 days")
    (supply,) = part["nitrogen"]
    assert "short of it now" in supply["sentence"]
    assert "older and larger" in supply["sentence"]
    assert list(remedies(part)) == ["liquid_feed", "organic_nitrogen"]


def test_low_nitrate_of_plants_that_died_too_early_for_a_shortage_is_not_why_they_stall(post):
    given = {
        "extraction": "saturated_media_extract",
        "ec": 1.2,
        "ions": {"nitrate_n": 30, "ammonium_n": 9},
    }
    request = {
        "medium": given,
        "containers": [{"volume": "3 L"}],
        "observations": ["died_at_cotyledons", "no_greening_after_feeding"],
        "not_seen": ["pale_whole_plant"],
    }
    answer = post("/v1/assessments?causes=all", request)
    shortage = next(
        row for row in answer["causes"]["ranked"] if row["cause"] == "nitrogen_shortage"
    )
    found = remedies(answer["nutrients"])
    assert shortage["verdict"] == "unlikely"
    assert list(found) == ["liquid_feed"]
    assert "not why they stall" in found["liquid_feed"]["sentence"]
    assert "not why they stall" in answer["nutrients"]["nitrogen"][0]["sentence"]


@pytest.mark.parametrize(("ec", "told"), [(2.0, "feed_weaker"), (6.0, "stop_feeding")])
def test_feeding_stops_for_nitrate_only_where_salt_may_be_too_much(ec, told, post):
    medium = {"extraction": "SME", "ec": ec, "ph": 6.1, "ions": {"nitrate_n": 215}}
    crops = [{"crop": "tomato", "stage": "established"}]
    answer = post("/v1/assessments", {"medium": medium, "crops": crops})
    remedies = {each["id"] for each in answer["nutrients"]["remedies"]}
    assert remedies & {"feed_weaker", "stop_feeding"} == {told}
