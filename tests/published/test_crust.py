"""The crust of a drying solution against a classical experiment."""

import pytest

from saltcalc.science import phreeqc
from saltcalc.science.crust import crust


@pytest.mark.skipif(not phreeqc.available(), reason="the chemistry extra is not installed")
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
    assert 2.8 < found["gypsum"] < 4.2
    assert 8 < found["common_salt"] < 12.5
