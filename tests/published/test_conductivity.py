"""EC from ions against certified, handbook and engine figures, in that order of rank.

The radii behind the activity correction were fitted to the handbook rows of single salts
(``python -m benchmarks.contact_radii``); the certified solutions and the mixed extracts were not
used for that.
"""

import csv
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from saltcalc.science import phreeqc
from saltcalc.science.conductivity import ec_from_ions
from saltcalc.science.speciation import speciate

HERE = Path(__file__).parent

FEW_PAIRS = 0.03


def _ions(extract):
    return {key: float(cell) for key, cell in extract.items() if key not in {"id", "kind", "ph"}}


def _rows(name):
    with (HERE / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


SALTS = _rows("equivalent_conductivity.csv")
EXTRACTS = _rows("extracts.csv")
PYEQL = {row["id"]: float(row["ec"]) for row in _rows("pyeql.csv")}


@pytest.mark.independent
@pytest.mark.parametrize(
    ("molar", "ec", "tolerance", "source"),
    [
        (0.01, 1.413, 0.01, "certified KCl 0.01 mol/L, 1413 µS/cm at 25 °C (ASTM D1125; OIML)"),
        (0.1, 12.88, 0.01, "certified KCl 0.1 mol/L, 12.88 mS/cm at 25 °C (OIML)"),
        (0.0005, 0.0739, 0.01, "Standard Methods 2510, Table 2510:I (from memory)"),
        (0.001, 0.1469, 0.01, "Standard Methods 2510, Table 2510:I (from memory)"),
        (0.005, 0.7175, 0.01, "Standard Methods 2510, Table 2510:I (from memory)"),
        (0.02, 2.765, 0.01, "Standard Methods 2510, Table 2510:I (from memory)"),
        (0.05, 6.667, 0.01, "Standard Methods 2510, Table 2510:I (from memory)"),
        (0.2, 24.82, 0.02, "Standard Methods 2510, Table 2510:I (from memory)"),
        (0.5, 58.67, 0.03, "Standard Methods 2510, Table 2510:I (from memory); I beyond 0.3"),
    ],
)
def test_potassium_chloride(molar, ec, tolerance, source):
    amount = 1000 * molar
    found = ec_from_ions({"potassium": amount, "chloride": amount})
    assert found.ec == pytest.approx(ec, rel=tolerance)


@pytest.mark.independent
@pytest.mark.parametrize(
    ("molal", "ec", "molar"),
    [(0.01, 1.40823, 0.009970), (0.1, 12.8246, 0.09940)],
)
def test_potassium_chloride_by_molality(molal, ec, molar):
    """CRC Handbook, Standard KCl solutions (Wu et al. 1991; Pratt et al. 2001), mol/kg water.

    The figures are per kg of water; molarity from the density of water 0.99705 and a partial molar
    volume of KCl of 27 to 28 cm³/mol.
    """
    assert molar == pytest.approx(molal * 0.99705 * (1 - 0.028 * molal), rel=1e-3)
    found = ec_from_ions({"potassium": 1000 * molar, "chloride": 1000 * molar})
    assert found.ec == pytest.approx(ec, rel=0.01)


@pytest.mark.parametrize(
    "row",
    [
        pytest.param(row, marks=() if row["fitted"] == "yes" else pytest.mark.independent)
        for row in SALTS
    ],
    ids=[f"{row['salt']}-{row['concentration']}" for row in SALTS],
)
def test_equivalent_conductivity_of_single_salts(row):
    """CRC Handbook / Robinson & Stokes (1959), equivalent conductivities at 25 °C (from memory).

    Within 2 %; magnesium sulfate, nearly a third of it paired, within 4 %.
    """
    amount = float(row["concentration"])
    found = ec_from_ions({row["cation"]: 1e3 * amount, row["anion"]: 1e3 * amount}).ec / amount
    printed = float(row["equivalent_conductivity"])
    if row["salt"] == "KNO3" and amount == 0.01:
        # The printed 132.75 breaks the curve of its own neighbours, which a line in the root of
        # concentration joins: 135.7. We meet the neighbours and not the misprint.
        roots, neighbours = np.sqrt([0.005, 0.02]), [138.41, 132.34]
        joined = np.interp(np.sqrt(0.01), roots, neighbours)
        assert abs(printed / joined - 1) > 0.02
        printed = joined
    assert found == pytest.approx(printed, rel=0.04 if row["salt"] == "MgSO4" else 0.02)


@pytest.mark.engine
@pytest.mark.independent
@pytest.mark.parametrize("extract", EXTRACTS, ids=lambda row: row["id"])
def test_mixed_extracts_against_phreeqc(extract):
    """PHREEQC through phreeqpython, run here: 4 % to I = 0.1 mol/L, 6 % to 0.3."""
    ions, ph = _ions(extract), float(extract["ph"])
    found, engine = ec_from_ions(ions, ph), phreeqc.solve(ions, ph)
    assert found.valid
    assert found.ionic_strength == pytest.approx(engine.ionic_strength, rel=0.03)
    assert found.ec == pytest.approx(engine.ec, rel=0.04 if found.ionic_strength <= 0.1 else 0.06)


def test_there_are_enough_extracts_over_the_range():
    strengths = np.array(
        [ec_from_ions(_ions(extract), float(extract["ph"])).ionic_strength for extract in EXTRACTS]
    )
    assert (strengths <= 0.1).sum() >= 30
    assert (strengths > 0.1).sum() >= 10
    assert strengths.max() < 0.3


@cache
def _paired_share(extract_id):
    """Share of the charge that ion pairs take out of the current."""
    extract = next(row for row in EXTRACTS if row["id"] == extract_id)
    found = speciate(_ions(extract), float(extract["ph"]))
    free = (np.abs(found.charge) @ found.concentration)[0]
    return 1 - 1e3 * free / sum(_ions(extract).values())


def _few_pairs(extract):
    """Whether pyEQL, which holds no pairs, can judge an extract as it stands."""
    return _paired_share(extract["id"]) < FEW_PAIRS


@pytest.mark.parametrize(
    "extract",
    [
        pytest.param(row, marks=pytest.mark.independent if _few_pairs(row) else ())
        for row in EXTRACTS
    ],
    ids=[row["id"] for row in EXTRACTS],
)
def test_mixed_extracts_against_pyeql(extract):
    """pyEQL 1.7.0 (recorded by record_pyeql.py) holds no ion pairs.

    So it is a peer only where few of them form: there within 4 % (6 % above I = 0.1). Elsewhere
    its figure is first lowered by the share of charge that pairs take out; where that is more than
    a tenth the correction is itself rough, and 6 % holds.
    """
    found = ec_from_ions(_ions(extract), float(extract["ph"]))
    paired = _paired_share(extract["id"])
    other = PYEQL[extract["id"]] * (1 if paired < FEW_PAIRS else 1 - paired)
    near = found.ionic_strength <= 0.1 and paired <= 0.1
    assert found.ec == pytest.approx(other, rel=0.04 if near else 0.06)


def test_enough_extracts_are_judged_by_pyeql_as_it_stands():
    assert sum(_few_pairs(extract) for extract in EXTRACTS) >= 15
