"""Crops that no table has stay apart, in whatever script they are written."""

import pytest

NAMES = ["空心菜", "小白菜", "ผักชี", "Кинза", "كزبرة"]


def test_names_beyond_latin_letters_are_crops_of_their_own(client):
    request = {"medium": {"extraction": "one_to_two", "ec": 1.4}, "crops": NAMES}
    rows = client.post("/v1/assessments", json=request).json["crops"]
    assert [row["name"] for row in rows] == NAMES
    assert [row["crop"] for row in rows] == [name.casefold() for name in NAMES]


@pytest.mark.parametrize("other", ["КИНЗА", " кинза ", "Кинза"])
def test_one_name_written_otherwise_is_one_crop(client, other):
    medium = {"extraction": "one_to_two", "ec": 1.4}
    media = [
        {"name": "A", "medium": medium, "outcomes": [{"crop": other, "outcome": "died"}]},
        {"name": "B", "medium": medium, "outcomes": [{"crop": "кинза", "outcome": "thrived"}]},
    ]
    answer = client.post("/v1/comparisons", json={"media": media, "crops": ["Кинза"]})
    assert answer.status_code == 200
    assert len(answer.json["comparison"]["matrix"][0]["crops"]) == 1


def test_a_trial_of_such_crops_is_read(client):
    grown = [
        [{"crop": name, "outcome": outcome} for name, outcome in zip(NAMES, fared, strict=False)]
        for fared in (("died", "thrived"), ("thrived", "thrived"))
    ]
    media = [
        {"name": name, "medium": {"extraction": "one_to_two", "ec": ec}, "outcomes": outcomes}
        for name, ec, outcomes in zip("AB", (2, 1), grown, strict=True)
    ]
    answer = client.post("/v1/comparisons", json={"media": media, "crops": NAMES[:2]})
    assert answer.status_code == 200, answer.text
    found = answer.json["trial"]["tried"][0]["outcomes"]
    assert [each["crop"] for each in found] == NAMES[:2]
