"""What holds a grown plant is not tipped out or mixed: it is drilled, or the plant repotted."""

import pytest


def options(post, crop, volume, stage="established", ec=2.5, extraction="one_to_two", water=0.6):
    request = {
        "medium": {"extraction": extraction, "ec": ec},
        "water": {"ec": water},
        "containers": [{"volume": volume, "drainage": "sealed"}],
        "crops": [{"crop": crop, "stage": stage}],
    }
    answer = post("/v1/assessments", request)
    actions = [each["id"] for each in answer["summary"]["actions"]]
    told = {each["id"]: each for each in answer["flush_plan"][0]["options"]}
    return actions, told


@pytest.mark.parametrize(
    ("crop", "volume", "more"),
    [
        ("lemon", "60 L", {}),
        ("lemon", "10 L", {}),
        ("tomato", "30 L", {}),
        ("tomato", "30 L", {"ec": 6, "extraction": "saturated_media_extract"}),
    ],
)
def test_grown_plants_are_drilled_or_repotted(post, crop, volume, more):
    actions, told = options(post, crop, volume, **more)
    assert actions[0] in {"drill_holes", "replace"}
    assert "flush_elsewhere" not in told
    assert told["replace"]["sentence"].startswith("Repot the plant")
    assert list(told)[-1] == "blend" or "blend" not in told


def test_a_medium_of_seedlings_is_tipped_out(post):
    _, told = options(post, "tomato", "10 L", stage="seedling", ec=1.2)
    assert "flush_elsewhere" in told
    assert told["replace"]["sentence"].startswith("Replace the medium")
