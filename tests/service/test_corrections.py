"""What usually helps, by what is known of the medium, its water and its crop; each with a twin."""

import pytest

SME = {"extraction": "saturated_media_extract", "ec": 1.8}


def asked(post, medium, crop="petunia", **rest):
    crops = [{"crop": crop, "stage": "established"}] if crop else []
    request = {"medium": SME | medium, "crops": crops} | rest
    return post("/v1/assessments?parts=causes,nutrients", request)


def told(answer, cause):
    (row,) = (each for each in answer["causes"]["ranked"] if each["cause"] == cause)
    return row, {each["id"]: each for each in row.get("corrections", [])}


@pytest.mark.parametrize(
    ("ph", "chelate"),
    [(6.4, "iron_chelate_at_lower_ph"), (6.8, "iron_dtpa"), (7.4, "iron_eddha")],
)
def test_the_chelate_goes_by_the_ph(post, ph, chelate):
    answer = asked(post, {"ph": ph}, observations=["yellow_between_veins_young_leaves"])
    row, found = told(answer, "iron_shortage")
    assert row["verdict"] == "supported"
    chosen = {each for each in found if each.startswith("iron_")}
    assert chosen == {chelate}
    # University of Maryland: 3 to 5 oz in 100 gal.
    assert found[chelate]["rate"] == {"value": 0.29009, "low": 0.225, "high": 0.374, "unit": "g/L"}


def test_a_crop_that_takes_up_too_much_iron_is_given_none(post):
    signs = ["yellow_between_veins_young_leaves"]
    answer = asked(post, {"ph": 7.0}, "zonal geranium", observations=signs)
    _, found = told(answer, "iron_shortage")
    assert set(found) == {"no_iron_for_prone_crop"}


def test_blueberry_is_never_limed(post):
    fine = asked(post, {"ph": 4.9}, "blueberry")
    assert fine["causes"]["ranked"] == []
    assert fine["nutrients"]["remedies"] == []
    acid = asked(post, {"ph": 3.6}, "blueberry")
    row, found = told(acid, "ph_too_low")
    assert row["verdict"] == "supported"
    assert "No lime" in row["usual_remedy"]
    assert not {"limestone", "flowable_lime", "hydrated_lime"} & set(found)
    assert "ground_limestone" not in {each["id"] for each in acid["nutrients"]["remedies"]}
    high = asked(post, {"ph": 6.4}, "blueberry")
    assert told(high, "ph_too_high")[0]["verdict"] == "supported"


def test_no_fast_rise_of_ph_beside_ammonium(post):
    calm = asked(post, {"ph": 4.6, "ions": {"ammonium_n": 4, "nitrate_n": 60}})
    assert {"flowable_lime", "potassium_bicarbonate"} <= set(told(calm, "ph_too_low")[1])
    risky = asked(post, {"ph": 4.6, "ions": {"ammonium_n": 40, "nitrate_n": 60}})
    row, found = told(risky, "ph_too_low")
    assert not {"flowable_lime", "potassium_bicarbonate"} & set(found)
    assert "no_fast_rise" in found
    assert "slowly" in row["usual_remedy"]


def test_ammonia_is_aired_and_ammonium_is_warmed(post):
    ions = {"ammonium_n": 60, "nitrate_n": 60}
    _, free = told(asked(post, {"ph": 8.0, "ions": ions}, None), "ammonium_toxicity")
    _, bound = told(asked(post, {"ph": 5.8, "ions": ions}, None), "ammonium_toxicity")
    assert "air_and_lower_ph" in free
    assert "warm_and_dry" not in free
    assert "warm_and_dry" in bound
    assert "air_and_lower_ph" not in bound


def test_the_remedy_knows_what_the_water_brings(post):
    medium = {"ph": 6.2, "ions": {"sodium": 270, "calcium": 85, "nitrate_n": 60}}
    waters = {190: "Your water brings it: it holds 190 mg/L", 12: "Your water does not bring it"}
    for sodium, words in waters.items():
        water = {"ec": 0.9, "ions": {"sodium": sodium}}
        answer = asked(post, medium, observations=["marginal_burn"], water=water)
        assert words in told(answer, "sodium_toxicity")[0]["usual_remedy"]
    unknown = asked(post, medium, observations=["marginal_burn"])
    assert "if the water brings" not in told(unknown, "sodium_toxicity")[0]["usual_remedy"]


POURED = {
    "extraction": "pour_through",
    "ec": 0.35,
    "ph": 5.6,
    "ions": {"nitrate_n": 20, "phosphorus": 7, "potassium": 15, "calcium": 30, "magnesium": 18},
}


@pytest.mark.parametrize(
    ("feeding", "nitrate", "shortage"),
    [("coated_fertilizer", "in_range", False), ("liquid_feed", "low", True), (None, None, False)],
)
def test_how_the_crop_is_fed_says_what_it_wants(post, feeding, nitrate, shortage):
    # Yeager et al. (2007): 15 to 25 mg/L on coated fertilizer, 50 to 100 on liquid feed.
    rest = {"feeding": feeding} if feeding else {}
    answer = asked(post, POURED, "photinia", **rest)
    rows = {each["nutrient"]: each for each in answer["nutrients"]["elements"]}
    assert rows["nitrate_n"]["status"] == (nitrate or "undetermined")
    supported = {
        each["cause"] for each in answer["causes"]["ranked"] if each["verdict"] == "supported"
    }
    assert ("nitrogen_shortage" in supported) == shortage
    if not feeding:
        others = {each["applies_to"] for each in rows["nitrate_n"]["other_ranges"]}
        assert others == {
            "container nursery crops on liquid feed",
            "container nursery crops on coated fertilizer alone",
        }
        assert "how the crop is fed" in rows["nitrate_n"]["note"]
