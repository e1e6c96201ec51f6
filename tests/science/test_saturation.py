import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from saltcalc.science.saturation import (
    ec_saturated_with_gypsum,
    gypsum_to_saturation,
    saturation_index,
)

NAN = float("nan")


def test_what_was_not_reported_gives_no_index_and_none_gives_minus_infinity():
    index = saturation_index("gypsum", {"calcium": [5.0, NAN, 5.0], "sulfate_s": [5.0, 5.0, 0.0]})
    assert np.isfinite(index[0])
    assert np.isnan(index[1])
    assert index[2] == -np.inf


def test_calcite_needs_ph():
    report = {"calcium": 5.0, "bicarbonate": 3.0}
    assert np.isnan(saturation_index("calcite", report))
    assert saturation_index("calcite", report, 8.0) > saturation_index("calcite", report, 7.0)


@settings(max_examples=20)
@given(st.floats(0, 20), st.floats(0, 20), st.floats(0, 60))
def test_gypsum_dissolves_until_it_is_saturated(calcium, sulfate, sodium):
    report = {"calcium": calcium, "sulfate_s": sulfate, "sodium": sodium, "chloride": sodium}
    dissolved = gypsum_to_saturation(report)
    then = report | {
        "calcium": calcium + 2 * dissolved,
        "sulfate_s": sulfate + 2 * dissolved,
    }
    assert saturation_index("gypsum", then) == pytest.approx(0, abs=1e-3)


def test_a_saturated_solution_dissolves_none():
    assert gypsum_to_saturation({"calcium": 50.0, "sulfate_s": 50.0}) == 0


def test_gypsum_in_a_batch_and_of_nothing_reported():
    ec = ec_saturated_with_gypsum({"sodium": [0.0, 10.0, NAN], "chloride": [0.0, 10.0, NAN]})
    assert ec[0] == ec[2] < ec[1]
