"""A reading just above a limit, and the ion that leads: what an adviser would sign.

Healthy media first. French bean tolerates 1.0 dS/m (Maas & Hoffman 1977).
"""

import pytest


def request_of(ec, crop="bean", signs=(), **more):
    return {
        "medium": {"extraction": "saturated_media_extract", "ec": ec, "ph": 6.1},
        "crops": [{"crop": crop, "stage": "seedling"}],
        "observations": list(signs),
        "containers": [{"volume": "10 L", "height": "25 cm", "drainage": "open"}],
        **more,
    }


def plan_of(answer):
    (plan,) = answer["flush_plan"]
    return plan


@pytest.mark.parametrize("ec", [0.8, 0.95, 1.0])
def test_within_the_limit_nothing_is_poured(post, ec):
    answer = post("/v1/assessments", request_of(ec))
    assert plan_of(answer)["passes"] == 0
    assert answer["summary"]["actions"] == []


@pytest.mark.parametrize(
    ("ec", "signs"), [(1.03, ()), (1.08, ()), (1.05, ("stalled_at_first_leaves",))]
)
def test_just_above_the_limit_is_measured_again_and_not_flushed(post, ec, signs):
    answer = post("/v1/assessments", request_of(ec, signs=signs))
    assert plan_of(answer)["passes"] == 0
    assert "measure again" in plan_of(answer)["sentence"]
    assert "flush" not in [each["id"] for each in answer["summary"]["actions"]]


@pytest.mark.parametrize(
    ("ec", "signs", "more"),
    [
        (1.2, (), {}),
        (1.05, ("marginal_burn", "white_crust_when_dry"), {}),
        (1.05, (), {"target_ec": 0.9}),
    ],
)
def test_more_than_that_a_sign_of_salt_or_a_target_of_ones_own_is_flushed(post, ec, signs, more):
    request = request_of(ec, signs=signs, water={"ec": 0.1}, **more)
    assert plan_of(post("/v1/assessments", request))["passes"] > 0


def test_the_ion_that_leads_is_named_once(post, client):
    for ec in (None, 2.1):
        request = request_of(ec, signs=["stalled_at_first_leaves"], thriving_crops=["beetroot"])
        request["medium"]["ions"] = {"nitrate_n": 230}
        if ec is None:
            del request["medium"]["ec"]
        answer = post("/v1/assessments", request)
        summary = answer["summary"]
        said = [summary["leading_cause"]["sentence"], summary["salt"].get("sentence", "")]
        assert sum(text.count("nitrate nitrogen") for text in said) == 1


def test_an_ion_of_a_partial_report_does_not_make_all_of_the_reading(post):
    request = request_of(2.1)
    request["medium"]["ions"] = {"nitrate_n": 230}
    salt = post("/v1/assessments", request)["summary"]["salt"]
    # Nitrate carries about half of the conductance of its salts.
    assert 0.4 < salt["share_of_ec"]["value"] < 0.6


def test_a_floor_above_the_limit_tells_the_least_litres_of_a_flush(client):
    request = request_of(None, signs=["stalled_at_first_leaves"], thriving_crops=["beetroot"])
    request["medium"] = {"extraction": "saturated_media_extract", "ions": {"nitrate_n": 230}}
    short = client.post("/v1/assessments", json=request, headers={"Accept": "text/plain"})
    assert "at least" in short.text
    assert "Measure the EC for the plan" in " ".join(short.text.split())


def test_a_retest_just_above_is_measured_again(post):
    previous = {"extraction": "saturated_media_extract", "ec": 2.6, "applied": "20 L"}
    retest = post("/v1/assessments", request_of(1.06, previous=previous))["summary"]["retest"]
    assert retest["next_step"] == "measure_again"
    assert "Give the containers" not in retest["sentence"]
