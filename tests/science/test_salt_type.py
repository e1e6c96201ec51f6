import numpy as np
import pytest

from saltcalc.science.salt_type import LIMITS, SALT_TYPES, salt_type

NAN = float("nan")


@pytest.mark.parametrize(
    ("ions", "name"),
    [
        (
            {"sodium": 20.0, "calcium": 4.0, "chloride": 8.0, "sulfate_s": 8.0, "bicarbonate": 8.0},
            0,
        ),
        ({"sodium": 8.0, "calcium": 8.0, "magnesium": 6.0, "chloride": 20.0, "sulfate_s": 2.0}, 1),
        ({"potassium": 8.0, "calcium": 8.0, "nitrate_n": 14.0, "sulfate_s": 2.0}, 2),
        ({"ammonium_n": 12.0, "potassium": 4.0, "nitrate_n": 4.0, "sulfate_s": 12.0}, 3),
        ({"calcium": 28.0, "magnesium": 4.0, "sulfate_s": 29.0, "chloride": 3.0}, 4),
        ({"calcium": 4.0, "magnesium": 2.0, "bicarbonate": 5.5, "chloride": 0.5}, 5),
        (
            {
                "sodium": 4.0,
                "calcium": 4.0,
                "magnesium": 4.0,
                "potassium": 2.0,
                "chloride": 5.0,
                "sulfate_s": 5.0,
                "nitrate_n": 4.0,
            },
            6,
        ),
    ],
)
def test_the_dominant_salt_is_named(ions, name):
    assert SALT_TYPES[salt_type(ions).code] == SALT_TYPES[name]


@pytest.mark.parametrize(
    ("ions", "name"),
    [
        ({"ammonium_n": 6.0, "potassium": 13.0, "sodium": 4.0, "chloride": 9.0}, "mixed"),
        ({"ammonium_n": 6.0, "potassium": 5.0, "sodium": 4.0, "sulfate_s": 7.0}, "ammonium"),
        (
            {"potassium": 5.0, "calcium": 9.0, "nitrate_n": 5.5, "chloride": 6.0, "sulfate_s": 2.5},
            "mixed",
        ),
        ({"potassium": 5.0, "calcium": 9.0, "nitrate_n": 7.0, "chloride": 6.0}, "nutrient"),
    ],
)
def test_less_than_half_names_the_salt_only_where_it_leads(ions, name):
    assert SALT_TYPES[salt_type(ions).code] == name


def test_figures_decide_and_are_given():
    found = salt_type({"sodium": 9.0, "calcium": 1.0, "chloride": 9.0, "sulfate_s": 1.0})
    assert found.figures["sodium"] == pytest.approx(0.9)
    assert found.figures["sodium"] > LIMITS["sodium"]
    assert found.figures["ammonium"] == 0


def test_one_reported_side_still_decides():
    found = salt_type({"sodium": [9.0, 0.0], "calcium": [1.0, 0.0]})
    assert found.code.tolist() == [0, -1]
    assert np.isnan(found.figures["chloride"]).all()


def test_nothing_reported_has_no_salt_type():
    assert salt_type({}).code == -1


def test_a_report_of_a_small_part_of_the_ec_names_no_salt():
    """KCl of 10 mmol/L makes 1.413 dS/m (CRC Handbook): all of it is named, a third is not."""
    whole, third = {"potassium": 10.0, "chloride": 10.0}, {"potassium": 3.3, "chloride": 3.3}
    assert SALT_TYPES[salt_type(whole, 1.413).code] == "chloride"
    assert salt_type(third, 1.413).code == -1
