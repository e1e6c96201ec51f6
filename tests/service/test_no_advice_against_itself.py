"""A check or a plan never does what the same answer forbids."""

import pytest

from tests.service.test_do_and_do_not import MANURE

WARMING = "warm_half_the_pots"
COLLAPSED = {
    "medium": {"extraction": "one_to_two", "ec": 2.5, "ph": 6.0},
    "water": {"ec": 0.4},
    "containers": [{"volume": "3 L", "height": "5 cm", "drainage": "open"}],
    "crops": [{"crop": "tomato", "stage": "seedling"}],
    "observations": ["stem_collapse_at_soil_line", "deaths_in_spreading_patches"],
}


def sme(ph):
    return {
        "medium": {
            "extraction": "saturated_media_extract",
            "ec": 2,
            "ph": ph,
            "ions": {"ammonium_n": "120 mg/L"},
        },
        "crops": [{"crop": "cucumber", "stage": "seedling"}],
    }


def checks(answer):
    causes = answer["causes"]
    asked = [causes["next_check"], *causes.get("other_checks", [])]
    settled = [each["settled_by"]["check"] for each in causes["ranked"] if "settled_by" in each]
    return {each["id"] for each in asked if each} | set(settled)


@pytest.mark.parametrize("request_", [sme(8.3), MANURE])
def test_where_ammonia_is_free_no_check_warms_the_medium(post, request_):
    answer = post("/v1/assessments?causes=all", request_)
    assert WARMING not in checks(answer)


def test_ammonium_that_stays_bound_may_be_warmed(post):
    answer = post("/v1/assessments?causes=all", sme(6.0))
    assert WARMING in checks(answer)


@pytest.mark.parametrize("ec", [2.5, 1.2])
def test_collapsing_seedlings_are_sown_again_and_not_flushed(post, ec):
    medium = COLLAPSED["medium"] | {"ec": ec}
    summary = post("/v1/assessments", COLLAPSED | {"medium": medium})["summary"]
    (action,) = summary["actions"]
    assert action["id"] == "remedy_damping_off"
    assert "Do not flush or feed these plants" in action["sentence"]


def test_collapsing_seedlings_within_their_limit_are_not_told_of_salt(post):
    medium = COLLAPSED["medium"] | {"ec": 0.5}
    (action,) = post("/v1/assessments", COLLAPSED | {"medium": medium})["summary"]["actions"]
    assert action["id"] == "remedy_damping_off"
    assert "salt" not in action["sentence"]


def test_salt_alone_is_flushed(post):
    request = COLLAPSED | {"observations": ["died_at_first_true_leaves"]}
    assert [each["id"] for each in post("/v1/assessments", request)["summary"]["actions"]] == [
        "flush"
    ]
