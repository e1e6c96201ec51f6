"""Leaching requirement and fraction against published examples and tables."""

import pytest

from saltcalc.science import leaching


def test_rhoades_requirement_of_the_fao_maize_example():
    """FAO 29 Rev. 1, section 2.4.2, maize: ECw 1.2, ECe 2.5 (90 % yield), ET 800 mm/season.

    Figures from memory: the text rounds the requirement, 0.106, to 0.10, and gives 890 mm.
    """
    requirement = leaching.leaching_requirement_rhoades(1.2, 2.5)
    assert requirement == pytest.approx(0.10, abs=0.01)
    assert 800 * leaching.water_factor(0.10) == pytest.approx(890, rel=0.01)


def test_water_factor_of_the_tomato_example():
    """ASCE Manual 71 tomato example, as taught in SDSU CIVE 633: ET 100, LR 0.2, apply 125."""
    assert 100 * leaching.water_factor(0.2) == pytest.approx(125, rel=1e-3)


def test_requirement_with_drainage_twice_the_extract():
    """Irrigation question bank, saline land: water 1.5, extract 10, drainage taken as 20: 7.5 %.

    That is the high-frequency form with a zero-yield EC of 10 dS/m.
    """
    assert leaching.leaching_requirement_high_frequency(1.5, 10.0) == pytest.approx(
        0.075, rel=0.005
    )


def test_leaching_fraction_of_an_irrigation():
    """Definition in Million & Yeager, UF/IFAS ENH1268: drained over applied; 75 of 500 mL."""
    assert leaching.leaching_fraction_from_volumes(0.5, 0.075) == pytest.approx(0.15)


@pytest.mark.parametrize(
    ("fraction", "applied_per_cent_of_et"),
    [
        (0.05, 105.3),
        (0.10, 111.1),
        (0.15, 117.6),
        (0.20, 125.0),
        (0.25, 133.3),
        (0.30, 142.9),
        (0.40, 166.7),
        (0.50, 200.0),
        (0.60, 250.0),
        (0.70, 333.3),
        (0.80, 500.0),
    ],
)
def test_applied_water_of_fao29_table_3(fraction, applied_per_cent_of_et):
    """FAO 29 Rev. 1, table 3 (from memory)."""
    assert 100 * leaching.water_factor(fraction) == pytest.approx(applied_per_cent_of_et, abs=0.06)
