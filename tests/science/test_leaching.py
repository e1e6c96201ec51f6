import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltcalc.science import leaching
from saltcalc.science.root_zone import fraction_for_mean, steady_profile

ec = st.floats(0.01, 20)


@given(ec, ec)
def test_the_drainage_of_the_rhoades_requirement_has_five_extracts_less_one_water(water, crop):
    requirement = leaching.leaching_requirement_rhoades(water, crop)
    if np.isnan(requirement):
        assert water >= 2.5 * crop * (1 - 1e-12)
    else:
        assert water / requirement == pytest.approx(5 * crop - water)


@given(ec, ec, st.floats(1.01, 3))
def test_saltier_water_never_needs_less_leaching(water, crop, more):
    for requirement in (
        leaching.leaching_requirement_rhoades,
        leaching.leaching_requirement_high_frequency,
    ):
        low, high = requirement(water, crop), requirement(water * more, crop)
        assert np.isnan(high) or high >= low


def test_a_requirement_of_one_or_more_is_missing_rather_than_a_number():
    assert np.isnan(leaching.leaching_requirement_rhoades(5.0, 1.0))
    assert np.isnan(leaching.leaching_requirement_rhoades(2.5, 1.0))
    assert np.isnan(leaching.leaching_requirement_high_frequency(4.0, 2.0))
    assert np.isnan(leaching.leaching_requirement_high_frequency(0.0, 0.0))
    assert np.isnan(leaching.gross_irrigation_ratio(1.0))


def test_missing_stays_missing_and_pure_water_needs_none():
    assert np.isnan(leaching.leaching_requirement_rhoades(np.nan, 2.0))
    assert leaching.leaching_requirement_rhoades(0.0, 2.0) == 0
    assert leaching.gross_irrigation_ratio(0.0) == 1


@given(st.floats(0, 0.99))
def test_water_factor_times_the_draining_share_is_what_drains(requirement):
    factor = leaching.gross_irrigation_ratio(requirement)
    assert factor * requirement == pytest.approx(factor - 1, abs=1e-9)


@pytest.mark.parametrize("function", ["leaching_requirement_rhoades", "leaching_fraction_from_ec"])
def test_negative_conductivity_has_no_meaning(function):
    with pytest.raises(ValueError, match="must not be negative"):
        getattr(leaching, function)(-1.0, 1.0)


def test_leaching_fraction_by_both_ways_and_its_spread():
    by_volume = leaching.leaching_fraction_from_volumes([1.0, 2.0, 0.0, 1.0], [0.2, 0.3, 0.0, 1.5])
    np.testing.assert_allclose(by_volume, [0.2, 0.15, np.nan, np.nan])
    by_ec = leaching.leaching_fraction_from_ec([1.0, 3.0], [4.0, 2.0])
    np.testing.assert_allclose(by_ec, [0.25, np.nan])
    mean, deviation, number = leaching.spread(by_volume)
    assert mean == pytest.approx(0.175)
    assert deviation == pytest.approx(np.std([0.2, 0.15], ddof=1))
    assert number == 2


def test_one_pot_has_a_mean_but_no_spread_and_none_has_neither():
    alone = leaching.spread([0.2])
    assert alone.mean == pytest.approx(0.2)
    assert np.isnan(alone.standard_deviation)
    assert np.isnan(leaching.spread([np.nan]).mean)


def test_millimetres_and_litres_of_a_requirement_are_the_same_sum():
    got = leaching.leaching_water([4.0, 0.4], 0.2)
    np.testing.assert_allclose(got.applied, [5.0, 0.5])
    np.testing.assert_allclose(got.drained, [1.0, 0.1])


def test_rain_is_taken_off_and_thins_what_is_applied():
    got = leaching.leaching_water(4.0, 0.2, rain=[0.0, 2.0, 9.0], ec_water=1.5)
    np.testing.assert_allclose(got.applied, [5.0, 3.0, 0.0])
    np.testing.assert_allclose(got.ec_applied, [1.5, 0.9, 0.0])
    np.testing.assert_allclose(got.drained, [1.0, 1.0, 5.0])


@pytest.mark.parametrize(
    ("fractions", "needed", "verdict"),
    [
        pytest.param([0.0, 0.02, 0.1, 0.3, 0.45, 0.5], np.nan, "uneven", id="uneven pots"),
        pytest.param([0.12, 0.15, 0.18], np.nan, "fits", id="best practice"),
        pytest.param([0.3], np.nan, "more_than_needed", id="much, requirement unknown"),
        pytest.param([0.3], 0.33, "fits", id="the same, where the water asks for it"),
        pytest.param([0.1, 0.12], 0.33, "too_little", id="too little for the water"),
        pytest.param([0.6, 0.62], 0.1, "more_than_needed", id="far more than needed"),
        pytest.param([0.0, 0.01], np.nan, "too_little", id="nothing drains"),
    ],
)
def test_measured_fractions_are_judged_by_what_is_needed(fractions, needed, verdict):
    assert leaching.judge_leaching(fractions, needed).verdict == verdict


@pytest.mark.parametrize("fractions", [[], [np.nan], [1.2]])
def test_fractions_without_meaning_are_refused(fractions):
    with pytest.raises(ValueError, match="must"):
        leaching.judge_leaching(fractions)


@given(ec, st.floats(1.02, 30.0), st.floats(0.0, 0.8))
def test_rain_spares_drainage_and_the_limit_still_holds(water, factor, rain):
    limit = factor * water
    dry, wet = leaching.requirement_with_rain(
        lambda mixed: fraction_for_mean(mixed, limit), [water, water], [0.0, rain]
    )
    assert wet <= dry + 1e-6
    mixed = water * (1 - rain * (1 - wet))
    assert steady_profile(mixed, wet).mean == pytest.approx(limit, rel=1e-3)


def test_rain_can_make_a_water_fit_that_does_not_by_itself():
    def rule(mixed):
        return fraction_for_mean(mixed, 2.5)

    assert np.isnan(leaching.requirement_with_rain(rule, 3.0, 0.0))
    assert np.isnan(leaching.requirement_with_rain(rule, 30.0, 0.1))
    assert 0 < leaching.requirement_with_rain(rule, 3.0, 0.9) < 0.5
    assert leaching.requirement_with_rain(rule, 3.0, 1.5) == 0


def test_a_missing_water_stays_missing_under_rain():
    got = leaching.requirement_with_rain(
        lambda mixed: fraction_for_mean(mixed, 2.5), [np.nan, 1.0], 0.3
    )
    np.testing.assert_array_equal(np.isnan(got), [True, False])
