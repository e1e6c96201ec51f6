"""Signs that cannot both be there: both are named, and neither counts."""

import pytest

from saltcalc.data.observations import exclusive_pairs, opposites
from saltcalc.words.text import as_text, short

ASKED = {
    "crops": [{"crop": "petunia"}],
    "medium": {"extraction": "one_to_two", "ec": 0.6, "ph": 6.0},
    "containers": [{"volume": 5}],
}


def _found(answer, finding):
    return [each for each in answer["warnings"] if each["id"] == finding]


def _without(answer, *findings):
    """Return what the answer says of the causes and what to do."""
    told = {name: answer[name] for name in ("causes", "flush_plan", "salinity")}
    return told | {"actions": answer["summary"]["actions"]}


@pytest.mark.parametrize("pair", exclusive_pairs(), ids="-".join)
def test_neither_of_two_signs_that_exclude_each_other_counts(pair, post):
    answer = post("/v1/assessments", {**ASKED, "observations": ["marginal_burn", *pair]})
    (found,) = _found(answer, "signs_exclude_each_other")
    assert found["field"] == "/observations"
    alone = post("/v1/assessments", {**ASKED, "observations": ["marginal_burn"]})
    assert _without(answer) == _without(alone)
    assert found["sentence"] in " ".join(as_text(short(answer)).split())


@pytest.mark.parametrize("pair", opposites(), ids="-".join)
def test_two_opposites_that_are_both_not_seen_do_not_count(pair, post):
    answer = post("/v1/assessments", {**ASKED, "not_seen": [*pair]})
    (found,) = _found(answer, "opposites_not_seen")
    assert found["field"] == "/not_seen"
    assert _without(answer) == _without(post("/v1/assessments", ASKED))


def test_a_medium_of_which_signs_were_told_is_not_called_healthy(post):
    signs = ["stays_wet", "dries_within_days"]
    answer = post("/v1/assessments", {**ASKED, "observations": signs})
    assert "Nothing to correct" not in as_text(short(answer))


@pytest.mark.parametrize(
    "signs",
    [
        {"observations": ["stays_wet", "rotted_roots"]},
        {"observations": ["stays_wet"], "not_seen": ["dries_within_days"]},
        {"not_seen": ["stays_wet", "every_crop_stalls", "another_crop_thrives"]},
        {"observations": ["firm_white_roots", "brown_root_tips"]},
    ],
)
def test_signs_that_go_together_are_taken_without_a_word(signs, post):
    answer = post("/v1/assessments", {**ASKED, **signs})
    assert not _found(answer, "signs_exclude_each_other")
    assert not _found(answer, "opposites_not_seen")


def test_a_comparison_says_it_of_the_medium_that_it_is_about(post):
    media = [
        {"sample_id": "A", "medium": ASKED["medium"], "observations": ["stays_wet"]},
        {"sample_id": "B", "medium": {**ASKED["medium"], "ec": 1.5}},
    ]
    media[1]["observations"] = ["stays_wet", "dries_within_days"]
    answer = post("/v1/comparisons", {"media": media})
    (found,) = _found(answer, "signs_exclude_each_other")
    assert found["field"] == "/media/1/observations"
    assert "B" in found["sentence"]
