import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from saltcalc.science import phreeqc
from saltcalc.science.saturation import (
    METHODS,
    crust,
    gypsum_equilibrium,
    saturation_index,
)

NAN = float("nan")
BRACKISH = {
    "calcium": 8.0,
    "magnesium": 6.0,
    "potassium": 3.0,
    "sodium": 18.0,
    "chloride": 24.0,
    "sulfate_s": 9.0,
    "bicarbonate": 2.0,
}
NUTRIENT = {
    "calcium": 8.0,
    "magnesium": 5.0,
    "potassium": 3.5,
    "sodium": 2.5,
    "ammonium_n": 1.0,
    "nitrate_n": 10.0,
    "chloride": 2.5,
    "sulfate_s": 7.0,
    "phosphorus": 0.5,
}


def without_engine(monkeypatch):
    monkeypatch.setattr(phreeqc, "available", lambda: False)


def test_what_was_not_reported_gives_no_index_and_none_gives_minus_infinity():
    index = saturation_index("gypsum", {"calcium": [5.0, NAN, 5.0], "sulfate_s": [5.0, 5.0, 0.0]})
    assert np.isfinite(index[0])
    assert np.isnan(index[1])
    assert index[2] == -np.inf


def test_calcite_needs_ph():
    report = {"calcium": 5.0, "bicarbonate": 3.0}
    assert np.isnan(saturation_index("calcite", report))
    assert saturation_index("calcite", report, 8.0) > saturation_index("calcite", report, 7.0)


@settings(max_examples=20)
@given(st.floats(0, 20), st.floats(0, 20), st.floats(0, 60))
def test_gypsum_dissolves_until_it_is_saturated(calcium, sulfate, sodium):
    report = {"calcium": calcium, "sulfate_s": sulfate, "sodium": sodium, "chloride": sodium}
    found = gypsum_equilibrium(report)
    then = report | {
        "calcium": calcium + 2 * found.dissolved,
        "sulfate_s": sulfate + 2 * found.dissolved,
    }
    assert saturation_index("gypsum", then) == pytest.approx(0, abs=1e-3)


def test_a_saturated_solution_dissolves_none():
    found = gypsum_equilibrium({"calcium": 50.0, "sulfate_s": 50.0})
    assert found.dissolved == 0


def test_gypsum_equilibrium_of_a_batch_and_of_nothing_reported():
    found = gypsum_equilibrium({"sodium": [0.0, 10.0, NAN], "chloride": [0.0, 10.0, NAN]})
    assert found.ec[0] == found.ec[2] < found.ec[1]


@pytest.mark.parametrize("report", [BRACKISH, NUTRIENT], ids=["brackish", "nutrient"])
def test_a_crust_with_and_without_the_engine_begins_alike(report, monkeypatch):
    if not phreeqc.available():
        pytest.skip("no phreeqpython")
    with_engine = crust(report, 7.0)
    without_engine(monkeypatch)
    alone = crust(report, 7.0)
    assert with_engine[0].name == alone[0].name
    gypsum = [next(one for one in run if one.name == "gypsum") for run in (with_engine, alone)]
    assert gypsum[0].concentration == pytest.approx(gypsum[1].concentration, rel=0.15)
    assert gypsum[0].method.startswith("phreeqc")
    assert gypsum[1].method == "ion-pairs"


def test_nitrate_salts_go_by_their_solubility():
    found = crust(NUTRIENT, 6.0)
    nitrate = next(one for one in found if one.name == "potassium nitrate")
    assert nitrate.method == "solubility"
    assert [one.concentration for one in found] == sorted(one.concentration for one in found)


@pytest.mark.parametrize("report", [{}, {"sodium": NAN}, {"chloride": 0.0}, {"boron": 1.0}])
def test_nothing_dissolved_leaves_no_crust(report):
    assert crust(report) == ()


@pytest.mark.parametrize("engine", [True, False])
@pytest.mark.parametrize("ion", ["sodium", "calcium", "nitrate_n", "bicarbonate", "phosphorus"])
def test_a_single_ion_has_no_salt(ion, engine, monkeypatch):
    if not engine:
        without_engine(monkeypatch)
    for one in crust({ion: 5.0}, 7.0):
        assert one.method in METHODS


def test_rain_water():
    assert crust({"sodium": 0.05, "chloride": 0.05}, 5.6)[0].name == "common salt"
