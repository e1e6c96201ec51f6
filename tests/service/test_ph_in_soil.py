"""Rates for pots are not given to fields, nor a pH to come down to that is not the crop's."""

import pytest

POTS = {"sulfur_some", "sulfur_more", "acid_feed_small", "acid_feed_large", "iron_sulfate"}


def corrections(post, crop, **medium):
    request = {
        "medium": {"ec": 1, "ph": 8.3, **medium},
        "water": {"ec": 0.5, "alkalinity": "250 mg/L CaCO3"},
        "crops": [crop],
    }
    ranked = post("/v1/assessments", request)["causes"]["ranked"]
    (found,) = [each for each in ranked if each["cause"] == "ph_too_high"]
    return {each["id"] for each in found["corrections"]}


def test_a_soil_is_left_to_its_laboratory_and_calcium_comes_first(post):
    found = corrections(post, "onion", substrate="sandy_loam", extraction="saturated_paste")
    assert "sulfur_in_soil" in found
    assert not found & POTS


@pytest.mark.parametrize("crop", ["blueberry", "azalea"])
def test_acid_lovers_are_not_told_to_stop_at_the_ph_of_others(post, crop):
    found = corrections(post, crop, substrate="sphagnum_peat", extraction="one_to_two", ec=0.3)
    assert "sulfur_for_acid_lovers" in found
    assert not found & {"sulfur_some", "sulfur_more"}


def test_a_pot_of_peat_keeps_its_published_rates(post):
    found = corrections(post, "petunia", substrate="sphagnum_peat", extraction="one_to_two", ec=0.3)
    assert "sulfur_more" in found
    assert not found & {"sulfur_in_soil", "sulfur_for_acid_lovers"}
