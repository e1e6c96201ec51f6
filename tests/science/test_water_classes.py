from hypothesis import given
from hypothesis import strategies as st

from saltcalc.data.water_classes import class_scales
from saltcalc.science import water_classes

NAN = float("nan")


def test_high_sar_reads_worse_at_low_ec_and_low_sar_better_at_high_ec():
    hazard = water_classes.infiltration_hazard([15, 15, 1, 1], [0.5, 4.0, 0.1, 4.0])
    names = [water_classes.INFILTRATION_CLASSES[code] for code in hazard.code]
    assert names == ["severe", "none", "severe", "none"]
    assert not hazard.at_least.any()


def test_sar_beyond_the_infiltration_table_is_a_lower_bound():
    hazard = water_classes.infiltration_hazard([41.0, 40.0, NAN], [6.0, 6.0, 6.0])
    assert hazard.at_least.tolist() == [True, False, False]
    assert hazard.code.tolist() == [0, 0, -1]


@given(st.floats(0, 60), st.floats(0.01, 10), st.floats(0.1, 5))
def test_infiltration_hazard_falls_with_ec_and_rises_with_sar(sar, ec, more):
    code = water_classes.infiltration_hazard(sar, ec).code
    assert water_classes.infiltration_hazard(sar, ec + more).code <= code
    assert water_classes.infiltration_hazard(sar + more, ec).code >= code


def test_sodium_hazard_reads_high_sar_worse_in_saltier_water():
    codes = water_classes.sodium_hazard_hb60([9, 9, 9, NAN], [0.1, 2.25, 5.0, 1.0])
    assert codes.tolist() == [0, 2, 2, -1]


def test_soil_groups():
    codes = water_classes.soil_group_hb60([2, 5, 2, 5, NAN], [5, 5, 20, 20, 5])
    assert [water_classes.SOIL_GROUPS[code] for code in codes[:4]] == list(
        water_classes.SOIL_GROUPS
    )
    assert codes[4] == water_classes.NO_CLASS


def test_classify_puts_limits_where_the_scale_says():
    boron = class_scales()["fao29", "boron"]
    assert water_classes.classify([0, 0.7, 3.0, 3.1, NAN], boron).tolist() == [0, 1, 1, 2, -1]
    sodic = class_scales()["sssa", "sar_saturation_extract"]
    assert water_classes.classify([12.9, 13.0], sodic).tolist() == [0, 1]
