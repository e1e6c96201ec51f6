"""A rested reading is held against the first one and the water poured since."""

import re

import pytest

MEDIUM = {
    "medium": {"extraction": "one_to_two", "ec": 1.5},
    "target_ec": 0.6,
    "containers": [{"volume": 5}],
}
NEXT_DAY = 1500


def progress(post, *readings, **changes):
    return post("/v1/flush-plans/progress", MEDIUM | changes | {"readings": list(readings)})


def told(answer):
    return {each["id"]: each for each in answer["warnings"] if each["id"].startswith("readings_")}


@pytest.mark.parametrize(
    "readings",
    [
        pytest.param([{"ec_own": 0.5}], id="nothing poured"),
        pytest.param([{"ec_own": 3.2}], id="nothing poured, and it rose"),
        pytest.param(
            [{"applied": "1 L"}, {"ec_own": 0.5, "minutes_after": NEXT_DAY}], id="too little poured"
        ),
    ],
)
def test_what_no_water_explains_is_read_again_before_it_counts(post, readings):
    answer = progress(post, *readings)
    assert answer["progress"]["verdict"] == "measure_again"
    finding = told(answer)["readings_unlike_medium"]
    assert finding["field"] == f"/readings/{len(readings) - 1}/ec_own"


def test_a_medium_that_water_did_not_bring_down_is_not_poured_on(post):
    answer = progress(post, {"applied": "4 L"}, {"ec_own": 1.45, "minutes_after": NEXT_DAY})
    assert answer["progress"]["verdict"] == "stop_unmoved"
    assert answer["progress"]["pour_now"]["value"] == 0
    assert answer["progress"]["options"]
    assert set(told(answer)) == {"readings_unmoved"}


@pytest.mark.parametrize(
    ("readings", "verdict"),
    [
        pytest.param([{"ec_own": 1.4}], "go_on", id="nothing poured, nothing changed"),
        pytest.param(
            [{"applied": "4 L"}, {"ec_own": 0.9, "minutes_after": NEXT_DAY}],
            "go_on",
            id="on its way",
        ),
        pytest.param(
            [{"applied": "5 L"}, {"ec_own": 0.5, "minutes_after": NEXT_DAY}], "done", id="there"
        ),
        pytest.param(
            [{"applied": "0.5 L"}, {"ec_own": 1.45, "minutes_after": NEXT_DAY}],
            "go_on",
            id="too little water to show",
        ),
        pytest.param(
            [{"applied": "4 L"}, {"ec_own": 1.45, "minutes_after": 60}], "go_on", id="not rested"
        ),
    ],
)
def test_readings_that_fit_are_believed(post, readings, verdict):
    answer = progress(post, *readings)
    assert answer["progress"]["verdict"] == verdict
    assert not set(told(answer)) & {"readings_unlike_medium", "readings_unmoved"}


def test_a_least_value_may_have_fallen_unseen(post):
    """Of the medium only nitrate is known: its EC is at least that, so 'no lower' says nothing."""
    medium = {"extraction": "one_to_two", "ions": {"nitrate_n": 100}}
    readings = [{"applied": "4 L"}, {"ec_own": 0.75, "minutes_after": NEXT_DAY}]
    answer = progress(post, *readings, medium=medium, target_ec=0.3)
    assert "readings_unmoved" not in told(answer)


@pytest.mark.parametrize("read", [(0.5, 0.5, 0.7), (0.7, 0.5, 0.5), (0.5, 0.7, 0.5)])
def test_one_pot_above_the_figure_is_more_water_for_all(post, read):
    check = [{"ec_own": each, "minutes_after": NEXT_DAY} for each in read]
    alone = progress(post, {"applied": "6 L"}, {"ec_own": 0.7, "minutes_after": NEXT_DAY})
    told = progress(post, {"applied": "6 L"}, *check)["progress"]
    assert told["verdict"] == "go_on"
    assert told["pour_now"]["value"] == alone["progress"]["pour_now"]["value"] > 0


@pytest.mark.parametrize("between", [[], [{"applied": "2 L", "minutes_after": NEXT_DAY + 60}]])
def test_a_check_of_before_does_not_count_against_the_next(post, between):
    first, last = {"ec_own": 0.7, "minutes_after": NEXT_DAY}, {"minutes_after": 2 * NEXT_DAY}
    answer = progress(post, {"applied": "6 L"}, first, *between, last | {"ec_own": 0.5})
    assert answer["progress"]["verdict"] == "done"


def test_a_reading_as_low_as_the_figure_that_was_told_meets_it(post):
    plan = post("/v1/flush-plans", MEDIUM)["flush_plan"][0]
    figure = float(re.search(r"every reading is ([\d.]+) dS/m or less", plan["sentence"])[1])
    poured = {"applied": plan["water_per_container"]["value"]}
    told, above = (
        progress(post, poured, {"ec_own": read, "minutes_after": NEXT_DAY})["progress"]
        for read in (figure, figure + 0.02)
    )
    assert told["verdict"] == "done"
    assert above["verdict"] == "go_on"


@pytest.mark.parametrize("ec", [1.6, 1.7, 1.8, 1.9, 2.0, 2.1])
def test_what_is_told_is_met_whichever_way_it_was_rounded(post, ec):
    changed = {"target_ec": ec / 2, "medium": MEDIUM["medium"] | {"ec": 2 * ec}}
    plan = post("/v1/flush-plans", MEDIUM | changed)["flush_plan"][0]
    figure = float(re.search(r"every reading is ([\d.]+) dS/m or less", plan["sentence"])[1])
    check = {"ec_own": figure, "minutes_after": NEXT_DAY}
    answer = progress(post, {"applied": plan["water_per_container"]["value"]}, check, **changed)
    assert answer["progress"]["verdict"] == "done"


def test_other_ways_are_of_the_medium_as_it_is_now(post):
    first = {"applied": "4 L"}
    stuck = progress(post, first, {"ec_own": 1.45, "minutes_after": NEXT_DAY})["progress"]
    assert stuck["verdict"] == "stop_unmoved"
    before = {each["id"]: each for each in other_ways(post, 1.5)}
    saltier = {each["id"]: each for each in other_ways(post, 3)}
    now = {each["id"]: each for each in stuck["options"]}
    share = [ways["blend"]["salty_fraction"]["value"] for ways in (now, before, saltier)]
    assert share[2] < share[1] < share[0]


def other_ways(post, ec):
    """Ways out of a medium of an EC in a vessel that cannot drain."""
    sealed = {"containers": [{"volume": 5, "drainage": "none"}]}
    medium = MEDIUM["medium"] | {"ec": ec}
    return post("/v1/flush-plans", MEDIUM | sealed | {"medium": medium})["flush_plan"][0]["options"]


@pytest.mark.parametrize(
    ("means", "words"),
    [
        ({"by": "can"}, r"Pour [\d.]+ L more"),
        ({"by": "dripper"}, r"Run the drippers for [\d.]+ (minutes|hours) more"),
        ({"by": "rain"}, r"Let [\d.]+ mm more of rain fall"),
        ({"by": "boom"}, r"Bring [\d.]+ mm more over them"),
    ],
)
def test_more_water_is_told_by_what_is_at_hand(post, means, words):
    answer = progress(post, {"applied": "1 L", "ec_drainage": 5}, means=means)
    assert answer["progress"]["verdict"] == "go_on"
    assert re.search(words, answer["progress"]["sentence"])
    assert ("pass" in answer["progress"]["sentence"]) is (means["by"] != "rain")


def test_the_reading_now_is_by_the_method_of_the_check(post):
    told = progress(post, {"applied": "1 L", "ec_drainage": 5})["progress"]
    pores, own = told["ec_medium"], told["reading_now"]
    ratio = told["target_pore_water"]["value"] / MEDIUM["target_ec"]
    for end in ("value", "low", "high"):
        assert pores[end] / own[end] == pytest.approx(ratio, rel=1e-3)
    assert f"about {own['value']:.2g} dS/m by your method" in told["sentence"]
