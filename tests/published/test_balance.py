"""Charge balance and hypothetical salts against published criteria and evaluated examples."""

import pytest

from saltcalc.science.balance import (
    BALANCE_VERDICTS,
    charge_balance,
    ec_agreement,
    hypothetical_salts,
)
from saltcalc.science.ec_bounds import ec_lower_bound

SM_1030E = "Standard Methods 1030E, criteria for acceptance of charge balance (from memory)"


@pytest.mark.parametrize(
    ("anions", "cations", "verdict", "source"),
    [
        (2.0, 2.19, "balanced", f"{SM_1030E}: 0.2 mmol_c/L for an anion sum to 3"),
        (2.0, 2.25, "anions_missing", SM_1030E),
        (2.0, 1.75, "cations_missing", SM_1030E),
        (6.0, 6.2, "balanced", f"{SM_1030E}: 2 % for an anion sum of 3 to 10"),
        (6.0, 6.3, "anions_missing", SM_1030E),
        (50.0, 54.0, "balanced", f"{SM_1030E}: 5 % for an anion sum of 10 to 800"),
        (50.0, 56.0, "anions_missing", SM_1030E),
        (50.0, 44.0, "cations_missing", SM_1030E),
    ],
)
def test_criterion(anions, cations, verdict, source):
    found = charge_balance({"chloride": anions, "sodium": cations})
    assert BALANCE_VERDICTS[found.verdict] == verdict
    assert found.error == pytest.approx(100 * (cations - anions) / (cations + anions))


@pytest.mark.parametrize(("measured", "agrees"), [(0.91, True), (1.09, True), (1.12, False)])
def test_measured_over_calculated_conductivity(measured, agrees):
    """Standard Methods 1030E: the ratio should lie from 0.9 to 1.1 (from memory)."""
    assert (ec_agreement(measured, 1.0).verdict == 0) == agrees


@pytest.mark.independent
def test_seawater_balances():
    """PHREEQC manual, example 1: seawater of Nordstrom et al. (1979), mg/kg of the major ions."""
    seawater = {
        "calcium": 412.3 / 20.039,
        "magnesium": 1291.8 / 12.1525,
        "sodium": 10768.0 / 22.98976928,
        "potassium": 399.1 / 39.0983,
        "chloride": 19353.0 / 35.45,
        "bicarbonate": 141.682 / 61.016,
        "sulfate_s": 2712.0 / 48.028,
    }
    found = charge_balance(seawater)
    assert abs(found.error) < 0.2
    assert BALANCE_VERDICTS[found.verdict] == "balanced"


@pytest.mark.independent
def test_hypothetical_salts_of_a_bar_diagram():
    """Bars of Collins (1923) evaluated by hand.

    Ca 4, Mg 1, Na 2, K 0.5 against HCO3 3, SO4 2, Cl 2, NO3 0.5 mmol_c/L.
    """
    salts = hypothetical_salts(
        {
            "calcium": 4.0,
            "magnesium": 1.0,
            "sodium": 2.0,
            "potassium": 0.5,
            "bicarbonate": 3.0,
            "sulfate_s": 2.0,
            "chloride": 2.0,
            "nitrate_n": 0.5,
        }
    )
    made = {pair: float(amount) for pair, amount in salts.items() if amount > 0}
    assert made == {
        ("calcium", "bicarbonate"): 3.0,
        ("calcium", "sulfate_s"): 1.0,
        ("magnesium", "sulfate_s"): 1.0,
        ("sodium", "chloride"): 2.0,
        ("potassium", "nitrate_n"): 0.5,
    }


@pytest.mark.independent
def test_nitrate_sets_a_floor_near_the_sum_of_two_limiting_conductivities():
    """CRC Handbook: nitrate 71.4 and the least plausible cation, sodium 50.1 S cm²/mol_c.

    At 1 mmol/L their sum is 0.1215 dS/m, less about 2 % for ionic strength.
    """
    assert ec_lower_bound({"nitrate_n": 1.0}).ec == pytest.approx(0.1215, rel=0.05)
