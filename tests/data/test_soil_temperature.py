from saltcalc.data.crops import catalogue, soil_temperatures


def test_every_row_belongs_to_a_crop_of_the_crop_table():
    known = set(catalogue().crops)
    assert set(soil_temperatures()) <= known


def test_warm_season_crops_ask_for_more_than_cool_season_crops():
    table = soil_temperatures()
    warm = min(table[crop].minimum for crop in ("bean", "cucumber", "pepper", "squash_zucchini"))
    cool = max(table[crop].minimum for crop in ("lettuce", "pea", "carrot", "spinach"))
    assert cool < warm
