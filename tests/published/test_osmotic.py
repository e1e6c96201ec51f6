"""Osmotic potential against handbook rules."""

import numpy as np
import pytest

from saltcalc.science.osmotic import osmotic_potential_handbook60


@pytest.mark.parametrize(("ec", "atmospheres"), [(3.0, 1.08), (10.0, 3.6), (30.0, 10.8)])
def test_handbook60_rule(ec, atmospheres):
    # U.S. Salinity Laboratory Staff (1954), Handbook 60, ch. 1: OP (atm) = 0.36 EC, 3-30 dS/m.
    assert osmotic_potential_handbook60(ec) == pytest.approx(-atmospheres * 101.325, rel=1e-9)


@pytest.mark.parametrize(("ec", "kilopascal"), [(4.0, 144.0), (8.0, 288.0)])
def test_rounded_rule_of_the_salinity_laboratory(ec, kilopascal):
    # U.S. Salinity Laboratory (1954), as taught in a course page on the osmotic effect: 36 kPa for
    # each dS/m; a saturated extract of 2 dS/m stands for 4 dS/m in the field and pulls 144 kPa.
    assert osmotic_potential_handbook60(ec) == pytest.approx(-kilopascal, rel=0.015)


def test_missing_stays_missing_and_pure_water_pulls_nothing():
    assert not np.signbit(osmotic_potential_handbook60(0.0))
    assert np.isnan(osmotic_potential_handbook60(np.nan))
