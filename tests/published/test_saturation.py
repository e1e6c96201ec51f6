"""Saturation and gypsum against handbook figures and PHREEQC."""

import csv
from pathlib import Path

import pytest

from saltcalc.science import phreeqc
from saltcalc.science.saturation import (
    ec_saturated_with_gypsum,
    gypsum_to_saturation,
    saturation_index,
)

with (Path(__file__).parent / "extracts.csv").open(encoding="utf-8") as _file:
    EXTRACTS = list(csv.DictReader(_file))


@pytest.mark.independent
def test_gypsum_solubility_and_the_ec_of_its_solution():
    """Handbooks: 2.6 g/L or 15.2 mmol/L at 25 °C, EC about 2.2 dS/m (from memory)."""
    assert gypsum_to_saturation({}) == pytest.approx(15.2, rel=0.02)
    assert ec_saturated_with_gypsum({}) == pytest.approx(2.2, rel=0.03)


@pytest.mark.independent
def test_gypsum_dissolves_more_in_common_salt():
    """Marshall & Slusher (1966): near 23 mmol/kg at 0.1 mol/kg NaCl, 25 °C (from memory)."""
    dissolved = gypsum_to_saturation({"sodium": 100.0, "chloride": 100.0})
    assert dissolved == pytest.approx(23, rel=0.08)


@pytest.mark.engine
@pytest.mark.independent
@pytest.mark.parametrize("extract", EXTRACTS, ids=lambda row: row["id"])
def test_indices_against_phreeqc(extract):
    """PHREEQC with phreeqc.dat, run here; its own error in a saturation index is near 0.1."""
    ions = {key: float(cell) for key, cell in extract.items() if key not in {"id", "kind", "ph"}}
    ph = float(extract["ph"])
    engine = phreeqc.solve(ions, ph).saturation
    assert saturation_index("gypsum", ions, ph) == pytest.approx(engine["Gypsum"], abs=0.05)
    if ions["bicarbonate"] >= 0.2:  # less is drowned in the alkalinity of phosphate
        assert saturation_index("calcite", ions, ph) == pytest.approx(engine["Calcite"], abs=0.07)


@pytest.mark.engine
@pytest.mark.independent
@pytest.mark.parametrize("ph", [5.5, 6.5, 7.5])
@pytest.mark.parametrize("mineral", ["brushite", "hydroxyapatite"])
def test_calcium_phosphates_against_phreeqc(mineral, ph):
    """PHREEQC, run here; for brushite with the constant of Gregory and others (1970)."""
    ions = {"calcium": 8.0, "phosphorus": 1.0, "potassium": 3.0, "nitrate_n": 10.0}
    engine = phreeqc.solve(ions, ph).saturation[mineral.capitalize()]
    assert saturation_index(mineral, ions, ph) == pytest.approx(engine, abs=0.05)
