import pytest

from saltcalc.data.minerals import salts
from saltcalc.data.reported_ions import form_slips, molar_mass, reported_ions, unit_slips
from tests.data.test_figures_hold_together import rows_of


@pytest.mark.parametrize(
    ("formula", "mass"),
    [("Na", 22.98976928), ("NO3", 62.004), ("(NH4)2SO4", 132.14), ("Ca(H2PO4)2", 234.05)],
)
def test_molar_mass_of_a_formula(formula, mass):
    assert molar_mass(formula) == pytest.approx(mass, abs=0.006)


@pytest.mark.parametrize("formula", ["", "Xx2", "CaSO4·2H2O", "(NO3"])
def test_what_is_no_formula_is_refused(formula):
    with pytest.raises(ValueError, match=r"formula|atomic weight"):
        molar_mass(formula)


def test_every_salt_and_reported_form_has_a_mass():
    assert all(salt.molar_mass > 50 for salt in salts().values())
    assert all(ion.molar_mass > 10 for ion in reported_ions().values())


@pytest.mark.parametrize(
    ("slip", "ion", "factor"),
    [
        ("nitrate_as_nitrate", "nitrate_n", 0.2259),
        ("sulfate_as_sulfate", "sulfate_s", 0.3338),
        ("phosphorus_as_oxide", "phosphorus", 0.4364),
        ("potassium_as_oxide", "potassium", 0.8302),
        ("alkalinity_as_calcium_carbonate", "bicarbonate", 1.219),
        ("hardness_as_calcium_carbonate", "magnesium", 0.2428),
    ],
)
def test_factors_between_forms(slip, ion, factor):
    """The usual conversion factors of laboratories and fertilizer labels (common practice)."""
    assert form_slips()[slip][ion] == pytest.approx(factor, abs=1e-4, rel=3e-4)


def test_factors_between_units():
    """40.078 mg of calcium in a mmol, half of that in a meq; the table of atomic weights (2021)."""
    assert unit_slips()["millimoles_as_milligrams"]["calcium"] == pytest.approx(40.078)
    assert unit_slips()["equivalents_as_milligrams"]["calcium"] == pytest.approx(20.039)


ATOMIC_WEIGHTS = """
H 1.008 B 10.81 C 12.011 N 14.007 O 15.999 Na 22.990 Mg 24.305 P 30.974 S 32.06 Cl 35.45 K 39.098
Ca 40.078 Mn 54.938 Fe 55.845 Cu 63.546 Zn 65.38
"""
"""As every periodic table has them."""


def test_atomic_weights():
    cells = ATOMIC_WEIGHTS.split()
    found = {row["symbol"]: float(row["weight"]) for row in rows_of("atomic_weights")}
    expected = dict(zip(cells[::2], map(float, cells[1::2]), strict=True))
    assert found == pytest.approx(expected, abs=0.006)
