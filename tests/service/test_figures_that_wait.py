"""Where the figures may not be acted on, nobody is told to pour: in no part and no form."""

import json
import re

import pytest

IONS = {
    "sodium": "180 mg/L", "calcium": "160 ppm", "magnesium": "45 ppm", "potassium": "210 ppm",
    "nitrate_n": "120 ppm", "sulfate_s": "80 ppm", "chloride": "260 ppm",
    "bicarbonate": "120 ppm", "ammonium_n": "4 ppm", "phosphorus": "18 ppm",
}  # fmt: skip
"""Ions that make 2.9 dS/m at most (cations by their charge, over 10), beside an EC of 4.6."""

IN_DOUBT = {
    "medium": {
        "substrate": "peat_perlite",
        "extraction": "saturated_media_extract",
        "ec": "4.6 mS/cm",
        "ph": 6.3,
        "ions": IONS,
    },
    "water": {"ec": "0.55 mS/cm"},
    "containers": [{"name": "3 gal", "volume": "3 US gal", "height": "9 in", "drainage": "open"}],
    "crops": [{"crop": "tomato", "stage": "seedling"}],
}
NOT_SHOWN = {
    "medium": {"extraction": "press", "ec": 3, "substrate": "pine_bark"},
    "water": {"ec": 0.4},
    "containers": [{"volume": 10, "height": 15}],
    "crops": [{"crop": "lettuce", "stage": "seedling"}],
}
SOUND = IN_DOUBT | {"medium": {**IN_DOUBT["medium"], "ions": {}}}
CASES = [(IN_DOUBT, "report_in_doubt"), (NOT_SHOWN, "salt_not_shown")]
ORDER = re.compile(r"(?:^|[.>] ?)(?:Pour|Leach by|Let [\d.]+)[^.<]*?\d")


@pytest.mark.parametrize(("request_", "why"), CASES)
@pytest.mark.parametrize(
    "query", ["", "?flush=advised", "?passes=all", "?parts=flush_plan,warnings"]
)
def test_a_plan_tells_first_what_to_settle(client, request_, why, query):
    answer = client.post(f"/v1/assessments{query}", json=request_).json
    assert not answer.get("summary", {"actions": []})["actions"]
    (plan,) = answer["flush_plan"]
    assert plan["held_back"] == why
    assert plan["water_per_container"]["value"] > 0
    assert "in_short" not in plan
    assert not plan.get("step_by_step")
    assert not plan["options"]
    assert not ORDER.search(plan["sentence"])
    contradicts = {"reporting_slip", "report_contradicts", "reading_below_ions"}
    found = contradicts & {each["id"] for each in answer["warnings"]}
    assert bool(found) == (why == "report_in_doubt")


@pytest.mark.parametrize(("request_", "why"), CASES)
def test_a_flush_plan_by_itself_says_the_same(client, request_, why):
    answer = client.post("/v1/flush-plans", json=request_).json
    whole = client.post("/v1/assessments", json=request_).json
    (plan,), (same,) = answer["flush_plan"], whole["flush_plan"]
    assert (plan["held_back"], plan["sentence"]) == (why, same["sentence"])


@pytest.mark.parametrize(("request_", "why"), CASES)
@pytest.mark.parametrize("form", ["text/html", "text/plain", "text/markdown"])
def test_no_form_of_the_answer_orders_it(client, request_, why, form):
    told = client.post("/v1/assessments", json=request_, headers={"Accept": form}).text
    assert not ORDER.search(told), why
    assert "flush-log" not in told


def test_a_flush_under_way_waits_until_the_medium_is_read_again(client):
    request = IN_DOUBT | {"readings": [{"applied": 2, "ec_drainage": 5}]}
    answer = client.post("/v1/flush-plans/progress", json=request).json
    progress = answer["progress"]
    assert progress["held_back"] == "report_in_doubt"
    assert not ORDER.search(progress["sentence"])
    assert "reporting_slip" in {each["id"] for each in answer["warnings"]}
    read = request | {"readings": [{"applied": 2, "ec_drainage": 5}, {"ec_own": 3.5}]}
    assert "held_back" not in client.post("/v1/flush-plans/progress", json=read).json["progress"]


def test_media_side_by_side_tell_which_report_contradicts_itself(client):
    request = {name: IN_DOUBT[name] for name in ("water", "containers", "crops")}
    media = [{"name": "A", "medium": IN_DOUBT["medium"]}, {"name": "B", "medium": SOUND["medium"]}]
    answer = client.post("/v1/comparisons", json=request | {"media": media}).json
    doubted, sound = answer["comparison"]["matrix"]
    assert doubted["flush"][0]["water_per_container"] is None
    assert doubted["flush"][0]["held_back"] == "report_in_doubt"
    assert doubted["main_cause"]["verdict"] == "possible"
    assert sound["flush"][0]["water_per_container"]["value"] > 0
    assert sound["main_cause"]["verdict"] == "supported"
    fields = {each["id"]: each["field"] for each in answer["warnings"]}
    assert fields["reporting_slip"].startswith("/media/0/")


def row_of(client, request):
    sent = client.post(
        "/v1/assessments/batch",
        data=json.dumps(request) + "\n",
        headers={"Content-Type": "application/x-ndjson"},
    )
    return json.loads(sent.text.splitlines()[0])


@pytest.mark.parametrize(("request_", "why"), CASES)
def test_a_row_tells_why_it_has_no_litres(client, request_, why):
    row = row_of(client, request_)
    assert row["held_back"] == why
    assert "water_per_container [L]" not in row


def test_a_sound_report_is_acted_on(client):
    answer = client.post("/v1/assessments", json=SOUND).json
    assert [each["id"] for each in answer["summary"]["actions"]] == ["flush"]
    (plan,) = answer["flush_plan"]
    assert "held_back" not in plan
    assert plan["in_short"].startswith("Pour ")
    assert "held_back" not in row_of(client, SOUND)


def test_a_summary_alone_says_what_to_do_with_the_drainage(client):
    answer = client.post("/v1/assessments?parts=summary", json=SOUND).json
    assert "collect_drainage" in [each["id"] for each in answer["summary"]["cautions"]]
    doubted = client.post("/v1/assessments?parts=summary", json=IN_DOUBT).json["summary"]
    assert "collect_drainage" not in [each["id"] for each in doubted["cautions"]]


def test_who_asks_for_a_target_gets_the_plan(client):
    """Whoever names where to go has decided already."""
    answer = client.post("/v1/assessments", json=NOT_SHOWN | {"target_ec": 1.5}).json
    assert "held_back" not in answer["flush_plan"][0]


def test_a_row_tells_that_its_method_was_assumed(client):
    request = {"medium": {"ec": 1.4}, "crops": ["lettuce"], "containers": [10]}
    row = row_of(client, request)
    assert row["method_assumed"] == "saturated_media_extract"
    assert row["held_back"] == "method_not_given"
    told = client.post("/v1/assessments", json=request).json["summary"]["by_method"]
    ends = [each["ec_saturated_extract"] for each in told]
    assert row["ec_low [dS/m]"] == min(each.get("low", each["value"]) for each in ends)
    assert row["ec_high [dS/m]"] == max(each.get("high", each["value"]) for each in ends)
    given = request | {"medium": {"ec": 1.4, "extraction": "saturated_media_extract"}}
    assert "method_assumed" not in row_of(client, given)


def test_media_side_by_side_tell_that_a_method_was_assumed(client):
    media = [
        {"name": "A", "medium": {"ec": 1.4}},
        {"name": "B", "medium": {"ec": 1.4, "extraction": "one_to_two"}},
    ]
    answer = client.post("/v1/comparisons", json={"media": media, "crops": ["lettuce"]}).json
    open_, given = answer["comparison"]["matrix"]
    assert open_["ec_by_any_method"]["high"] > 3
    assert "ec_by_any_method" not in given
    assert "/media/0/medium/extraction" in {each["field"] for each in answer["warnings"]}


@pytest.mark.parametrize(
    ("containers", "told", "others"),
    [
        ([{"volume": 1}, {"volume": 200}], "1", "others"),
        ([{"volume": 1, "name": "pot"}], "pot", None),
        ([{"volume": 10}, {"volume": 20, "drainage": "sealed"}], "1", "sealed"),
        ([{"volume": 20, "drainage": "sealed", "name": "tub"}, {"volume": 10}], "tub", "sealed"),
    ],
)
def test_a_row_tells_which_container_it_tells_of(client, containers, told, others):
    request = {"medium": {"ec": 3, "extraction": "one_to_two"}, "containers": containers}
    row = row_of(client, request)
    assert row["container"] == told
    assert row.get("other_containers") == others


def test_an_ec_beyond_any_medium_waits_whatever_else_the_report_has_wrong(post):
    """One ion ten times too high explains the ions; the EC stays one of no medium."""
    ions = {
        "sodium": 480, "calcium": 1800, "magnesium": 5400, "potassium": 2160,
        "nitrate_n": 1440, "sulfate_s": 960, "chloride": 840, "ammonium_n": 48,
    }  # fmt: skip
    medium = {"extraction": "saturated_media_extract", "ec": 36, "ph": 6, "ions": ions}
    answer = post("/v1/assessments", {"medium": medium, "containers": [10], "crops": ["lettuce"]})
    assert {"unusual_ec", "reporting_slip"} <= {each["id"] for each in answer["warnings"]}
    assert not answer["summary"]["actions"]
    assert answer["flush_plan"][0]["held_back"] == "report_in_doubt"
