"""A grown crop without a salt tolerance is judged as most such plants are, not as a sensitive one.

UMass Extension prints 2 to 3.5 dS/m (saturated media extract), 2.6 to 4.6 (pour-through) and 0.8 to
1.3 (1:2) as normal for most established plants. NC State's leaflet 590 and a trade text for
poinsettia (2.5 to 4.5 by pour-through) call chrysanthemum and poinsettia heavy feeders.
"""

import pytest


def request_of(crop, ec, method="pour_through", stage="established", **rest):
    return {
        "medium": {"extraction": method, "ec": ec, "substrate": "peat_perlite"},
        "containers": [{"volume": 3, "drainage": "open"}],
        "crops": [{"crop": crop, "stage": stage}],
    } | rest


@pytest.mark.parametrize(
    ("crop", "ec", "method"),
    [
        ("chrysanthemum", 4.0, "pour_through"),
        ("poinsettia", 3.4, "pour_through"),
        ("petunia", 3.2, "pour_through"),
        ("hemp", 2.8, "saturated_media_extract"),
        ("snapdragon", 0.9, "one_to_two"),
        ("fuchsia", 3.6, "pour_through"),
    ],
)
def test_a_fed_feeder_is_not_flushed(post, crop, ec, method):
    answer = post("/v1/assessments", request_of(crop, ec, method, feeding="liquid_feed"))
    summary = answer["summary"]
    assert summary["leading_cause"]["cause"] is None
    assert not summary["actions"]
    assert "most established pot plants" in summary["worst_crop"]["sentence"]


@pytest.mark.parametrize("crop", ["chrysanthemum", "petunia", "hemp"])
def test_above_that_range_it_is_too_much_for_them_too(post, crop):
    answer = post("/v1/assessments", request_of(crop, 6.0))
    assert answer["summary"]["leading_cause"]["cause"] == "total_salts"
    assert [each["id"] for each in answer["summary"]["actions"]] == ["flush"]


@pytest.mark.parametrize(
    ("crop", "stage"),
    [
        ("impatiens", "established"),  # a light feeder
        ("moth orchid", "established"),  # a low feeder
        ("petunia", "seedling"),
        ("Zorblatt vine", "established"),  # a name that no table knows
    ],
)
def test_young_light_feeding_and_unknown_crops_are_still_sensitive_ones(post, crop, stage):
    answer = post("/v1/assessments", request_of(crop, 4.0, stage=stage))
    assert answer["summary"]["leading_cause"]["cause"] == "total_salts"


def test_burnt_margins_bring_no_flush_within_the_range(post):
    for ec, flushed in ((4.0, []), (5.5, ["flush"])):
        request = request_of("chrysanthemum", ec, observations=["marginal_burn"])
        actions = post("/v1/assessments", request)["summary"]["actions"]
        assert [each["id"] for each in actions] == flushed
