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


def words_of(client, medium, **rest):
    request = {
        "medium": {"substrate": "coir_fibrous"} | medium,
        "water": {"ec": 0.3},
        "containers": [{"volume": 8, "height": 10, "drainage": "open"}],
        "crops": [{"crop": "strawberry", "stage": "established"}],
    } | rest
    reply = client.post("/v1/assessments", json=request, headers={"Accept": "text/plain"})
    return " ".join(reply.get_data(as_text=True).split())


def test_no_salt_comes_back_where_there_is_none(client):
    fed = {"feed_ec": 1.2, "feeding": "liquid_feed"}
    healthy = words_of(client, {"extraction": "press", "ec": 1.8}, **fed)
    assert "comes back" not in healthy
    assert "Feed more weakly" not in healthy
    salty = words_of(client, {"extraction": "press", "ec": 5.0}, **fed)
    assert "Feed more weakly" in salty


def test_nobody_is_told_to_feed_more_weakly_who_gives_no_feed(client):
    compost = {
        "extraction": "one_to_five",
        "ec": 3.2,
        "substrate": "manure_compost",
    }
    told = words_of(client, compost, slow_release="fresh_compost")
    assert "Feed more weakly" not in told
