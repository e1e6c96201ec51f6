"""A crop fed in substrate: what trials there found, and a weak feed in the place of water."""

import math

import pytest

from saltcalc.data.crops import catalogue
from saltcalc.words.text import as_text, short

SLAB = {
    "crops": [{"crop": "tomato", "stage": "established"}],
    "medium": {
        "extraction": "pore_water_sensor",
        "ec": 4.5,
        "ph": 5.8,
        "substrate": "coir_perlite",
    },
    "containers": [{"volume": 18, "height": 8}],
    "water": {"ec": 0.4},
    "feed_ec": 2.2,
    "feeding": "liquid_feed",
}
LOWER, WEAK = "substrate_trials_lower", "flush_with_weak_feed"


def _slab(ec=4.5, crop="tomato", stage="established", substrate="coir_perlite", **members):
    medium = {**SLAB["medium"], "ec": ec, "substrate": substrate}
    return {**SLAB, "crops": [{"crop": crop, "stage": stage}], "medium": medium, **members}


def _found(answer, finding):
    return [each["sentence"] for each in answer["warnings"] if each["id"] == finding]


def test_the_figures_are_those_of_the_trials():
    """Sonneveld & van der Burg (1991), and Sonneveld, van den Bos & Voogt (2004), both abstracts:
    "threshold values for the different crops lay between 2.3 and 3.5 dS/m and [...] yield decrease
    values ranged from 2.3 to 7.6% for each dS/m"; averages of three models "2.4, 2.1, and 2.2"."""
    crops = catalogue().crops
    for crop in ("tomato", "cucumber", "pepper"):
        found = crops[crop].substrate
        assert (found.threshold_low, found.threshold_high) == (2.3, 3.5)
        assert (found.slope_low, found.slope_high) == (2.3, 7.6)
    for crop in ("strawberry", "eggplant", "squash_zucchini"):
        found = crops[crop].substrate
        assert (found.threshold_low, found.threshold_high) == (2.1, 2.4)
        assert math.isnan(found.slope_low)


@pytest.mark.parametrize("crop", ["tomato", "cucumber", "squash_zucchini"])
def test_trials_in_substrate_are_told_where_limits_of_soil_are_kept(crop, post):
    answer = post("/v1/assessments", _slab(crop=crop))
    (told,) = _found(answer, LOWER)
    assert "4.5 dS/m" in told
    assert told in " ".join(as_text(short(answer)).split())


def test_the_loss_is_that_of_the_mildest_and_of_the_strictest_trial(post):
    (told,) = _found(post("/v1/assessments", _slab()), LOWER)
    assert "2 to 17 %" in told  # 2.3 * (4.5 - 3.5), and 7.6 * (4.5 - 2.3)


@pytest.mark.parametrize(
    "request_",
    [
        _slab(ec=3.4),
        _slab(crop="lettuce"),
        _slab(stage="seedling"),
        _slab(substrate="loam"),
        {name: each for name, each in _slab().items() if not name.startswith("feed")},
        _slab(ec=12),
    ],
    ids=["below", "no trial of it", "seedling", "soil", "not fed", "too salty as it is"],
)
def test_trials_in_substrate_are_silent(request_, post):
    assert not _found(post("/v1/assessments", request_), LOWER)


def test_a_fed_crop_in_substrate_is_flushed_with_a_weak_feed(post):
    answer = post("/v1/assessments", _slab(ec=9))
    (told,) = _found(answer, WEAK)
    assert "1.1 dS/m" in told  # 0.4 + 2.2 / 3
    text = " ".join(as_text(short(answer)).split())
    assert told in text
    assert "feed at full strength until" in text
    assert "feed until" not in text
    (plan,) = answer["flush_plan"]
    assert plan["sentence"].endswith("Feed at full strength only after that.")


def test_a_weak_feed_stays_far_below_the_target(post):
    request = _slab(ec=9, target_ec=1.4)
    (told,) = _found(post("/v1/assessments", request), WEAK)
    assert "0.7 dS/m" in told


@pytest.mark.parametrize(
    "request_",
    [
        _slab(),
        _slab(ec=9, stage="seedling"),
        _slab(ec=9, substrate="loam"),
        _slab(ec=9, feed_ec=0.2),
        _slab(ec=9, means={"by": "rain"}),
        {name: each for name, each in _slab(ec=9).items() if name != "feed_ec"},
    ],
    ids=["no flush", "seedling", "soil", "little of it is feed", "rain", "feed not known"],
)
def test_water_alone_is_poured(request_, post):
    answer = post("/v1/assessments", request_)
    assert not _found(answer, WEAK)
    assert "full strength" not in as_text(short(answer))
