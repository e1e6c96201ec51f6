"""The default washout curves against what was published on container media and field soils."""

import numpy as np
import pytest

from saltcalc.data.washout import washout_defaults
from saltcalc.science.flush import WashoutParameters, apply_water, settled_ec, uniform_state
from saltcalc.science.passes import wash


def default(medium_class):
    row = washout_defaults()[medium_class]
    return WashoutParameters(
        row.efficiency.value,
        row.immobile_share.value,
        row.exchange_rate.value,
        row.store_ratio.value,
    )


def left_after(medium_class, capacities, hours):
    p = default(medium_class)
    state = apply_water(uniform_state(1.0, p), p, capacities, 0.0, hours).state
    return float(settled_ec(state, p))


@pytest.mark.parametrize("hours", [10, 12, 16, 24])
def test_compost_after_eight_container_capacities(hours):
    """Carrion and others (2005), Acta Hort. 697:117-124, abstract: 16, 11 and 23 % of the salt
    left after 8 container capacities of distilled water. The time it took is not in the abstract;
    over ten hours to a day the default stays within, a well-mixed pot would hold 0.03 %."""
    assert 0.11 <= left_after("compost", 8.0, hours) <= 0.23
    assert np.exp(-8.0) < 0.0004


@pytest.mark.parametrize("passes", [16, 27, 40])
def test_compost_after_eight_container_capacities_in_passes(passes):
    """The same, poured as a plan has it: a quarter of an hour a pass, half an hour of rest."""
    each = np.full(passes, 8.0 / passes)
    left = wash(1.0, 0.0, default("compost"), each, 0.25, 0.5).ec_medium[-1]
    assert 0.11 <= left <= 0.23


def test_compost_drainage_is_weak_after_five_container_capacities():
    """Same abstract: after 5 container capacities of effluent its EC had come down to that of
    limed peat. No figure is given; below a tenth of the start is taken."""
    p = default("compost")
    result = apply_water(uniform_state(1.0, p), p, 5.0, 0.0, 10.0)
    assert apply_water(result.state, p, 0.01, 0.0, 0.02).ec_drainage < 0.1


@pytest.mark.parametrize("medium_class", ["peat", "coir", "mix"])
def test_displacement_falls_off_after_one_and_a_half_capacities(medium_class):
    """Kerr (1983) and Kerr & Hanan (1985), J. Amer. Soc. Hort. Sci. 110:474-480, abstract: most of
    the displacement comes within 1 to 1.5 container capacities of effluent, then it slows."""
    remaining = wash(1.0, 0.0, default(medium_class), [0.25] * 12, 0.1, 0.25).ec_medium
    removed_first, removed_later = 1 - remaining[5], remaining[5] - remaining[11]
    assert removed_first > 0.5
    assert removed_later < 0.5 * removed_first


@pytest.mark.parametrize(
    ("water_over_soil", "removed"),
    [(0.5, 0.5), (1.0, 0.8), (2.0, 0.9)],
)
def test_mineral_default_against_the_handbook_rule(water_over_soil, removed):
    """Agriculture Handbook 60 (from memory): 15, 30, 60 cm of water through 30 cm of soil take out
    about 50, 80 and 90 %. The container model takes 38 % of the volume as water and drains it over
    a day; at half a depth it removes more (the rule is for ponded field plots): 0.2 is allowed."""
    left = left_after("mineral", water_over_soil / 0.38, 24 * water_over_soil)
    assert 1 - left == pytest.approx(removed, abs=0.2)


@pytest.mark.parametrize("water_over_soil", [1.0, 2.0])
def test_peat_default_against_hoffman(water_over_soil):
    """Hoffman (1980), k = 0.45 for organic soil (from memory), water 70 % of the volume."""
    left = left_after("peat", water_over_soil / 0.70, 2 * water_over_soil)
    assert left == pytest.approx(0.45 / water_over_soil, abs=0.15)


@pytest.mark.parametrize(
    ("medium_class", "water_share"),
    [("peat", 0.7), ("bark", 0.5), ("coir", 0.7), ("compost", 0.56), ("mineral", 0.4)],
)
def test_twice_the_pot_volume_makes_a_salty_pot_usable(medium_class, water_share):
    """University of California ANR, Soluble salts: flush with twice the pot's volume. From 5 to
    below 2 dS/m with water of 0.5 (a common case) takes out two thirds of the excess: the default
    does that within the rule's water in every class, and not with a tenth of it."""
    pot = 1 / water_share
    assert left_after(medium_class, 2 * pot, 8.0) < 1 / 3
    assert left_after(medium_class, 0.2 * pot, 8.0) > 1 / 3
