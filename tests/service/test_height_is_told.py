"""How high a medium stands is told as assumed wherever a reading is brought over by it."""

import pytest

PRESS = {"extraction": "press", "ec": 3, "substrate": "pine_bark"}


def assumed(client, path, request):
    answer = client.post(path, json=request)
    assert answer.status_code == 200, answer.text
    return {each["id"]: each for each in answer.json["assumptions"]}


@pytest.mark.parametrize("method", ["press", "one_to_one_and_half"])
def test_a_conversion_tells_the_height_that_it_takes(client, method):
    request = PRESS | {"extraction": method, "to": "saturated_media_extract"}
    found = assumed(client, "/v1/conductivity/convert", request)["reference_height"]
    assert found["value"] == {"value": 15, "unit": "cm"}
    assert found["field"] == "/container_capacity"
    given = request | {"container_capacity": 0.5}
    assert "reference_height" not in assumed(client, "/v1/conductivity/convert", given)


@pytest.mark.parametrize(
    ("method", "to"),
    [("press", "one_to_one_and_half"), ("one_to_two", "saturated_media_extract")],
)
def test_a_conversion_that_takes_none_tells_none(client, method, to):
    request = PRESS | {"extraction": method, "to": to}
    assert "reference_height" not in assumed(client, "/v1/conductivity/convert", request)


def test_a_ranking_and_media_side_by_side_tell_it_too(client):
    ranked = assumed(client, "/v1/crops/ranking", {"medium": PRESS, "stage": "seedling"})
    assert ranked["reference_height"]["field"] == "/medium/container_capacity"
    media = [{"name": name, "medium": PRESS} for name in "AB"]
    pots = [{"volume": 10, "height": 15}, {"volume": 10, "height": 40}]
    request = {"media": media, "crops": ["lettuce"]}
    assert "reference_height" in assumed(client, "/v1/comparisons", request)
    unlike = assumed(client, "/v1/comparisons", request | {"containers": pots})
    assert unlike["mean_height"]["value"]["value"] == 27.5
    assert "reference_height" not in unlike
