"""Water in containers against published columns and container-capacity data."""

import numpy as np
import pytest

from saltcalc.data.substrates import substrates
from saltcalc.data.watering import intake_rates
from saltcalc.science.substrate import (
    RetentionCurve,
    curve_through_capacity,
    mean_water_content,
)


@pytest.mark.independent
@pytest.mark.parametrize(
    ("theta_r", "theta_s", "alpha", "n", "drained"),
    [
        pytest.param(0.053, 0.375, 0.03524, 3.1769, 1.318, id="sand"),
        pytest.param(0.049, 0.390, 0.03475, 1.7458, 1.231, id="loamy sand"),
        pytest.param(0.039, 0.387, 0.02667, 1.4488, 0.761, id="sandy loam"),
        pytest.param(0.061, 0.399, 0.01112, 1.4723, 0.248, id="loam"),
        pytest.param(0.065, 0.439, 0.00506, 1.6634, 0.074, id="silt loam"),
        pytest.param(0.050, 0.489, 0.00658, 1.6788, 0.131, id="silt"),
        pytest.param(0.063, 0.384, 0.02109, 1.3305, 0.470, id="sandy clay loam"),
        pytest.param(0.079, 0.442, 0.01581, 1.4158, 0.413, id="clay loam"),
        pytest.param(0.090, 0.482, 0.00839, 1.5205, 0.192, id="silty clay loam"),
        pytest.param(0.117, 0.385, 0.03342, 1.2078, 0.470, id="sandy clay"),
        pytest.param(0.111, 0.481, 0.01622, 1.3213, 0.397, id="silty clay"),
        pytest.param(0.098, 0.459, 0.01496, 1.2531, 0.317, id="clay"),
    ],
)
def test_water_drained_from_a_30_cm_column(theta_r, theta_s, alpha, n, drained):
    """Slides headed ROSETTA class averages, column "Drained Vol 0-30 cm" [cm].

    The column was read, and the parameters of Schaap et al. (2001) in a copy (below); they
    reproduce it to 4.7 % at worst. How the slides integrate is not stated, so that is left open.
    """
    curve = RetentionCurve(theta_s, theta_r, alpha, n)
    assert 30 * (theta_s - mean_water_content(30.0, curve)) == pytest.approx(drained, rel=0.06)


# Schaap et al. (2001), class averages: residual and saturated water content, log10 of alpha [1/cm],
# of n, and of the conductivity [cm/day]. Read in the averages that an open R library for soil
# textures keeps beside its code.
CLASS_AVERAGES = {
    "sand": (0.053, 0.375, -1.453, 0.502, 2.808),
    "loamy_sand": (0.049, 0.390, -1.459, 0.242, 2.022),
    "sandy_loam": (0.039, 0.387, -1.574, 0.161, 1.583),
    "loam": (0.061, 0.399, -1.954, 0.168, 1.081),
    "silt_loam": (0.065, 0.439, -2.296, 0.221, 1.261),
    "sandy_clay_loam": (0.063, 0.384, -1.676, 0.124, 1.120),
    "clay_loam": (0.079, 0.442, -1.801, 0.151, 0.913),
    "silty_clay_loam": (0.090, 0.482, -2.076, 0.182, 1.046),
    "sandy_clay": (0.117, 0.385, -1.476, 0.082, 1.055),
    "silty_clay": (0.111, 0.481, -1.790, 0.121, 0.983),
    "clay": (0.098, 0.459, -1.825, 0.098, 1.169),
}


@pytest.mark.parametrize("soil", CLASS_AVERAGES)
def test_soils_hold_the_class_averages(soil):
    theta_r, theta_s, log_alpha, log_n, _ = CLASS_AVERAGES[soil]
    row = substrates()[soil]
    assert (row.theta_r, row.theta_s) == (theta_r, theta_s)
    assert row.total_porosity == theta_s
    assert row.alpha == pytest.approx(10**log_alpha, rel=2e-3)
    assert row.n == pytest.approx(10**log_n, rel=2e-3)


@pytest.mark.parametrize("soil", CLASS_AVERAGES)
def test_wet_soil_takes_in_about_what_its_class_conducts(soil):
    conducted = 10 ** CLASS_AVERAGES[soil][4] * 10 / 24  # mm/h
    rate = intake_rates()[soil].rate
    assert rate.low <= 1.05 * conducted
    assert conducted <= 1.05 * rate.high


@pytest.mark.parametrize(
    ("medium", "air", "total"),
    [
        ("wood_chip_fine", 0.28, 0.85),
        ("wood_chip_coarse", 0.48, 0.90),
        ("pine_bark", 0.31, 0.79),
        ("sphagnum_peat", 0.11, 0.98),
    ],
)
def test_air_space_in_the_porometer(medium, air, total):
    """Boyer et al. (2012), Int. J. Agronomy 978528, Table 1: air and total porosity by volume."""
    row = substrates()[medium]
    curve = curve_through_capacity(
        row.container_capacity, row.capacity_height, row.total_porosity, row.theta_r, row.n
    )
    held = mean_water_content(row.capacity_height, curve)
    assert total - held == pytest.approx(air, abs=0.005)


@pytest.mark.independent
def test_the_same_mix_in_a_bedding_cell():
    """Bilderback & Fonteno (1987), J. Environ. Hort. 5:180-182, abstract.

    43 % water and 28 % air in a number-one container, 59 % and 12 % in a bedding-plant cell. The
    abstract gives no heights; about 15 and 5 cm are from memory. The curve is fixed at the first
    container alone, with the borrowed shape, so the cell is a prediction: within 4 points.
    """
    row = substrates()["bark_nursery_mix"]
    curve = curve_through_capacity(0.43, 15.0, 0.71, row.theta_r, row.n)
    assert mean_water_content(5.0, curve) == pytest.approx(0.59, abs=0.04)


@pytest.mark.independent
def test_height_effect_in_bark_lies_between_medium_and_fine():
    """Owen & Altland (2008), HortScience 43:505-508, abstract: from 3.8 to 15.2 cm of height the
    water held fell by 20 % (medium Douglas fir bark) and 42 % (fine)."""
    row = substrates()["pine_bark"]
    curve = curve_through_capacity(
        row.container_capacity, row.capacity_height, row.total_porosity, row.theta_r, row.n
    )
    low, high = mean_water_content(np.array([3.8, 15.2]), curve)
    assert 0.20 <= 1 - high / low <= 0.42


def test_coir_lies_within_the_published_ranges():
    """Evans et al. (1996), HortScience 31:965-967, abstract: water 73.0 to 80.0 %, total pore space
    85.5 to 89.5 % of the volume. Abad et al. (2005): 13 sources, water 137 to 786 mL/L."""
    fine, coarse = substrates()["coir_dust"], substrates()["coir_fibrous"]
    assert 0.730 <= fine.container_capacity <= 0.800
    assert 0.855 <= fine.total_porosity <= 0.895
    assert 0.137 <= coarse.container_capacity <= 0.786
