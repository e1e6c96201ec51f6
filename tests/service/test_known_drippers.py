"""Drippers that are known are told how long to run, however few the passes."""

PETUNIA = {
    "medium": {"extraction": "pour_through", "ec": 6},
    "crops": [{"crop": "petunia", "stage": "established"}],
    "containers": [{"volume": "1.5 L"}],
}


def said(post, means):
    answer = post("/v1/assessments", PETUNIA | {"means": means})
    return next(e["sentence"] for e in answer["summary"]["actions"] if e["id"] == "flush")


def test_the_time_of_known_drippers_is_told(post):
    told = said(post, {"by": "dripper", "flow": "2 L/h"})
    assert "minutes" in told or "hours" in told
    assert "Pour" not in told.partition(".")[0]


def test_a_can_is_poured_from(post):
    assert said(post, {"by": "can"}).startswith("Pour")
