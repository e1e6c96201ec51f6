"""The default washout curves against what was published on container media and field soils.

What is compared is what is LEFT, since a removal of 99 against 90 % hides a tenfold difference. A
figure that a default was chosen by is kept apart: meeting it is a fit, not a check.
"""

import numpy as np
import pytest

from saltcalc.data.washout import ion_retention, washout_defaults
from saltcalc.data.watering import intake_rates
from saltcalc.science import cycles
from saltcalc.science.flush import WashoutParameters, apply_water, settled_ec, uniform_state
from saltcalc.science.sampled_pots import layers_at
from saltcalc.science.uncertainty import (
    HIGH,
    LOW,
    Interval,
    amount_at,
    logit_normal_quantile,
    normal_sample,
)
from tests.washing import wash

WATER_SHARE = {"peat": 0.70, "mineral": 0.38}


def default(medium_class):
    row = washout_defaults()[medium_class]
    return WashoutParameters(
        row.efficiency.value,
        row.immobile_water_fraction.value,
        row.mass_transfer_coefficient.value,
        row.sorbed_ratio.value,
    )


def left_after(medium_class, capacities, hours):
    p = default(medium_class)
    state = apply_water(uniform_state(1.0, p), p, capacities, 0.0, hours).state
    return float(settled_ec(state, p))


def left_interval(medium_class, capacities, hours, size=1024):
    """80 % interval of the share left, over the defaults' own intervals and the layers."""
    row, z = washout_defaults()[medium_class], normal_sample(5, size)
    efficiency, immobile, rate, store = (
        Interval.of(figure.value, figure.low, figure.high)
        for figure in (
            row.efficiency,
            row.immobile_water_fraction,
            row.mass_transfer_coefficient,
            row.sorbed_ratio,
        )
    )
    pots = cycles.Pots.of(
        logit_normal_quantile(z[:, 0], efficiency),
        logit_normal_quantile(z[:, 1], immobile),
        amount_at(z[:, 2], rate),
        amount_at(z[:, 3], store),
        layers_at(z[:, 4]),
    )
    start = cycles.even_excess(pots, 1.0, 0.0)
    moved = cycles.moved_by(cycles.pass_map(pots, capacities, hours), start)
    return np.quantile(cycles.settled_excess(pots, moved), [LOW, HIGH])


def ponded(depths, texture):
    """Capacities, and hours, of so many depths of water ponded on 30 cm of soil."""
    return depths / WATER_SHARE["mineral"], 300.0 * depths / intake_rates()[texture].rate.value


class TestFits:
    """What the defaults were chosen by."""

    @pytest.mark.parametrize("hours", [10, 12, 16, 24])
    def test_compost(self, hours):
        """Carrion and others (2005), Acta Hort. 697:117-124, abstract: 16, 11 and 23 % left after
        8 container capacities of distilled water; the time it took is not in the abstract. A
        well-mixed pot would hold 0.03 %."""
        assert 0.11 <= left_after("compost", 8.0, hours) <= 0.23

    @pytest.mark.parametrize(("depths", "left"), [(0.5, 0.5), (1.0, 0.2), (2.0, 0.1)])
    def test_mineral(self, depths, left):
        """Agriculture Handbook 60 (from memory): 15, 30, 60 cm of water through 30 cm of soil."""
        low, high = left_interval("mineral", *ponded(depths, "loam"))
        assert low < left < high
        assert left_after("mineral", *ponded(depths, "loam")) == pytest.approx(left, rel=0.3)

    @pytest.mark.parametrize("medium_class", ["peat", "coir", "mix"])
    def test_displacement_falls_off_after_one_and_a_half_capacities(self, medium_class):
        """Kerr (1983) and Kerr & Hanan (1985), J. Amer. Soc. Hort. Sci. 110:474-480, abstract:
        most of the displacement comes within 1 to 1.5 container capacities of effluent."""
        left = wash(1.0, 0.0, default(medium_class), [0.25] * 12, 0.1, 0.25).ec_medium
        assert left[5] < 0.5
        assert left[5] - left[11] < 0.5 * (1 - left[5])


class TestChecks:
    """What no default was chosen by."""

    @pytest.mark.independent
    def test_compost_drainage_is_weak_after_five_container_capacities(self):
        """Carrion and others (2005): after 5 container capacities of effluent its EC had come down
        to that of limed peat. No figure is given; below a tenth of the start is taken."""
        p = default("compost")
        result = apply_water(uniform_state(1.0, p), p, 5.0, 0.0, 10.0)
        assert apply_water(result.state, p, 0.01, 0.0, 0.02).ec_drainage < 0.1

    @pytest.mark.independent
    @pytest.mark.parametrize("depths", [1.0, 1.5, 2.0])
    def test_peat_soil_lies_in_the_upper_half_of_the_interval(self, depths):
        """Hoffman (1980), k = 0.45 for organic soil (from memory), ponded for some hours. The
        middle of the default leaves less than that: the bias is on the unsafe side, so the
        interval has to reach it."""
        capacities, hours = depths / WATER_SHARE["peat"], 2.0 * depths
        published = 0.45 / depths
        low, high = left_interval("peat", capacities, hours)
        assert low < published < high
        assert left_after("peat", capacities, hours) < published

    @pytest.mark.independent
    @pytest.mark.parametrize("depths", [1.0, 1.5, 2.0])
    def test_clay_loam_lies_in_the_interval(self, depths):
        """Hoffman (1980), k = 0.3 for clay loam (from memory), at the rate clay loam lets in."""
        published = 0.3 / depths
        low, high = left_interval("mineral", *ponded(depths, "clay_loam"))
        assert low < published < high

    @pytest.mark.independent
    @pytest.mark.parametrize("depths", [1.0, 2.0])
    def test_sandy_loam_washes_out_faster_than_the_default(self, depths):
        """Hoffman (1980), k = 0.1 for sandy loam (from memory): it disagrees, on the cautious side.
        One default serves all mineral media, and sand keeps less than it says."""
        low, _ = left_interval("mineral", *ponded(depths, "sandy_loam"))
        assert 0.1 / depths < 1.5 * low

    @pytest.mark.independent
    def test_rests_help_in_field_soil_as_published(self):
        """Plain leaching of saline soils (J. Irrig. Sci. Eng., abstract): 50 cm of water took out
        61 % at once and 72 % in five lots, so lots left 0.72 of what one application left. The
        depth of soil is not given: half a depth of water is where the default leaves about what
        one application left. Lots a day apart."""
        p = default("mineral")
        capacities, hours = ponded(0.5, "loam")
        at_once = left_after("mineral", capacities, hours)
        assert at_once == pytest.approx(0.39, abs=0.05)
        in_lots = wash(1.0, 0.0, p, [capacities / 5] * 5, hours / 5, 24.0).ec_medium[-1]
        assert in_lots / at_once == pytest.approx(0.72, rel=0.15)

    @pytest.mark.parametrize("medium_class", ["peat", "bark", "coir", "mix"])
    def test_one_pot_volume_takes_out_most_of_a_starter_charge(self, medium_class):
        """Rule of thumb of a trade article: after one pot volume has drained the starter charge is
        taken as gone. Poured in eight passes over a day the default leaves a third at most, and
        never nothing: the cautious side."""
        share = {"peat": 0.65, "bark": 0.48, "coir": 0.70, "mix": 0.55}[medium_class]
        left = wash(1.0, 0.0, default(medium_class), [1 / share / 8] * 8, 0.25, 1.0).ec_medium[-1]
        assert 0.03 < left < 0.34

    @pytest.mark.parametrize("medium_class", list(washout_defaults()))
    def test_the_efficiency_holds_both_readings_of_the_evidence(self, medium_class):
        """Pairs of pour-through and extract put the solution share of a slow drainage at 0.83 to
        1.0 (class pairs of the Univ. of Massachusetts; an extract takes 1.3 to 1.5 times the water
        of the pot, Altland 2021); curves once read with 0.6 to 0.7."""
        efficiency = washout_defaults()[medium_class].efficiency
        assert efficiency.low <= 0.6
        assert efficiency.high >= 0.9


def test_bark_holds_potassium():
    """Hoskins and others (2014), J. Amer. Soc. Hort. Sci. 139:634-641, abstract: 37 % of the
    potassium applied to 9 bark and 1 sand stayed, so at least 0.37/0.63 of what is dissolved."""
    held = ion_retention()["bark", "potassium"].sorbed_ratio
    assert held.low == pytest.approx(0.37 / 0.63, abs=0.005)
    assert held.value > held.low
