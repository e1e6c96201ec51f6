"""Temperature correction against measured solutions and published factors."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltcalc.science.temperature import (
    ec25_handbook60,
    ec25_linear,
    outside_reliable_range,
)

# CRC Handbook of Chemistry and Physics, Standard KCl solutions for calibrating conductivity cells
# (NIST values; Wu et al. 1991, Pratt et al. 2001), p. 5-73, 0.01 mol/kg column [µS/cm].
KCL_CENTIMOLAL = {
    5.0: 890.96,
    10.0: 1013.95,
    15.0: 1141.45,
    18.0: 1219.93,
    20.0: 1273.03,
    30.0: 1546.63,
    35.0: 1687.79,
    40.0: 1831.27,
    45.0: 1976.62,
}
KCL_CENTIMOLAL_25 = 1408.23

# U.S. Salinity Laboratory Staff (1954), Handbook 60, Table 15 (from memory): factor to 25 °C.
HANDBOOK60_TABLE_15 = {
    5.0: 1.613,
    10.0: 1.411,
    15.0: 1.247,
    18.0: 1.163,
    20.0: 1.112,
    22.0: 1.064,
    25.0: 1.000,
    28.0: 0.943,
    30.0: 0.907,
    35.0: 0.829,
    40.0: 0.763,
}


@pytest.mark.independent
@pytest.mark.parametrize("temperature", [15.0, 18.0, 20.0, 30.0, 35.0, 40.0])
def test_handbook60_brings_measured_kcl_to_its_25_degree_value(temperature):
    reading = KCL_CENTIMOLAL[temperature]
    assert ec25_handbook60(reading, temperature) == pytest.approx(KCL_CENTIMOLAL_25, rel=0.015)


@pytest.mark.independent
@pytest.mark.parametrize(("temperature", "excess"), [(5.0, 0.020), (10.0, 0.018)])
def test_handbook60_reads_cold_kcl_high(temperature, excess):
    # The two published sets disagree in the cold: KCl loses less conductivity than the soil
    # extracts of Handbook 60 did (at 10 °C a factor of 1.389 against 1.411), so it comes out high.
    corrected = ec25_handbook60(KCL_CENTIMOLAL[temperature], temperature)
    assert corrected / KCL_CENTIMOLAL_25 == pytest.approx(1.0 + excess, abs=0.004)


@pytest.mark.independent
@pytest.mark.parametrize("temperature", [15.0, 20.0, 30.0])
def test_linear_brings_measured_kcl_to_its_25_degree_value(temperature):
    reading = KCL_CENTIMOLAL[temperature]
    assert ec25_linear(reading, temperature) == pytest.approx(KCL_CENTIMOLAL_25, rel=0.005)
    assert ec25_linear(reading, temperature, 0.02) == pytest.approx(KCL_CENTIMOLAL_25, rel=0.015)


@pytest.mark.parametrize(("temperature", "factor"), HANDBOOK60_TABLE_15.items())
def test_fit_gives_the_table_it_was_fitted_to(temperature, factor):
    assert ec25_handbook60(1.0, temperature) == pytest.approx(factor, rel=0.005)


@pytest.mark.independent
def test_step_from_20_to_25_degrees_of_natural_waters():
    # German drinking water ordinance (TrinkwV): 2790 µS/cm at 25 °C stands for 2500 at 20 °C, the
    # step of ISO 7888 / EN 27888 (factor 1.116).
    assert ec25_handbook60(2500.0, 20.0) == pytest.approx(2790.0, rel=0.005)
    assert ec25_linear(2500.0, 20.0, 0.02) == pytest.approx(2790.0, rel=0.005)


def test_default_lies_between_kcl_and_natural_waters_in_the_cold():
    # At 10 °C: KCl 1.389 (CRC), natural waters 1.428 (ISO 7888, from memory).
    kcl = KCL_CENTIMOLAL_25 / KCL_CENTIMOLAL[10.0]
    assert kcl < ec25_handbook60(1.0, 10.0) < 1.428


@given(st.floats(0.0, 100.0))
def test_a_reading_at_25_degrees_stays_as_it_is(ec):
    assert ec25_handbook60(ec, 25.0) == ec
    assert ec25_linear(ec, 25.0) == ec


@given(st.floats(0.01, 100.0), st.floats(0.0, 45.0), st.floats(0.1, 5.0))
def test_a_warmer_solution_with_the_same_reading_is_weaker(ec, temperature, rise):
    for correct in (ec25_handbook60, ec25_linear):
        assert correct(ec, temperature + rise) < correct(ec, temperature)


def test_missing_stays_missing_and_shapes_broadcast():
    corrected = ec25_handbook60([[1.0], [np.nan]], [10.0, 20.0, np.nan])
    assert corrected.shape == (2, 3)
    assert np.isnan(corrected).tolist() == [[False, False, True], [True, True, True]]


def test_linear_refuses_a_temperature_no_water_has():
    with pytest.raises(ValueError, match="no meaning"):
        ec25_linear(1.0, -40.0)


def test_cold_and_hot_readings_are_flagged():
    assert outside_reliable_range([2.9, 3.0, 25.0, 40.0, 40.1, np.nan]).tolist() == [
        True,
        False,
        False,
        False,
        True,
        False,
    ]
