"""The solubilities of the salts of the crust against the tables of the CRC Handbook, 98th ed.

Both tables were read in copies (Bustamante 2020, an open data collection).
"""

import pytest

from saltcalc.data.minerals import salts

HYDROGEN_PHOSPHATES = """
PHASES
Brushite
    CaHPO4:2H2O = Ca+2 + HPO4-2 + 2 H2O
    log_k -6.59
Newberyite
    MgHPO4:3H2O = Mg+2 + HPO4-2 + 3 H2O
    log_k -5.83
END
"""
"""Gregory, Moreno & Brown (1970), abstract: ln Ks = 41.863 - 8403.5/T - 0.09678 T, at 25 °C.
Racz & Soper (1968), abstract: pKsp 5.83."""

WORKED_OUT = [
    ("CaCO3", "phreeqc.dat", "Calcite", "Ca"),
    ("CaHPO4·2H2O", "phreeqc.dat", "Brushite", "Ca"),
    ("MgCO3", "pitzer.dat", "Nesquehonite", "Mg"),
    ("MgHPO4·3H2O", "phreeqc.dat", "Newberyite", "Mg"),
]

# Aqueous solubility of inorganic compounds: % of the saturated solution by mass, 25 °C.
MASS_PERCENT = {
    "CaSO4·2H2O": 0.205,
    "CaCl2": 44.83,
    "Ca(NO3)2": 59.0,
    "MgSO4": 26.3,
    "MgCl2": 35.9,
    "Mg(NO3)2": 41.6,
    "NaHCO3": 9.32,
    "NaH2PO4": 48.68,
    "Na2SO4": 21.94,
    "NaCl": 26.45,
    "NaNO3": 47.7,
    "NH4HCO3": 19.9,
    "NH4H2PO4": 28.8,
    "(NH4)2SO4": 43.3,
    "NH4Cl": 28.34,
    "NH4NO3": 68.0,
    "KHCO3": 26.6,
    "KH2PO4": 19.97,
    "K2SO4": 10.7,
    "KCl": 26.22,
    "KNO3": 27.7,
}

# Solubility of common salts at ambient temperatures: mol per kg of water, 25 °C.
MOLALITY = {
    "Ca(NO3)2": 8.675,
    "Mg(NO3)2": 4.800,
    "NH4Cl": 7.331,
    "NH4NO3": 26.496,
    "(NH4)2SO4": 5.790,
    "NaCl": 6.153,
    "NaNO3": 10.723,
}


def salt(formula):
    (found,) = [one for one in salts().values() if one.formula == formula]
    return found


@pytest.mark.parametrize(("formula", "percent"), MASS_PERCENT.items())
def test_solubility_from_mass_percent(formula, percent):
    assert salt(formula).solubility == pytest.approx(100 * percent / (100 - percent), rel=0.003)


@pytest.mark.independent
@pytest.mark.parametrize(("formula", "molality"), MOLALITY.items())
def test_solubility_from_molality(formula, molality):
    """The second table differs from the first by up to 1.2 % (calcium nitrate)."""
    one = salt(formula)
    assert one.solubility_mmolc == pytest.approx(1e3 * molality * one.charge, rel=0.015)


@pytest.mark.engine
@pytest.mark.parametrize(("formula", "database", "phase", "element"), WORKED_OUT)
def test_solubility_worked_out_with_phreeqc(formula, database, phase, element):
    phreeqpython = pytest.importorskip("phreeqpython")
    engine = phreeqpython.PhreeqPython(database=database)
    if phase in {"Brushite", "Newberyite"}:
        engine.ip.run_string(HYDROGEN_PHOSPHATES)
    solution = engine.add_solution({})
    solution.equalize([phase], [0])
    molality = solution.total(element, "mol")
    one = salt(formula)
    assert one.provenance == "computed"
    assert one.solubility == pytest.approx(molality * one.molar_mass / 10, rel=0.03)
