import pytest

from saltcalc.data.nutrients import (
    DTPA,
    NUTRIENTS,
    amendment_figures,
    comparable_with_reference,
    governing_range,
    nutrient_ranges,
)


def test_every_nutrient_has_a_governing_range_by_sme():
    missing = {
        nutrient
        for nutrient in NUTRIENTS
        if governing_range("saturated_media_extract", nutrient) is None
    }
    assert missing == {"salts"}
    assert governing_range("cat", "salts") is not None


def test_seedlings_have_ranges_of_their_own_beside_the_governing_ones():
    seedling = [each for each in nutrient_ranges() if each.plants == "seedling"]
    assert {each.nutrient for each in seedling} >= {"nitrate_n", "potassium", "magnesium", "ph"}
    assert not any(each.governing for each in seedling)


@pytest.mark.parametrize(
    ("method", "nutrient", "comparable"),
    [
        ("saturated_media_extract", "calcium", True),
        ("pour_through", "calcium", True),
        ("one_to_two", "nitrate_n", True),
        ("one_to_two", "calcium", False),
        ("one_to_five", "ph", True),
        ("press", "iron", False),
        ("press", "potassium", True),
        ("pore_water_sensor", "calcium", True),
        ("one_to_five", "chloride", True),
        ("one_to_five", "bicarbonate", False),
    ],
)
def test_what_may_be_scaled_to_the_reference(method, nutrient, comparable):
    assert comparable_with_reference(method, nutrient) is comparable


def test_dtpa_rows_are_micronutrients_only():
    assert {each.nutrient for each in nutrient_ranges() if each.method == DTPA} == {
        "boron",
        "copper",
        "iron",
        "manganese",
        "zinc",
    }


def test_unknown_remedy():
    with pytest.raises(KeyError):
        amendment_figures("gypsum", "rate_per_ph_unit")
