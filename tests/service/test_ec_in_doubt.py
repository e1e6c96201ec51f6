"""An EC that its own ions put in doubt ends in no all-clear, no plan and no other cause."""

import json

import pytest

IONS = {
    "nitrate_n": 150,
    "potassium": 250,
    "calcium": 180,
    "magnesium": 60,
    "sodium": 60,
    "chloride": 150,
    "sulfate_s": 115,
    "phosphorus": 20,
}
"""Of a medium of about 2.3 dS/m."""


def report(ec, **ions):
    medium = {
        "extraction": "saturated_media_extract",
        "ec": ec,
        "ph": 6.0,
        "ions": IONS | ions,
        "substrate": "sphagnum_peat",
    }
    return {
        "medium": medium,
        "crops": ["lettuce"],
        "containers": [{"volume": 10}],
        "water": {"ec": 0.4},
    }


def words(client, request):
    return client.post("/v1/assessments", json=request, headers={"Accept": "text/plain"}).get_data(
        as_text=True
    )


@pytest.mark.parametrize("ec", [0.0023, 0.23])
def test_an_ec_below_its_ions_is_no_all_clear(ec, client, post):
    request = report(ec)
    summary = post("/v1/assessments", request)["summary"]
    assert summary["contradiction"]
    assert summary["leading_cause"]["cause"] is None
    assert summary["leading_cause"]["verdict"] == "undetermined"
    assert summary["actions"] == []
    assert "worst_crop" not in summary
    told = words(client, request)
    assert "within the limit" not in told
    assert "flush" not in told
    assert "% of the salts" not in told


def test_sodium_is_held_against_what_the_ions_make(post):
    answer = post("/v1/assessments", report(0.03, sodium=300))
    of_ions = answer["ions"]["medium"]["ec_from_ions"]["value"]
    sodium = next(each for each in answer["nutrients"]["elements"] if each["nutrient"] == "sodium")
    assert sodium["share_of_salts"]["value"] == pytest.approx(300 / (700 * of_ions), rel=1e-3)


def test_an_ec_far_above_its_ions_gets_no_plan(post):
    summary = post("/v1/assessments", report(23.0))["summary"]
    assert summary["leading_cause"]["sentence"].startswith("If the figures are right")
    assert summary["actions"] == []
    assert "salt" not in summary


def test_an_ion_that_slipped_leaves_the_flush_but_not_the_salt(post):
    summary = post("/v1/assessments", report(2.3, nitrate_n=150 * 4.43))["summary"]
    assert summary["contradiction"]["id"] == "reporting_slip"
    assert [each["id"] for each in summary["actions"]] == ["flush"]
    assert "salt" not in summary


def test_a_sound_report_keeps_all_of_it(post):
    summary = post("/v1/assessments", report(2.3))["summary"]
    assert "contradiction" not in summary
    assert summary["salt"]["ion"] == "nitrate_n"
    assert [each["id"] for each in summary["actions"]] == ["flush"]


def test_a_batch_does_not_call_it_healthy_or_pour(client):
    lines = [json.dumps(report(ec)) for ec in (0.23, 2.3, 23.0)]
    answer = client.post(
        "/v1/assessments/batch", data="\n".join(lines), content_type="application/x-ndjson"
    )
    low, sound, high = [json.loads(line) for line in answer.get_data(as_text=True).splitlines()][:3]
    assert low["verdict"] == "undetermined"
    assert low["next_check"] == "ec_reading"
    assert "first_cause" not in low
    assert sound["water_per_container [L]"] > 5
    assert "water_per_container [L]" not in high
