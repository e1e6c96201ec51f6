"""Units, limits and ways out that contradict the figures beside them."""

from saltcalc.words.text.layout import as_text
from saltcalc.words.text.short import short


def words_of(post, request):
    answer = post("/v1/assessments", request)
    return answer, " ".join(as_text(short(answer, request)).split())


def compost(ec, **rest):
    return {
        "medium": {"extraction": "one_to_five", "ec": ec, "substrate": "green_waste_compost"},
        "containers": [{"volume": 5, "drainage": "open"}],
        "crops": [{"crop": "bean", "stage": "seedling"}],
    } | rest


def test_the_reading_that_ends_a_plan_is_told_in_the_unit_of_the_report(post):
    assert "0.15 dS/m is 150 µS/cm." in words_of(post, compost("1500 µS/cm"))[1]
    assert "dS/m is" not in words_of(post, compost("1.5 mS/cm"))[1]
    assert "dS/m is" not in words_of(post, compost(1.5))[1]


def test_boron_of_the_water_is_held_to_what_the_crop_stands(post):
    request = {
        "medium": {
            "extraction": "saturated_paste", "ec": 1.4, "substrate": "sandy_loam",
            "ions": {"boron": "3.4 mg/L"},
        },
        "water": {"ec": 0.8, "ions": {"boron": "3.2 mg/L"}},
        "crops": [{"crop": "lemon", "stage": "established"}],
    }  # fmt: skip
    assert "water: boron 3.2 mg/L up to 0.5" in words_of(post, request)[1]


def test_a_medium_is_kept_for_the_crop_that_thrives_in_it(post):
    request = {
        "medium": {"extraction": "saturated_media_extract", "ec": 5.2},
        "containers": [{"volume": 9, "drainage": "sealed"}],
        "crops": [{"crop": "onion", "stage": "seedling"}],
        "thriving_crops": ["swiss_chard"],
    }
    [plan] = post("/v1/assessments", request)["flush_plan"]
    [way] = [each for each in plan["options"] if each["id"] == "tolerant_crop"]
    assert way["tolerant_crops"] or "keep this medium for swiss chard" in way["sentence"].lower()
    assert "No crop of the same use" not in way["sentence"]
