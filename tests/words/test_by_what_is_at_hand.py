"""What the water is poured with changes what a grower is told to do with it."""

import pytest

from saltcalc.words.text import as_text, short

ASKED = {
    "crops": [{"crop": "lettuce", "stage": "established"}],
    "medium": {"extraction": "one_to_two", "ec": 1.1, "substrate": "sphagnum_peat"},
    "containers": [{"volume": "5 L", "height": "20 cm", "head_space": "4 cm"}],
    "water": {"ec": 0.2},
}

TOLD = [
    ({"by": "can"}, "Pour 1 L at a time and let it drain."),
    ({"by": "hose", "flow": "12 L/min"}, "Hold the hose on each for 5 seconds at a time (1 L)"),
    ({"by": "hose"}, "Time how long the hose takes to fill a bucket of 10 L: 1 L takes 10 %"),
    ({"by": "dripper"}, "Run the drippers for 45 minutes (4 L/h in each container)."),
    ({"by": "dripper", "flow": "4 L/h", "drippers": 2}, "for 22 minutes (8 L/h"),
    ({"by": "boom"}, "Water overhead, 40 mm at a time, and let it drain."),
    ({"by": "boom", "run_depth": "6 mm"}, "That is 6 runs of the boom each time."),
    ({"by": "rain"}, "of rain fall on each container"),
]


def _said(request, post):
    answer = post("/v1/assessments", request)
    return answer, " ".join(as_text(short(answer)).split())


@pytest.mark.parametrize(("means", "told"), TOLD, ids=[str(each) for each, _ in TOLD])
def test_each_means_is_told_in_its_own_way(means, told, post):
    answer, text = _said({**ASKED, "means": means}, post)
    assert told in text
    others = [each for other, each in TOLD if other["by"] != means["by"]]
    assert not [each for each in others if each in text and "Pour 1 L" not in each]
    if means["by"] != "rain":
        assert answer["flush_plan"][0]["pouring"]["sentence"] in text


def test_the_plan_in_full_tells_how_to_time_a_hose_of_no_known_flow(post):
    def plan(**means):
        answer, _ = _said({**ASKED, "means": {"by": "hose", **means}}, post)
        return answer["flush_plan"][0]["sentence"]

    assert "Time how long the hose takes" in plan()
    assert "Time how long" not in plan(flow="12 L/min")


def test_no_way_to_pour_is_told_where_nothing_is_poured(post):
    healthy = {**ASKED, "medium": {**ASKED["medium"], "ec": 0.5}, "means": {"by": "hose"}}
    _, text = _said(healthy, post)
    assert "hose" not in text
    assert "Pour" not in text
