from saltcalc.data.washout import nutrient_retention, washout_defaults


def test_every_class_has_defaults_with_intervals():
    for row in washout_defaults().values():
        assert row.efficiency.low < row.efficiency.value < row.efficiency.high
        assert row.note


def test_nitrate_is_not_held_and_calcium_is():
    table = nutrient_retention()
    assert table["nitrate_n"].sorbed_ratio == 0
    assert table["calcium"].sorbed_ratio > table["potassium"].sorbed_ratio
