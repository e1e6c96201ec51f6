"""A way that leads is told as fully as a flush in place: rests, pots to read, and what if not."""

import re

import pytest

PRESS = {
    "medium": {"extraction": "press", "ec": 9, "substrate": "sphagnum_peat"},
    "water": {"ec": 1.4},
    "containers": [{"volume": 5, "height": 18, "count": 40}],
    "crops": [{"crop": "strawberry", "stage": "established"}],
}
SEALED = {
    "medium": {"extraction": "saturated_media_extract", "ec": 5, "substrate": "sphagnum_peat"},
    "target_ec": 2.5,
    "water": {"ec": 0.5},
    "containers": [{"volume": 10, "height": 20, "drainage": "sealed"}],
}


@pytest.mark.parametrize(
    ("request_", "ways"),
    [(PRESS, {"better_water"}), (SEALED, {"flush_elsewhere", "drill_holes"})],
    ids=["better water", "sealed"],
)
def test_each_way_of_flushing_says_how_it_ends(post, request_, ways):
    plan = post("/v1/flush-plans", request_)["flush_plan"][0]
    told = {each["id"]: each for each in plan["options"] if each["id"] in ways}
    assert set(told) == ways
    for way in told.values():
        assert re.search("If one reads more|if one reads more", way["sentence"])
        assert "Read 3 of them" in way["sentence"]
    for way in (each for each in told.values() if "plan" in each):
        passes, rest = way["plan"]["passes"], way["plan"]["rest"]["value"]
        if rest and passes <= 12:  # else in the words on the dripper
            assert f"with {rest:.0f} minutes between" in way["sentence"]
        assert ("L/h" in way["sentence"]) == (passes > 12)


def test_why_there_is_no_flush_tells_what_was_asked(post):
    plan = post("/v1/flush-plans", PRESS)["flush_plan"][0]
    if "such containers to the target" in plan["sentence"]:
        assert "where 9 in 10 are asked for" in plan["sentence"]
