"""One crop stalls and another thrives in the same medium: what that says of salt.

Thresholds: French bean 1.0, beetroot 4.0, cucumber 2.5, carrot 1.0 dS/m (Maas & Hoffman 1977).
"""

import itertools

import pytest


def request_of(ec=None, crops=("bean", "beetroot"), thriving=("beetroot",), **more):
    medium = {"extraction": "saturated_media_extract", **more}
    if ec is not None:
        medium["ec"] = ec
    return {
        "medium": medium,
        "crops": [{"crop": crop, "stage": "seedling"} for crop in crops],
        "thriving_crops": list(thriving),
        "observations": ["stalled_at_first_leaves"],
        "containers": [{"volume": "10 L"}],
    }


def rules_met(answer):
    salt = next(each for each in answer["causes"]["ranked"] if each["cause"] == "total_salts")
    return [each["sentence"] for each in salt.get("evidence_for", [])]


NITRATE = {"nitrate_n": 210}
"""Nitrate alone: 1.5 dS/m at least."""


@pytest.mark.parametrize(
    ("ec", "order"),
    list(itertools.product([None, 1.8], [("bean", "beetroot"), ("beetroot", "bean")])),
)
def test_the_first_sentence_tells_that_salt_parts_the_crops(post, ec, order):
    answer = post("/v1/assessments", request_of(ec, order, ions=NITRATE))
    first = answer["summary"]["leading_cause"]
    assert (first["cause"], first["verdict"]) == ("total_salts", "supported")
    told = "at least 1.6 dS/m" if ec is None else "the EC is 1.8 dS/m"
    for words in ("too salty for bean", told, "above the 1 that", "red beet", " 4.", "nitrate"):
        assert words in first["sentence"]
    assert answer["summary"]["worst_crop"]["crop"] == "bean"
    verdicts = {crop["crop"]: crop["verdict"] for crop in answer["crops"]}
    assert verdicts == {"bean": "reduced", "beet_red": "tolerant"}
    said = str(answer["summary"]) + str(answer["flush_plan"]) + str(answer["warnings"])
    said = said.replace("grow a crop that tolerates it", "")
    for wrong in ("tolerates it", "at its target", "reporting_slip", "within the limit"):
        assert wrong not in said


def test_a_floor_below_both_is_silent(post):
    answer = post("/v1/assessments", request_of(ions={"nitrate_n": 60}))
    first = answer["summary"]["leading_cause"]
    assert first["cause"] != "total_salts"
    assert "not the problem" not in first["sentence"]
    assert answer["salinity"]["class"] is None
    assert "worst_crop" not in answer["summary"]
    assert answer["upkeep"] is None
    assert "at its target" not in str(answer["flush_plan"])
    assert {crop["crop"]: crop["verdict"] for crop in answer["crops"]}["bean"] == "undetermined"


def test_a_reading_below_both_speaks_against_salt(post):
    answer = post("/v1/assessments?causes=all", request_of(0.9))
    salt = next(each for each in answer["causes"]["ranked"] if each["cause"] == "total_salts")
    assert salt["verdict"] == "unlikely"
    assert any("both crops tolerate it" in each["sentence"] for each in salt["evidence_against"])


def test_a_reading_above_both_speaks_against_salt(post):
    request = request_of(4.3, ("carrot", "cucumber"), ("cucumber",))
    answer = post("/v1/assessments?causes=all", request)
    salt = next(each for each in answer["causes"]["ranked"] if each["cause"] == "total_salts")
    assert any("yet it thrives" in each["sentence"] for each in salt["evidence_against"])
    assert "tolerates 2.5" not in answer["summary"]["leading_cause"]["sentence"]


def test_an_interval_across_a_threshold_says_nothing_of_the_contrast(post):
    request = request_of(0.45)
    request["medium"]["extraction"] = "one_to_two"
    answer = post("/v1/assessments?causes=all", request)
    assert not any("hardier" in each or "within what" in each for each in rules_met(answer))


def test_an_ec_worked_out_from_the_ions_is_told_as_an_estimate(post):
    ions = {
        "nitrate_n": 80, "calcium": 90, "magnesium": 35, "potassium": 110, "sodium": 30,
        "chloride": 40, "sulfate_s": 60, "bicarbonate": 60,
    }  # fmt: skip
    summary = post("/v1/assessments", request_of(ions=ions, ph=6.1))["summary"]
    assert "the EC is about 1.3 dS/m" in summary["leading_cause"]["sentence"]
    assert summary["caveat"]["id"] == "ec_is_estimated"
    read = post("/v1/assessments", request_of(1.3, ions=ions, ph=6.1))["summary"]
    assert "caveat" not in read


def test_a_rating_without_a_figure_shows_no_loss_beyond_a_doubt(post):
    # Parsnip is rated sensitive, and has no threshold (Maas & Hoffman 1977).
    request = {
        "medium": {"extraction": "saturated_media_extract", "ec": 3.2},
        "crops": [{"crop": "parsnip", "stage": "established"}],
    }
    (salt,) = post("/v1/assessments", request)["causes"]["ranked"]
    assert (salt["cause"], salt["verdict"]) == ("total_salts", "possible")
