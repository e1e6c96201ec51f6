import pytest

from saltcalc.science import phreeqc
from saltcalc.science.crust import crust
from tests.extracts import NUTRIENT

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


def without_engine(monkeypatch):
    monkeypatch.setattr(phreeqc, "available", lambda: False)


@pytest.mark.engine
@pytest.mark.parametrize("report", [BRACKISH, NUTRIENT], ids=["brackish", "nutrient"])
def test_a_crust_with_and_without_the_engine_begins_alike(report, monkeypatch):
    with_engine = crust(report, 7.0)
    without_engine(monkeypatch)
    alone = crust(report, 7.0)
    assert {one.id for one in with_engine[:2]} == {one.id for one in alone[:2]}
    gypsum = [next(one for one in run if one.id == "gypsum") for run in (with_engine, alone)]
    assert gypsum[0].concentration == pytest.approx(gypsum[1].concentration, rel=0.15)
    assert gypsum[0].method.startswith("phreeqc")
    assert gypsum[1].method == "ion_pairs"


@pytest.mark.parametrize(("cations", "told"), [(6.0, False), (7.0, True)])
def test_a_report_that_lacks_a_third_of_a_charge_tells_no_crust(cations, told):
    assert bool(crust({"sodium": cations, "chloride": 10.0}, 7.0)) is told


def test_nitrate_salts_go_by_their_solubility():
    found = crust(NUTRIENT, 6.0)
    nitrate = next(one for one in found if one.id == "potassium_nitrate")
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
        assert one.method in {"phreeqc_pitzer", "phreeqc", "ion_pairs", "solubility"}


def test_rain_water():
    assert crust({"sodium": 0.05, "chloride": 0.05}, 5.6)[0].id == "common_salt"


@pytest.mark.engine
def test_a_nitrate_that_forms_when_less_than_half_the_water_is_gone_is_told():
    (nitrate,) = crust({"potassium": 2500.0, "nitrate_n": 2500.0}, 7.0)
    assert nitrate.id == "potassium_nitrate"
    assert 1 < nitrate.concentration < 2
