"""The crust of a drying solution against a classical experiment."""

import pytest

from saltcalc.science.crust import crust


@pytest.mark.engine
@pytest.mark.independent
def test_seawater_dries_in_the_classical_order():
    """Usiglio (1849): lime, then gypsum near 3.6 times, then common salt near 10 times."""
    seawater = {
        "calcium": 20.6,
        "magnesium": 106.3,
        "sodium": 468.4,
        "potassium": 10.2,
        "chloride": 545.9,
        "bicarbonate": 2.3,
        "sulfate_s": 56.5,
    }
    found = {one.id: one.concentration for one in crust(seawater, 8.2)}
    order = sorted(found, key=found.__getitem__)
    assert order[:2] == ["calcium_carbonate", "gypsum"]
    assert found["gypsum"] == pytest.approx(3.6, rel=0.05)
    assert found["common_salt"] == pytest.approx(10.0, rel=0.1)


@pytest.mark.engine
@pytest.mark.independent
def test_alkali_water_dries_to_sodium_carbonates():
    """Hardie & Eugster (1970): water that lime leaves with alkalinity to spare becomes a sodium
    carbonate brine. A drying with PHREEQC's pitzer.dat in air, run apart from this package, gave
    lime at once, nesquehonite near 30, gaylussite near 600 and trona near 800 times."""
    borehole = {
        "sodium": 9.0, "bicarbonate": 8.0, "calcium": 1.0, "magnesium": 0.8, "sulfate_s": 1.2,
        "chloride": 1.8,
    }  # fmt: skip
    found = {one.id: one.concentration for one in crust(borehole, 8.2)}
    assert list(found)[:4] == [
        "calcium_carbonate",
        "magnesium_carbonate",
        "sodium_calcium_carbonate",
        "sodium_carbonate_bicarbonate",
    ]
    assert found["sodium_calcium_carbonate"] == pytest.approx(600, rel=0.2)
    assert found["sodium_carbonate_bicarbonate"] == pytest.approx(800, rel=0.2)
