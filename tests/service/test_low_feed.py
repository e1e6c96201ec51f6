"""A low EC alone proves no shortage of nitrogen, and crops that want little feed want no more."""

import pytest

from saltcalc.data.low_feeders import low_feeders
from saltcalc.words.text import as_text, short

SME = "saturated_media_extract"


def _asked(crop, ec, *signs, method=SME, stage="established", **medium):
    return {
        "medium": {"extraction": method, "ec": ec, **medium},
        "crops": [{"crop": crop, "stage": stage}],
        "observations": list(signs),
    }


def _nitrogen(answer):
    return next(each for each in answer["causes"]["ranked"] if each["cause"] == "nitrogen_shortage")


@pytest.mark.parametrize("sign", ["pale_whole_plant", "yellow_older_leaves"])
@pytest.mark.parametrize("crop", ["petunia", "lettuce", "tomato"])
def test_a_low_ec_and_pale_plants_are_no_strong_evidence(crop, sign, post):
    answer = post("/v1/assessments", _asked(crop, 0.5, sign))
    assert answer["summary"]["leading_cause"]["cause"] == "nitrogen_shortage"
    assert _nitrogen(answer)["verdict"] == "possible"
    assert answer["summary"]["next_check"]


@pytest.mark.parametrize("sign", ["pale_whole_plant", "yellow_older_leaves"])
def test_a_nitrate_that_was_read_low_is(sign, post):
    answer = post("/v1/assessments", _asked("petunia", 0.5, sign, ions={"nitrate_n": 15}))
    assert _nitrogen(answer)["verdict"] == "supported"


@pytest.mark.parametrize("crop", ["moth orchid", "boston fern", "venus flytrap", "cactus"])
@pytest.mark.parametrize(("method", "ec"), [("pour_through", 0.9), (SME, 0.4)])
def test_crops_that_want_little_feed_are_well_at_a_low_ec(crop, method, ec, post):
    answer = post("/v1/assessments", _asked(crop, ec, method=method))
    assert answer["summary"]["leading_cause"]["cause"] is None
    text = as_text(short(answer))
    assert "No figure is out of range" in text
    assert "nitrogen" not in text


def test_a_sign_on_such_a_crop_still_counts(post):
    answer = post("/v1/assessments", _asked("moth orchid", 0.9, "yellow_older_leaves"))
    assert _nitrogen(answer)["verdict"] == "possible"
    assert "so little that" not in as_text(short(answer))


def test_a_low_nitrate_does_not_starve_a_carnivorous_plant(post):
    answer = post("/v1/assessments", _asked("venus flytrap", 0.2, ions={"nitrate_n": 2}))
    assert answer["summary"]["leading_cause"]["cause"] is None


def test_beside_a_hungry_crop_the_low_ec_speaks(post):
    request = _asked("moth orchid", 0.5)
    request["crops"].append({"crop": "petunia", "stage": "established"})
    text = as_text(short(post("/v1/assessments", request)))
    assert "Something points to: nitrogen shortage" in text


def test_what_wants_little_feed_are_crops_of_the_tables():
    assert {"orchid", "carnivorous_plant", "heather", "blueberry"} <= low_feeders()
    assert not {"tomato", "petunia", "lettuce", "bean"} & low_feeders()
