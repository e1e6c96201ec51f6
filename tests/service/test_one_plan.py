"""The flush is one plan wherever it is told: headline, steps, log, sheet, and what comes after."""

import html
import re

import pytest

from saltcalc.service.pages.form import typed_of
from saltcalc.words.figures import figure
from saltcalc.words.text import as_text, full, short

BASE = {
    "medium": {"extraction": "one_to_two", "ec": "1.8 mS/cm"},
    "crops": [{"crop": "lettuce", "stage": "seedling"}],
    "containers": [{"volume": "11 L", "drainage": "open"}],
    "water": {"ec": "0.8 mS/cm"},
}
SIGNS = ["stalled_at_first_leaves", "white_crust_when_dry", "marginal_burn"]
CASES = {
    "once a day": BASE,
    "three times a day": BASE
    | {
        "medium": {**BASE["medium"], "temperature": "18 °C", "ph": 6.9},
        "water": {"ec": "0.7 mS/cm"},
        "containers": [{"volume": "11 L", "height": "23 cm", "count": 12, "drainage": "open"}],
        "observations": SIGNS,
    },
    "few pourings": BASE | {"medium": {"extraction": "one_to_two", "ec": "1.2 mS/cm"}},
    "a dripper": BASE | {"means": {"by": "dripper", "flow": "2 L/h"}},
    "a boom": BASE | {"means": {"by": "boom"}},
    "rests given": BASE | {"rest": "60 min"},
    "two kinds": BASE
    | {
        "containers": [
            {"name": "pots", "volume": "2 L", "drainage": "open"},
            {"name": "tubs", "volume": "40 L", "height": "40 cm", "drainage": "open"},
        ]
    },
    "soil water": BASE | {"medium": {"extraction": "saturated_media_extract", "ec": 4.5}},
    "another limit": BASE | {"target_ec": 0.6},
}


def told(page):
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", page)))


@pytest.fixture(params=CASES)
def asked(request):
    return CASES[request.param]


def plans(answer):
    return zip(answer["flush_plan"], answer["upkeep"], answer["summary"]["actions"], strict=True)


def test_the_advised_plan_is_the_one_the_summary_tells(post, asked):
    answer = post("/v1/assessments?flush=advised&passes=all", asked)
    limited = post("/v1/assessments?passes=all", asked)
    further = 0
    for (plan, kept, action), before in zip(plans(answer), limited["flush_plan"], strict=True):
        assert plan["water_per_container"]["value"] == action["amount"]["value"]
        assert plan["rested_check"]["own_method"]["value"] == action["done_at"]["value"]
        for member in ("rest", "passes_a_day"):  # by another schedule the litres would not do
            assert plan[member] == before[member]
        assert len(plan["pass_by_pass"]["pass_numbers"]) == plan["passes"]
        if lasting := kept.get("extended_flush"):
            further += 1
            assert plan["passes"] == lasting["passes"]
            assert plan["water_per_container"]["value"] == lasting["water_per_container"]["value"]
            assert plan["rested_check"]["wait"] == lasting["wait"]
            assert plan["target_pore_water"] == lasting["target_pore_water"]
            assert "goes_further" in plan
            start = kept["build_up"]["pore_water"]["values"][0]
            assert start == lasting["target_pore_water"]["value"]
        else:
            assert plan == before
    assert "goes_further" not in str(limited)
    assert answer["summary"]["actions"] == limited["summary"]["actions"]
    assert further or asked is CASES["few pourings"] or asked is CASES["another limit"]


def test_pourings_are_counted_of_the_plan_that_is_told(post, asked):
    for query in ("?flush=advised", "", "?parts=flush_plan,warnings"):
        answer = post(f"/v1/assessments{query}", asked)
        for warning in answer["warnings"]:
            if warning["id"] != "many_passes":
                continue
            part, place = warning["field"].split("/")
            row = answer[part][int(place)]
            count = (row if part == "flush_plan" else row["extended_flush"])["passes"]
            assert f"{count} passes" in warning["sentence"]


def test_page_sheet_and_log_tell_one_plan(client, post, asked):
    answer = post("/v1/assessments?flush=advised&passes=all", asked)
    typed = typed_of(asked)
    page = told(client.post("/", data=typed).text)
    sheet = client.post("/v1/assessments", json=asked, headers={"Accept": "text/plain"}).text
    in_full = re.sub(r"\s+", " ", full(answer))
    assert re.sub(r"\s+", " ", sheet) == re.sub(r"\s+", " ", as_text(short(answer, asked))) + " "
    for place, (plan, kept, action) in enumerate(plans(answer)):
        steps = plan["step_by_step"]
        said = [action["sentence"], plan["in_short"], *steps, kept["sentence"]]
        said += [each["sentence"] for each in plan["options"]]
        said += [plan["goes_further"]] if "goes_further" in plan else []
        for each in said:
            assert re.sub(r"\s+", " ", each) in page
        assert plan["in_short"] in in_full
        assert " ".join(steps[1:]) in in_full
        log = told(client.post("/flush-log", data={**typed, "container": str(place)}).text)
        assert plan["in_short"] in log
    for warning in answer["warnings"]:
        assert re.sub(r"\s+", " ", warning["sentence"]) in page


def test_nitrate_of_the_drainage_is_that_of_the_litres_that_are_told(client, post):
    asked = BASE | {
        "medium": {"extraction": "saturated_media_extract", "ec": 2, "ions": {"nitrate_n": 150}}
    }
    answer = post("/v1/assessments?flush=advised", asked)
    limited = post("/v1/assessments", asked)
    (nitrate,) = (each for each in answer["warnings"] if each["id"] == "nitrate_in_drainage")
    (other,) = (each for each in limited["warnings"] if each["id"] == "nitrate_in_drainage")
    found, before = (
        each["flush_plan"][0]["costs"]["drainage_nitrate_n"]["value"] for each in (answer, limited)
    )
    assert found < before  # more water, the same nitrate
    assert f"{figure(found)} mg/L" in nitrate["sentence"]
    assert f"{figure(before)} mg/L" in other["sentence"]
    typed = typed_of(asked)
    for path in ("/", "/flush-log"):
        page = told(client.post(path, data=typed).text)
        assert nitrate["sentence"] in page
        assert other["sentence"] not in page
    sheet = client.post("/v1/assessments", json=asked, headers={"Accept": "text/plain"}).text
    assert f"{figure(found)} mg/L" in sheet
    assert f"{figure(before)} mg/L" not in sheet


def test_the_log_goes_by_all_that_decided_how_far_the_answer_goes(client, post):
    """Watered a lot, a flush lasts by itself; the log heard nothing of the watering before."""
    for irrigation in (4.2, 12):
        asked = BASE | {"evapotranspiration": 4, "irrigation": irrigation}
        plan = post("/v1/assessments?flush=advised", asked)["flush_plan"][0]
        log = told(client.post("/flush-log", data=typed_of(asked)).text)
        assert plan["in_short"] in log


@pytest.mark.parametrize(("water", "irrigation"), [(1.2, 4.2), (1.2, 5), (1.6, 4.2), (1.6, 6)])
def test_a_flush_that_lasts_stops_above_what_gypsum_holds(post, water, irrigation):
    ions = {"calcium": 700, "sulfate_s": 700, "sodium": 300, "chloride": 500, "magnesium": 50}
    asked = {
        "medium": {"extraction": "saturated_media_extract", "ec": 4, "ions": ions},
        "water": {"ec": water},
        "containers": [{"volume": 10, "height": 20, "drainage": "open"}],
        "target_ec": 2.0,
        "evapotranspiration": 4,
        "irrigation": irrigation,
    }
    answer = post("/v1/assessments?flush=advised", asked)
    plan, lasting = answer["flush_plan"][0], answer["upkeep"][0]["extended_flush"]
    assert lasting["target_pore_water"]["value"] > 1.04 * plan["least_reachable_ec"]["value"]
    assert plan["reaches_target"]
