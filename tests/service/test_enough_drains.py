"""What drains is called enough only where such containers stay under their limit."""

import pytest


def asked(water, crop, **more):
    return {
        "medium": {
            "extraction": "saturated_media_extract", "ec": 0.8, "substrate": "sphagnum_peat",
        },
        "water": {"ec": water},
        "containers": [{"volume": 10, "height": 20}],
        "crops": [{"crop": crop, "stage": "established"}],
        **more,
    }  # fmt: skip


def test_water_that_is_about_to_cross_the_limit_is_not_called_enough(post):
    answer = post("/v1/assessments", asked(6, "beet", irrigation=20))
    told = answer["upkeep"][0]["sentence"]
    assert "it goes above the limit" in told
    assert "Enough drains" not in told
    assert "hardly enough" in told
    assert "salt_builds_up" in {each["id"] for each in answer["warnings"]}


@pytest.mark.parametrize(
    "request_", [asked(4, "tomato", irrigation=20), asked(2, "beet")], ids=["tomato", "beet"]
)
def test_nor_water_with_which_many_containers_cross_it(post, request_):
    told = post("/v1/assessments", request_)["upkeep"][0]["sentence"]
    assert "of such containers do" in told or "it goes above" in told
    assert "Enough drains" not in told


def test_the_short_words_tell_what_comes(client):
    answer = client.post(
        "/v1/assessments", json=asked(6, "beet", irrigation=20), headers={"Accept": "text/plain"}
    )
    assert "goes above its limit" in " ".join(answer.text.split())


@pytest.mark.parametrize("water", [0.1, 0.5])
def test_weak_water_is_enough(post, water):
    answer = post("/v1/assessments", asked(water, "beet"))
    assert "Enough drains" in answer["upkeep"][0]["sentence"]
    assert "salt_builds_up" not in {each["id"] for each in answer["warnings"]}
