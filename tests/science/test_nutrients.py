import numpy as np
import pytest

from saltcalc.science.nutrients import (
    NutrientStatus,
    lime_rate,
    nitrogen_in_held_water,
    nutrient_status,
    organic_nitrogen_rate,
    salt_share,
    weeks_of_nitrogen,
)


def test_status_of_a_column_with_gaps():
    status = nutrient_status(
        [1.0, 5.0, 9.0, np.nan, 5.0, 1.0],
        [2.0, 2.0, 2.0, 2.0, np.nan, np.nan],
        [6.0, 6.0, 6.0, 6.0, np.nan, 6.0],
    )
    assert [NutrientStatus(code).name for code in status] == [
        "LOW",
        "IN_RANGE",
        "HIGH",
        "CANNOT_TELL",
        "CANNOT_TELL",
        "IN_RANGE",
    ]


def test_missing_form_of_nitrogen_is_not_a_missing_supply():
    supply = nitrogen_in_held_water([100.0, 100.0, np.nan, np.nan], [10.0, np.nan, 10.0, np.nan], 2)
    assert supply[:3].tolist() == [220.0, 200.0, 20.0]
    assert np.isnan(supply[3])


def test_growth_uses_up_what_the_week_count_says():
    weeks = float(weeks_of_nitrogen(70.0, 0.05, 0.7, 35.0))
    gained = 0.05 * (np.exp(0.7 * weeks) - 1.0)
    assert gained * 35.0 == pytest.approx(70.0)
    assert weeks_of_nitrogen(0.0, 0.05, 0.7, 35.0) == 0.0
    assert np.isnan(weeks_of_nitrogen(np.nan, 0.05, 0.7, 35.0))


def test_share_without_salts_is_missing():
    assert np.isnan(salt_share(10.0, 0.0))
    assert salt_share(140.0, 2.0) == pytest.approx(0.1)


@pytest.mark.parametrize(
    "call",
    [
        lambda: salt_share(-1.0, 1.0),
        lambda: weeks_of_nitrogen(1.0, 0.0, 0.7, 35.0),
        lambda: organic_nitrogen_rate(1.0, 0.12, 0.0),
        lambda: lime_rate(5.0, 6.0, -1.0),
    ],
)
def test_arguments_without_meaning(call):
    with pytest.raises(ValueError, match=r"negative|nothing"):
        call()


def test_an_end_counts_as_in_range_whatever_the_conversion_leaves():
    reached = 10.0 / 14.007 * 14.007
    for value in (reached, 10.0 * (1 + 1e-12), 10.0 * (1 - 1e-12)):
        assert nutrient_status(value, np.nan, 10.0) == NutrientStatus.IN_RANGE
        assert nutrient_status(value, 10.0, np.nan) == NutrientStatus.IN_RANGE
    # One range is printed to end at 199 where the next begins at 200 (judgement: one per cent).
    assert nutrient_status(200.0, 40.0, 199.0) == NutrientStatus.IN_RANGE
    assert nutrient_status(10.2, np.nan, 10.0) == NutrientStatus.HIGH
