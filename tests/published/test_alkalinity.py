"""Alkalinity and hardness against published conversions and tables."""

import pytest

from saltcalc.science import alkalinity


@pytest.mark.independent
@pytest.mark.parametrize(
    ("value", "form", "mmolc", "source"),
    [
        (50.04, "mg/L CaCO3", 1.0, "molar masses, IUPAC 2021"),
        (100.0, "mg/L CaCO3", 2.0, "extension alkalinity conversion tables (from memory)"),
        (122.0, "mg/L HCO3", 2.0, "extension alkalinity conversion tables (from memory)"),
        (2.80, "°dH", 1.0, "definition: 1 °dH = 10 mg/L CaO = 0.357 mmol_c/L (DIN 38409-6)"),
        (5.00, "°fH", 1.0, "definition: 1 °fH = 10 mg/L CaCO3"),
        (3.51, "°e", 1.0, "definition: 1 °e = 14.25 mg/L CaCO3"),
    ],
)
def test_forms(value, form, mmolc, source):
    assert alkalinity.from_mmolc(mmolc, form) == pytest.approx(value, rel=0.002)


@pytest.mark.independent
@pytest.mark.parametrize(
    ("calcium", "magnesium", "caco3"), [(40.0, 12.0, 149.3), (80.0, 25.0, 302.7), (0.0, 10.0, 41.2)]
)
def test_hardness_as_calcium_carbonate(calcium, magnesium, caco3):
    """Standard Methods 2340B: 2.497 Ca + 4.118 Mg, mg/L (from memory)."""
    assert caco3 == pytest.approx(2.497 * calcium + 4.118 * magnesium, abs=0.1)
    total = alkalinity.hardness(calcium / 20.039, magnesium / 12.1525)
    assert alkalinity.from_mmolc(total, "mg/L CaCO3") == pytest.approx(caco3, rel=0.001)


@pytest.mark.parametrize(
    ("ph", "fractions"),
    [
        (5.5, (0.876, 0.124, 0.000)),
        (6.35, (0.500, 0.500, 0.000)),
        (7.0, (0.183, 0.817, 0.000)),
        (8.3, (0.011, 0.980, 0.009)),
        (10.33, (0.000, 0.500, 0.500)),
    ],
)
def test_carbonate_fractions(ph, fractions):
    """Stumm & Morgan, constants pK1 6.35 and pK2 10.33 (evaluated)."""
    assert alkalinity.carbonate_fractions(ph) == pytest.approx(fractions, abs=0.002)
