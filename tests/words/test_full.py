import json
import re

import pytest

from saltcalc.words.text import full


@pytest.fixture
def told(post):
    """Post a request and return the answer in words, block by block."""

    def tell(request):
        text = full(post("/v1/assessments", request))
        whole = re.sub(r"\n {4,}(?=\S)", " ", text)  # lines that were wrapped
        blocks = (block.splitlines() for block in whole.split("\n\n"))
        return {title: lines for title, *lines in blocks}

    return tell


def test_it_starts_with_what_matters_in_a_few_lines(told, demo_request):
    blocks = told(demo_request)
    assert next(iter(blocks)) == "In short"
    short = blocks["In short"]
    assert len(short) <= 7
    said = " ".join(short)
    for word in (
        "too salty (strong evidence)",
        "nitrate",
        "times the limit of bean (seedling)",
        "that lasts for 2 weeks",
        "cress",
    ):
        assert word in said


def test_a_fine_medium_says_that_nothing_explains_it(told):
    blocks = told({"medium": {"extraction": "saturated_media_extract", "ec": 1.5, "ph": 6.0}})
    first = blocks["In short"][0].strip()
    assert first == "No figure is out of range. Nothing to correct now."
    assert "Find out next" not in blocks
    stalled = told(
        {
            "medium": {"extraction": "saturated_media_extract", "ec": 1.5, "ph": 6.0},
            "observations": ["stalled_at_first_leaves"],
        }
    )
    assert "If you find" in " ".join(stalled["Find out next"])


def test_no_ids_and_no_empty_promises(told, demo_request):
    demo_request["medium"]["ph"] = 5.2
    text = json.dumps(told(demo_request))
    for raw in (
        "stop_feeding",
        "anions_missing",
        "dolomitic_lime",
        "ground_limestone",
        "see the warn",
    ):
        assert raw not in text
    assert "What usually helps" in text


def test_signs_alone_are_told(told):
    blocks = told({"medium": {}, "observations": ["marginal_burn"]})
    assert "may be too salty; that is not proven" in blocks["In short"][0]
    assert "read the EC" in blocks["Find out next"][0]


def test_what_to_do_follows_the_supported_cause(told):
    medium = {"extraction": "saturated_media_extract", "ec": 1.6, "ph": 6.2, "ions": {"boron": 2.5}}
    short = told(
        {
            "medium": medium,
            "observations": ["marginal_burn"],
            "crops": [{"crop": "bean"}],
            "containers": [{"volume": "3 L"}],
        }
    )["In short"]
    assert "boron toxicity (strong evidence)" in short[0]
    (todo,) = [line for line in short if "What to do" in line]
    assert "boron leaves slowly" in todo


def test_what_is_hinted_at_is_not_called_nothing(told):
    blocks = told({"medium": {}, "observations": ["brown_root_tips"]})
    assert not any("Nothing in these" in line for lines in blocks.values() for line in lines)
    assert "too much salt in total" in blocks["In short"][0]


def test_a_method_that_is_not_given_shows_what_each_would_mean(told, post):
    request = {
        "medium": {"ec": 0.9},
        "crops": [{"crop": "bean", "stage": "seedling"}],
        "containers": [{"volume": "2 L"}],
    }
    answer = post("/v1/assessments", request)
    short = answer["summary"]
    rows = {row["method"]: row for row in short["by_method"]}
    # What each method shows of one medium, side by side (University of Massachusetts, Table 2).
    assert {method: row["class"] for method, row in rows.items()} == {
        "saturated_media_extract": "low",
        "one_to_two": "normal",
        "one_to_five": "high",
        "pour_through": "very_low",
    }
    assert rows["one_to_five"]["verdict"] == "fails"
    assert rows["pour_through"]["verdict"] == "tolerant"
    for method, row in rows.items():
        request["medium"]["extraction"] = method
        named = post("/v1/assessments", request)
        assert row["class"] == named["salinity"]["class"]
        assert row["verdict"] == named["crops"][0]["verdict"]
        assert row["ec_saturated_extract"] == named["salinity"]["ec_saturated_extract"]
        assert "by_method" not in named["summary"]
    assert short["caveat"]["id"] == "method_decides"
    assert "Ask whoever read it" in short["caveat"]["sentence"]
    assert "not the problem" not in json.dumps(answer)
    assert short["next_check"]["id"] == "ec_reading"
    del request["medium"]["extraction"]
    assert "1:5 by volume: high" in " ".join(told(request)["In short"])


def test_a_method_that_does_not_matter_is_told_as_a_note(post):
    answer = post("/v1/assessments", {"medium": {"ec": 9}, "crops": ["bean"]})
    assert answer["summary"]["caveat"]["id"] == "method_not_given"
    assert "by_method" not in answer["summary"]


def test_a_floor_keeps_its_caveat_beside_that_of_the_method(post):
    answer = post("/v1/assessments", {"medium": {"ions": {"nitrate_n": 100}}, "crops": ["bean"]})
    caveat = answer["summary"]["caveat"]
    assert caveat["id"] == "ec_is_lower_bound"
    for words in ("No EC was measured", "1:2 by volume: at least 2 dS/m", "Ask whoever read it"):
        assert words in caveat["sentence"]
    assert {row["class"] for row in answer["summary"]["by_method"]} == {None}


def test_a_loam_is_asked_for_the_methods_of_soils(post):
    answer = post("/v1/assessments", {"medium": {"ec": 1.0, "substrate": "loam"}})
    found = [row["method"] for row in answer["summary"]["by_method"]]
    assert found == ["saturated_paste", "one_to_two", "one_to_five"]


def test_a_vague_stall_with_all_in_range_says_so_and_what_to_look_at(post):
    request = {
        "medium": {"extraction": "saturated_media_extract", "ec": 1.5, "ph": 6.0},
        "observations": ["dark_stunted_plants"],
    }
    summary_ = post("/v1/assessments", request)["summary"]
    first = summary_["leading_cause"]["sentence"]
    assert first.startswith("No figure given is out of range. None explains a stall")
    assert "good ones" in summary_["next_check"]["sentence"]
    request["medium"]["ec"] = 4.5
    other = post("/v1/assessments", request)["summary"]["leading_cause"]["sentence"]
    assert "in range" not in other
