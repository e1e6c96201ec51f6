"""A crop that is told with "not" or "no" is none, and is not taken for that crop."""

import pytest

MEDIUM = {"extraction": "one_to_two", "ec": 2}


@pytest.mark.parametrize(
    "name",
    ["not tomato", "no lettuce", "keine Tomaten", "pas de laitue", "sin lechuga", "geen sla"],
)
def test_a_negated_crop_is_refused(client, name):
    answer = client.post("/v1/assessments", json={"medium": MEDIUM, "crops": [name]})
    assert answer.status_code == 422
    (fault,) = answer.json["errors"]
    assert fault["value"] == name
    assert "not grown" in fault["detail"]


@pytest.mark.parametrize("name", ["tomato", "non-heading lettuce", "Tomate", "laitue"])
def test_a_crop_is_taken(client, name):
    answer = client.post("/v1/assessments", json={"medium": MEDIUM, "crops": [name]})
    assert answer.status_code == 200
