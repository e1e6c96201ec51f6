import json

import pytest

from saltcalc.words.text import summary


@pytest.fixture
def told(post):
    """Post a request and return the answer in words, block by block."""

    def tell(request):
        text = summary(post("/v1/assessments", request))
        blocks = (block.splitlines() for block in text.split("\n\n"))
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
    assert first == "All figures are in range. Nothing to correct."
    assert "Find out next" not in blocks
    stalled = told(
        {
            "medium": {"extraction": "saturated_media_extract", "ec": 1.5, "ph": 6.0},
            "observations": ["stalled_at_first_leaves"],
        }
    )
    assert len(stalled["Find out next"]) >= 3


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
    assert "Nothing is proven" in blocks["In short"][0]
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
    blocks = told({"medium": {}, "observations": ["marginal_burn"]})
    assert not any("Nothing in these" in line for lines in blocks.values() for line in lines)
    assert "too much salt in total" in blocks["In short"][0]
