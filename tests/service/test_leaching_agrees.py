"""The leaching fraction is judged by the leaching requirement of the same containers."""

import pytest


def asked(height, water=0.9):
    return {
        "medium": {"extraction": "saturated_media_extract", "ec": 1, "substrate": "sphagnum_peat"},
        "water": {"ec": water},
        "crops": [{"crop": "bean", "stage": "established"}],
        "containers": [{"volume": 20, "height": height}],
    }


def fraction_of(post, request, drained):
    pots = [{"applied": 1.0, "collected": drained}]
    return post("/v1/leaching-fraction", request | {"pots": pots})


@pytest.mark.parametrize("height", [10, 30, 45])
def test_what_the_requirement_asks_for_is_enough_as_a_fraction(post, height):
    request = asked(height)
    [needed] = post("/v1/leaching-requirement", request)["leaching"]
    share = needed["requirement"]["value"]
    judged = fraction_of(post, request, min(share + 0.005, 1.0))
    assert judged["needed"]["value"] == pytest.approx(share, rel=1e-6)
    assert judged["verdict"] == "fits"


def test_without_containers_the_height_that_is_taken_is_told(post):
    request = {name: part for name, part in asked(30).items() if name != "containers"}
    told = {each["id"]: each for each in fraction_of(post, request, 0.2)["assumptions"]}
    assert told["reference_height"]["value"]["value"] == 15
    told = {each["id"] for each in fraction_of(post, asked(30), 0.2)["assumptions"]}
    assert "reference_height" not in told


def test_less_than_is_needed_is_not_called_enough(post):
    request = asked(30)
    needed = 100 * fraction_of(post, request, 0.2)["needed"]["value"]
    hardly = fraction_of(post, request, needed / 100 - 0.02)["sentence"]
    assert "which is enough" not in hardly
    assert "hardly enough" in hardly
    assert "which is enough" in fraction_of(post, request, needed / 100 + 0.02)["sentence"]
