"""Sodium hazard against published worked examples and tables."""

import pytest

from saltcalc.data.water_classes import class_scales
from saltcalc.science import sodicity
from saltcalc.science.water_classes import classify

FAO29 = "Ayers & Westcot (1985), FAO 29 Rev. 1"
HB60 = "US Salinity Laboratory Staff (1954), USDA Handbook 60"

# The water FAO 29 uses to compare the sodium-hazard methods, mmol_c/L and dS/m.
FAO29_WATER = {"sodium": 7.73, "calcium": 2.32, "magnesium": 1.44}


@pytest.mark.independent
@pytest.mark.parametrize(
    ("sodium", "calcium", "magnesium", "expected", "tolerance", "source"),
    [
        (*FAO29_WATER.values(), 5.64, 0.02, f"{FAO29}, section 3.2 (from memory)"),
        (
            1000 / 22.99,
            200 / 20.04,
            100 / 12.15,
            14.6,
            0.25,
            "turf irrigation bulletin, inputs of its Tables 7-9; its printed 20.6 halves the root "
            "instead of its argument, 14.6 is evaluated from the definition (Na rounded to 44)",
        ),
        (63 / 22.99, 108 / 20.04, 33 / 12.15, 1.36, 0.01, "textbook Example 6.8, supply B"),
    ],
)
def test_sar(sodium, calcium, magnesium, expected, tolerance, source):
    assert sodicity.sar(sodium, calcium, magnesium) == pytest.approx(expected, abs=tolerance)


@pytest.mark.parametrize(
    ("sar", "expected", "source"),
    [
        (10, 11.9, f"{HB60}, p. 26 regression (evaluated)"),
        (13, 15.2, f"{HB60}, p. 26 regression (evaluated); the SSSA limit SAR 13 meets ESP 15"),
        (20, 22.0, f"{HB60}, p. 26 regression (evaluated)"),
    ],
)
def test_esp_from_sar(sar, expected, source):
    assert sodicity.exchangeable_sodium_percentage(sar) == pytest.approx(expected, abs=0.1)


def test_cross_and_mcar():
    """Definitions of Rengasamy & Marchuk (2011) and Smiles & Smith (2004), evaluated."""
    assert sodicity.cross(6, 3, 4, 2) == pytest.approx(4.76, abs=0.01)
    assert sodicity.mcar(6, 3, 4, 2) == pytest.approx(5.20, abs=0.01)


@pytest.mark.parametrize(
    ("ratio", "ec", "expected"),
    [(0.05, 0.1, 13.20), (1.0, 1.0, 2.09), (2.0, 2.0, 1.40), (30.0, 8.0, 0.28)],
)
def test_cax_table(ratio, ec, expected):
    """FAO 29 Table 11, cells (from memory)."""
    value, clamped = sodicity.cax(ec, ratio, 1.0)
    assert value == pytest.approx(expected, abs=0.005)
    assert not clamped


@pytest.mark.parametrize(
    ("sodium", "calcium", "magnesium", "bicarbonate", "ec", "cax", "adjusted"),
    [
        (10.0, 4.0, 2.0, 4.0, 1.0, 2.09, 6.99),
        (10.0, 2.0, 2.0, 4.0, 1.0, 1.31, 7.77),
        (20.0, 5.0, 4.0, 2.5, 2.0, 3.54, 10.30),
        (7.73, 2.32, 1.44, 3.66, 1.15, 1.54, 6.33),
    ],
)
def test_adjusted_sar(sodium, calcium, magnesium, bicarbonate, ec, cax, adjusted):
    """FAO 29 Eq. 3 evaluated by hand with Ca_x from its Table 11.

    The last is the water that FAO 29 compares methods with (from memory), Ca_x interpolated between
    the printed 1.58 and 1.43 at ECw 1.0 and 1.65 and 1.49 at ECw 1.5.
    """
    found = sodicity.adjusted_sar_suarez(sodium, calcium, magnesium, bicarbonate, ec)
    assert found.calcium == pytest.approx(cax, abs=0.011)
    assert found.sar == pytest.approx(adjusted, rel=0.005)


@pytest.mark.parametrize(
    ("bicarbonate", "calcium", "magnesium", "rsc", "name"),
    [
        (3.0, 1.0, 1.0, 1.0, "safe"),
        (5.0, 2.0, 1.0, 2.0, "marginal"),
        (6.0, 2.0, 1.0, 3.0, "not_suitable"),
        (2.0, 4.0, 2.0, -4.0, "safe"),
    ],
)
def test_residual_sodium_carbonate(bicarbonate, calcium, magnesium, rsc, name):
    """Definition of Eaton (1950); class limits 1.25 and 2.5 of Handbook 60, p. 81."""
    value = sodicity.residual_sodium_carbonate(bicarbonate, calcium, magnesium)
    scale = class_scales()["hb60", "rsc"]
    assert value == pytest.approx(rsc)
    assert scale.names[classify(value, scale)] == name
