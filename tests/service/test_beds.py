"""A bed is leached over all of its surface, by depth, and not by one dripper."""

import pytest

CLAY = {"extraction": "saturated_paste", "ec": 6, "substrate": "clay"}


def asked(volume, height, **changes):
    container = {"volume": volume, "height": height}
    return {"medium": CLAY, "crops": [{"crop": "bean"}], "containers": [container]} | changes


@pytest.mark.parametrize(
    ("volume", "height", "area"),
    [("2 m3", "30 cm", 6.667), ("1.2 m3", "30 cm", 4.0), ("400 L", "30 cm", 1.333)],
)
def test_a_bed_is_watered_over_all_of_it(post, volume, height, area):
    answer = post("/v1/assessments", asked(volume, height))
    [plan] = answer["flush_plan"]
    assert plan["pouring"]["means"] == "sprinkler"
    litres, depth = plan["applied_each"]["value"], plan["pouring"]["depth_a_pass"]["value"]
    assert depth == pytest.approx(litres / area, rel=0.01)
    said = " ".join(each["sentence"] for each in answer["summary"]["actions"])
    assert "dripper" not in said
    assert "mm" in said


@pytest.mark.parametrize(("volume", "height"), [("60 L", "30 cm"), ("250 L", "50 cm")])
def test_a_tub_is_not_a_bed(post, volume, height):
    [plan] = post("/v1/assessments", asked(volume, height))["flush_plan"]
    assert plan["pouring"]["means"] == "can"


def test_what_was_told_governs(post):
    [plan] = post("/v1/assessments", asked("2 m3", "30 cm", means={"by": "hose"}))["flush_plan"]
    assert plan["pouring"]["means"] == "hose"
