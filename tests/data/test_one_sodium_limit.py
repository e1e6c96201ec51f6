"""What is above the usual sodium is one figure: the range that governs."""

import pytest

from saltcalc.data.causes import evidence_rules
from saltcalc.data.nutrients import governing_range


@pytest.mark.parametrize(
    "rule", ["sodium_above_usual", "sodium_high_with_burn", "sodium_crop_tolerates_it"]
)
def test_evidence_begins_where_the_range_ends(rule):
    limits = [
        each.threshold for each in evidence_rules()[rule].conditions if each.measure == "sodium"
    ]
    assert limits == [governing_range("saturated_media_extract", "sodium", ()).high]


@pytest.mark.parametrize(("sodium", "speaks"), [(100, False), (150, False), (170, True)])
def test_sodium_within_its_range_points_to_nothing(sodium, speaks, post):
    answer = post(
        "/v1/assessments?causes=all",
        {"medium": {"ec": 1.6, "ions": {"sodium": sodium}}, "crops": [{"crop": "petunia"}]},
    )
    toxic = next(each for each in answer["causes"]["ranked"] if each["cause"] == "sodium_toxicity")
    told = [each["sentence"] for each in toxic.get("evidence_for", [])]
    assert any("usual media hold up to" in each for each in told) == speaks
