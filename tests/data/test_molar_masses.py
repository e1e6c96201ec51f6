import pytest

from saltcalc.data.minerals import salts
from saltcalc.data.reported_ions import form_slips, molar_mass, reported_ions, unit_slips


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
