import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltcalc.data.extraction import MEDIUM_KINDS, extraction_methods, method_codes
from saltcalc.science.extraction import (
    Pores,
    convert,
    from_saturated_extract,
    to_pore_water,
)
from tests.extracts import to_saturated_extract

CODE = method_codes()
methods = st.sampled_from(range(len(extraction_methods())))
media = st.sampled_from(range(len(MEDIUM_KINDS)))
readings = st.floats(0.001, 200.0)
held = {"pores": Pores(0.88, 0.63, 0.5)}


@given(readings, methods, methods, media)
def test_there_and_back_gives_the_same_reading(ec, method, to, medium):
    there = convert(ec, method, to, medium, **held).value
    back = convert(there, to, method, medium, **held).value
    assert back == pytest.approx(ec, rel=1e-9)


@given(st.floats(0.0, 200.0), methods, media)
def test_the_same_method_changes_nothing_and_adds_no_spread(ec, method, medium):
    assert [float(part) for part in convert(ec, method, method, medium)] == [ec, ec, ec]


@given(readings, methods, methods, media)
def test_the_interval_holds_the_value(ec, method, to, medium):
    result = convert(ec, method, to, medium, **held)
    assert result.low <= result.value <= result.high
    saturated = {CODE["saturated_paste"], CODE["saturated_media_extract"]}
    if method != to and not {method, to} <= saturated:
        assert result.low < result.high


@given(readings, methods, methods, methods, media)
def test_the_way_taken_does_not_matter(ec, method, between, to, medium):
    direct = convert(ec, method, to, medium, **held).value
    detour = convert(ec, method, between, medium, **held).value
    assert convert(detour, between, to, medium, **held).value == pytest.approx(direct, rel=1e-9)


@given(readings, st.floats(1.01, 5.0), methods, methods, media)
def test_more_salt_reads_higher_by_every_method(ec, times, method, to, medium):
    less, more = convert([ec, ec * times], method, to, medium, **held).value
    assert more > less


@given(readings, methods, media)
def test_inverse_of_the_saturated_extract(ec, method, medium):
    extract = to_saturated_extract(ec, method, medium, **held).value
    assert from_saturated_extract(extract, method, medium, **held).value == pytest.approx(
        ec, rel=1e-9
    )


def test_no_salt_stays_no_salt():
    result = convert(0.0, CODE["one_to_five"], CODE["pour_through"], 0)
    assert [float(part) for part in result] == [0.0, 0.0, 0.0]


def test_drained_medium_holds_a_stronger_water():
    # The salt of a saturated medium (0.9 L/L) in the water that stays (0.6 L/L): half as strong
    # again.
    result = to_pore_water(2.0, CODE["saturated_media_extract"], 0, Pores(0.9, 0.6))
    assert result.value == pytest.approx(3.0)
    assert result.low < result.value < result.high


def test_sensor_in_a_dried_medium_reads_high():
    wet, dried = to_pore_water(
        4.0, CODE["pore_water_sensor"], 0, Pores(0.9, 0.6, [np.nan, 0.3])
    ).value
    assert wet == pytest.approx(4.0)
    assert dried == pytest.approx(2.0)


def test_pore_water_needs_the_water_contents_and_the_saturated_extract_does_not():
    codes = [CODE["press"], CODE["one_to_two"]]
    result = to_saturated_extract(1.0, codes, 0)
    assert np.isnan(result.value).tolist() == [True, False]
    assert np.isnan(to_saturated_extract(np.nan, CODE["one_to_two"], 0).value)


def test_shapes_broadcast():
    result = to_saturated_extract(
        np.ones((2, 1, 1)), np.arange(len(CODE))[:, np.newaxis], np.arange(4), **held
    )
    assert result.value.shape == result.low.shape == result.high.shape == (2, len(CODE), 4)


@pytest.mark.parametrize(
    ("ec", "method", "medium"),
    [(-1.0, 0, 0), (1.0, len(CODE), 0), (1.0, -1, 0), (1.0, 0, -1), (1.0, 0, 99)],
)
def test_arguments_without_meaning(ec, method, medium):
    with pytest.raises(ValueError, match=r"negative|unknown"):
        to_saturated_extract(ec, method, medium)
