"""Osmotic potential against published osmotic coefficients and handbook rules."""

import numpy as np
import pytest

from saltcalc.science.osmotic import (
    osmotic_coefficient_davies,
    osmotic_potential_from_ions,
    osmotic_potential_handbook60,
)

# Robinson & Stokes (1959), Electrolyte Solutions, appendix 8.10, osmotic coefficients at 25 °C
# (from memory): molality of the salt [mmol/kg], ions per salt, charges, coefficient, tolerance.
ROBINSON_STOKES = [
    ("NaCl", 100.0, (1, 1), (1, -1), 0.9324, 0.006),
    ("KCl", 100.0, (1, 1), (1, -1), 0.9266, 0.012),
    ("NaNO3", 100.0, (1, 1), (1, -1), 0.921, 0.018),
    ("KNO3", 100.0, (1, 1), (1, -1), 0.906, 0.035),
    ("CaCl2", 100.0, (1, 2), (2, -1), 0.854, 0.04),
    ("MgCl2", 100.0, (1, 2), (2, -1), 0.861, 0.03),
    ("Ca(NO3)2", 100.0, (1, 2), (2, -1), 0.827, 0.075),
]


@pytest.mark.parametrize(
    ("molality", "counts", "charges", "coefficient", "tolerance"),
    [case[1:] for case in ROBINSON_STOKES],
    ids=[case[0] for case in ROBINSON_STOKES],
)
def test_osmotic_coefficient_of_single_salts(molality, counts, charges, coefficient, tolerance):
    assert osmotic_coefficient_davies(np.multiply(counts, molality), charges) == pytest.approx(
        coefficient, rel=tolerance
    )


def test_sulfate_of_magnesium_pairs_and_reads_too_strong_without_its_pairs():
    # Robinson & Stokes (1959): MgSO4 0.1 mol/kg, 0.606 (from memory). Ion pairing is not in the
    # Davies equation: the free ions alone give a third too much, as the docstring warns.
    unpaired = float(osmotic_coefficient_davies([100.0, 100.0], [2, -2]))
    assert unpaired / 0.606 == pytest.approx(1.35, abs=0.05)


def test_dilute_sodium_chloride_pulls_as_measured():
    # 0.1 mol/L NaCl: 0.932 * 2 * 0.1 * 2479 kPa = 462 kPa (van 't Hoff with the measured
    # coefficient of Robinson & Stokes 1959); 43 kPa for each dS/m of its 10.67 dS/m.
    potential = osmotic_potential_from_ions([100.0, 100.0], [1, -1])
    assert potential == pytest.approx(-462.0, rel=0.006)
    assert potential / osmotic_potential_handbook60(10.67) == pytest.approx(1.19, abs=0.02)


def test_physiological_saline():
    # 0.9 % NaCl, 154 mmol/L, osmolality 286 mOsm/kg (pharmacopoeia figure, from memory).
    pull = osmotic_potential_from_ions([154.0, 154.0], [1, -1], temperature=37.0)
    assert -pull == pytest.approx(0.286 * 8.314462618 * 310.15, rel=0.015)


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
    potential = osmotic_potential_from_ions(
        [[0.0, 0.0], [10.0, 10.0], [np.nan, 10.0]], [1, -1], temperature=[20.0, 20.0, 20.0]
    )
    assert not np.signbit(potential[0])
    assert not np.signbit(osmotic_potential_handbook60(0.0))
    assert potential[1] < 0.0
    assert np.isnan(potential[2])
    assert np.isnan(osmotic_potential_handbook60(np.nan))
