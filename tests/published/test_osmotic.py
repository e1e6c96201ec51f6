"""Osmotic potential: from the ions against two engines and a handbook, from EC against rules."""

import csv
from pathlib import Path

import numpy as np
import pytest

from saltcalc.data.reported_ions import reported_ions
from saltcalc.science import phreeqc
from saltcalc.science.balance import ANIONS
from saltcalc.science.conductivity import ec_from_ions
from saltcalc.science.osmotic import (
    osmotic_potential_at_ec,
    osmotic_potential_handbook60,
    osmotic_potential_pitzer,
    tell_of_the_whole,
)

GAS_CONSTANT, WARM = 8.314462618e-3, 298.15  # kJ/mol/K, K
WATER_DENSITY, WATER_MOLAR_MASS = 0.99705, 0.0180153  # kg/L, kg/mol


def rows_of(name):
    with (Path(__file__).parent / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


COEFFICIENTS, EXTRACTS = rows_of("osmotic_coefficients.csv"), rows_of("extracts.csv")
PYEQL = {row["id"]: float(row["osmotic_potential"]) for row in rows_of("pyeql.csv")}


def ions_of(extract):
    return {key: float(cell) for key, cell in extract.items() if key not in {"id", "kind", "ph"}}


def sulfate_share(extract):
    ions = ions_of(extract)
    return ions["sulfate_s"] / sum(ions[anion] for anion in ANIONS)


# mmol_c/L: gypsum and sulfate media first.
SOLUTIONS = {
    "gypsum, saturated": {"calcium": 30, "sulfate_s": 30},
    "gypsum, dilute": {"calcium": 8, "sulfate_s": 8},
    "gypsum with common salt": {"calcium": 30, "sodium": 20, "sulfate_s": 30, "chloride": 20},
    "potassium sulfate": {"potassium": 30, "sulfate_s": 30},
    "magnesium sulfate": {"magnesium": 40, "sulfate_s": 40},
    "sodium sulfate": {"sodium": 100, "sulfate_s": 100},
    "sulfate medium": {
        "calcium": 20, "magnesium": 20, "sodium": 30, "sulfate_s": 50, "chloride": 20,
    },
    "common salt": {"sodium": 40, "chloride": 40},
    "potassium chloride": {"potassium": 100, "chloride": 100},
    "calcium chloride": {"calcium": 60, "chloride": 60},
    "brackish water": {
        "calcium": 8, "magnesium": 6, "potassium": 3, "sodium": 18, "chloride": 24, "sulfate_s": 11,
    },
    "seawater, one part in ten": {
        "calcium": 2.1, "magnesium": 10.6, "sodium": 46.8, "potassium": 1.0, "chloride": 54.6,
        "sulfate_s": 5.7, "bicarbonate": 0.2,
    },
}  # fmt: skip


def by_engine(ions, ph=7.0):
    """Osmotic potential [kPa] from the activity of water in PHREEQC's Pitzer database."""
    given = "\n".join(
        f"    {key} {value}" for key, value in phreeqc.solution_input(ions, ph).items()
    )
    with phreeqc.engine("pitzer.dat") as engine:
        engine.run_string(
            f"SOLUTION 1\n{given}\nSELECTED_OUTPUT 1\n    -reset false\n    -high_precision true\n"
            'USER_PUNCH 1\n    -headings water\n    -start\n    10 PUNCH LA("H2O")\n    -end\nEND'
        )
        log_activity = float(engine.get_selected_output_array()[-1][-1])
        engine.run_string(
            "DELETE\n    -all\nSELECTED_OUTPUT 1\n    -reset false\nUSER_PUNCH 1\nEND"
        )
    per_mole = GAS_CONSTANT * WARM * np.log(10) * log_activity  # kJ
    return 1000 * per_mole * WATER_DENSITY / WATER_MOLAR_MASS


@pytest.mark.engine
@pytest.mark.independent
@pytest.mark.parametrize("ions", SOLUTIONS.values(), ids=SOLUTIONS)
def test_ions_against_the_pitzer_database_of_phreeqc(ions):
    """Parkhurst & Appelo (2013), pitzer.dat, run here; 1.6 % off at worst."""
    assert osmotic_potential_pitzer(ions) == pytest.approx(by_engine(ions), rel=0.025)


@pytest.mark.independent
@pytest.mark.parametrize(
    ("ions", "kilopascal"),
    [
        ({"potassium": 20, "nitrate_n": 20}, 94.45),
        ({"calcium": 30, "nitrate_n": 30}, 99.62),
        ({"sodium": 40, "sulfate_s": 40}, 129.34),
        ({"sodium": 40, "chloride": 40}, 187.96),
        ({"calcium": 8, "magnesium": 4, "potassium": 6, "nitrate_n": 13, "sulfate_s": 5}, 61.33),
    ],
    ids=["KNO3", "Ca(NO3)2", "Na2SO4", "NaCl", "a feed"],
)
def test_ions_against_pyeql(ions, kilopascal):
    """pyEQL 1.7.0, its osmotic pressure at 25 °C, recorded: it has nitrates, PHREEQC has not."""
    assert osmotic_potential_pitzer(ions) == pytest.approx(-kilopascal, rel=0.01)


@pytest.mark.engine
@pytest.mark.independent
@pytest.mark.parametrize("extract", EXTRACTS, ids=lambda row: row["id"])
def test_extracts_without_nitrogen_against_the_pitzer_database(extract):
    """pitzer.dat has no nitrogen and no phosphorus: chloride and potassium take their place."""
    ions = ions_of(extract)
    lent = {"chloride": ("nitrate_n", "phosphorus"), "potassium": ("ammonium_n",)}
    for ion, others in lent.items():
        ions[ion] += sum(ions.pop(other) for other in others)
    assert osmotic_potential_pitzer(ions) == pytest.approx(by_engine(ions, 8.0), rel=0.04)


@pytest.mark.independent
@pytest.mark.parametrize(
    "extract",
    [extract for extract in EXTRACTS if sulfate_share(extract) < 0.25],
    ids=lambda row: row["id"],
)
def test_extracts_with_nitrogen_against_pyeql(extract):
    """pyEQL 1.7.0 has no parameters of calcium sulfate, so sulfate extracts are left out."""
    found = osmotic_potential_pitzer(ions_of(extract))
    assert found == pytest.approx(PYEQL[extract["id"]], rel=0.05)


@pytest.mark.independent
@pytest.mark.parametrize(
    "row", COEFFICIENTS, ids=lambda row: f"{row['cation']}-{row['anion']}-{row['molality']}"
)
def test_osmotic_coefficients_of_single_salts(row):
    """Robinson & Stokes (1959), Electrolyte Solutions, appendix 8.10 (from memory): 2 %."""
    molality, coefficient = float(row["molality"]), float(row["osmotic_coefficient"])
    charges = [abs(reported_ions()[row[side]].charge) for side in ("cation", "anion")]
    each = 1000 * molality * WATER_DENSITY * max(charges)
    ions_of_one = 2 if charges[0] == charges[1] else 3
    expected = -WATER_DENSITY * GAS_CONSTANT * WARM * 1000 * ions_of_one * molality * coefficient
    found = osmotic_potential_pitzer({row["cation"]: each, row["anion"]: each})
    assert found == pytest.approx(expected, rel=0.02)


@pytest.mark.parametrize("ec", [0.5, 2.2, 10.0])
@pytest.mark.parametrize(
    "ions", [{"calcium": 9.0, "sulfate_s": 9.0}, {"sodium": 2.0, "chloride": 2.0}]
)
def test_scaled_to_a_reading_the_ions_read_as_much(ions, ec):
    found = osmotic_potential_at_ec(ions, ec)
    times = np.geomspace(0.01, 100, 4001)
    grown = {ion: amount * times for ion, amount in ions.items()}
    read = np.interp(ec, ec_from_ions(grown).ec, osmotic_potential_pitzer(grown))
    assert found == pytest.approx(read, rel=0.005)


@pytest.mark.parametrize("off", [0.0, 1e-12, 1e-7, 1e-3, 1.0, 10.0])
def test_a_reading_near_that_of_the_ions_or_far_off_is_met(off):
    ions = {"sodium": 6.0, "calcium": 3.0, "chloride": 5.0, "sulfate_s": 4.0}
    times = (1 + off) ** np.array([1.0, -1.0])
    grown = {ion: amount * times for ion, amount in ions.items()}
    found = osmotic_potential_at_ec(ions, ec_from_ions(grown).ec)
    assert found == pytest.approx(osmotic_potential_pitzer(grown), rel=1e-5)


def test_a_report_of_one_sign_does_not_tell_of_the_whole():
    assert not tell_of_the_whole({"nitrate_n": 10.0})
    assert not tell_of_the_whole({"sodium": 10.0, "chloride": 7.0})
    assert tell_of_the_whole({"sodium": 10.0, "chloride": 9.0})


@pytest.mark.parametrize(("ec", "atmospheres"), [(3.0, 1.08), (10.0, 3.6), (30.0, 10.8)])
def test_handbook60_rule(ec, atmospheres):
    # U.S. Salinity Laboratory Staff (1954), Handbook 60, ch. 1: OP (atm) = 0.36 EC, 3-30 dS/m.
    assert osmotic_potential_handbook60(ec) == pytest.approx(-atmospheres * 101.325, rel=1e-9)


@pytest.mark.independent
@pytest.mark.parametrize(("ec", "kilopascal"), [(4.0, 144.0), (8.0, 288.0)])
def test_rounded_rule_of_the_salinity_laboratory(ec, kilopascal):
    # U.S. Salinity Laboratory (1954), as taught in a course page on the osmotic effect: 36 kPa for
    # each dS/m; a saturated extract of 2 dS/m stands for 4 dS/m in the field and pulls 144 kPa.
    assert osmotic_potential_handbook60(ec) == pytest.approx(-kilopascal, rel=0.015)


def test_missing_stays_missing_and_pure_water_pulls_nothing():
    assert not np.signbit(osmotic_potential_handbook60(0.0))
    assert np.isnan(osmotic_potential_handbook60(np.nan))
