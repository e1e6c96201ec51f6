import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from saltcalc.science.substrate import (
    RetentionCurve,
    container_water,
    curve_through_capacity,
    mean_water_content,
    suction_van_genuchten,
    water_content_van_genuchten,
    water_profile,
)

curves = st.builds(
    RetentionCurve,
    theta_s=st.floats(0.4, 0.95),
    theta_r=st.floats(0, 0.2),
    alpha=st.floats(0.005, 2),
    n=st.floats(1.1, 4),
)
heights = st.floats(1, 60)
tapers = st.floats(0.2, 1.5)


@given(curves, heights, tapers)
def test_mean_over_the_height_agrees_with_quadrature(curve, height, taper):
    def area(z):
        return (taper + (1 - taper) * z / height) ** 2

    total = quad(
        lambda z: area(z) * water_content_van_genuchten(z, curve),
        0,
        height,
        epsabs=1e-11,
        limit=200,
    )[0]
    expected = total / quad(area, 0, height)[0]
    assert mean_water_content(height, curve, taper) == pytest.approx(expected, abs=1e-6)


@given(curves, heights, heights)
def test_a_taller_container_never_holds_a_larger_share(curve, one, other):
    low, high = sorted([one, other])
    assert mean_water_content(high, curve) <= mean_water_content(low, curve) + 1e-12


@given(curves, heights)
def test_a_container_narrow_at_the_base_holds_a_smaller_share(curve, height):
    assert mean_water_content(height, curve, 0.6) <= mean_water_content(height, curve) + 1e-12


@given(curves, heights)
def test_air_and_water_make_up_the_pores(curve, height):
    water = container_water(height, curve)
    assert water.container_capacity + water.air_space == pytest.approx(water.total_porosity)
    assert 0 <= water.perched_height <= height


@given(curves, st.floats(0.5, 500))
def test_suction_is_the_inverse_of_the_curve(curve, suction):
    theta = water_content_van_genuchten(suction, curve)
    if theta < curve.theta_s - 1e-6:  # flatter than rounding near saturation
        assert suction_van_genuchten(theta, curve) == pytest.approx(suction, rel=1e-4)


def test_profile_is_wettest_at_the_base_and_averages_to_the_capacity():
    curve = RetentionCurve(0.9, 0.1, 0.2, 1.6)
    z, theta = water_profile(np.array([10.0, 30.0]), curve, slices=2000)
    assert z.shape == theta.shape == (2, 2000)
    assert np.all(np.diff(theta, axis=-1) <= 0)
    np.testing.assert_allclose(
        theta.mean(axis=-1), mean_water_content([10.0, 30.0], curve), rtol=1e-5
    )


@given(curves, heights, tapers)
def test_curve_through_a_capacity_gives_it_back(curve, height, taper):
    capacity = mean_water_content(height, curve, taper)
    if curve.theta_r + 1e-3 < capacity < curve.theta_s - 1e-3:
        found = curve_through_capacity(
            capacity, height, curve.theta_s, curve.theta_r, curve.n, taper
        )
        assert mean_water_content(height, found, taper) == pytest.approx(capacity, abs=1e-9)
        assert found.alpha == pytest.approx(curve.alpha, rel=1e-5)


def test_no_curve_passes_through_an_impossible_capacity():
    found = curve_through_capacity([0.95, 0.05, np.nan], 10.0, 0.9, 0.1, 1.5)
    assert np.all(np.isnan(found.alpha))


@pytest.mark.parametrize(
    ("suction", "curve"),
    [(-1.0, RetentionCurve(0.5, 0.1, 0.1, 2.0)), (1.0, RetentionCurve(0.5, 0.1, 0.1, 1.0))],
)
def test_arguments_without_meaning_are_refused(suction, curve):
    with pytest.raises(ValueError, match="must"):
        water_content_van_genuchten(suction, curve)
