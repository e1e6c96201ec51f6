import pytest
from phreeqpython import PhreeqPython

from saltcalc.science import phreeqc

pytestmark = pytest.mark.engine


def test_nitrate_and_ammonium_do_not_react():
    given = phreeqc.solution_input({"nitrate_n": 5.0, "ammonium_n": 3.0, "chloride": 1.0}, 6.0)
    solution = PhreeqPython("phreeqc.dat").add_solution(given)
    nitrate = solution.total("NO3", units="mmol")
    ammonium = solution.total("NH4", units="mmol")
    assert nitrate == pytest.approx(5.0, rel=0.005)
    assert ammonium == pytest.approx(3.0, rel=0.005)


def test_bicarbonate_comes_out_as_it_went_in_beside_phosphate():
    report = {"bicarbonate": 2.0, "phosphorus": 1.0, "potassium": 3.5}
    solution = PhreeqPython("phreeqc.dat").add_solution(phreeqc.solution_input(report, 7.4))
    found = solution.total("HCO3", units="mmol") + 2 * solution.total("CO3", units="mmol")
    assert found == pytest.approx(2.0, rel=0.01)


def test_an_empty_report_is_water():
    found = phreeqc.solve({"sodium": float("nan"), "chloride": 0.0})
    assert found.ec == pytest.approx(5.5e-5, rel=0.02)
    assert found.saturation == {} or all(index < 0 for index in found.saturation.values())


def test_a_report_without_a_solution_gives_nothing():
    impossible = {"sodium": 1e5}
    result = phreeqc.solve(impossible, 7.0)
    assert result.ec != result.ec
    assert result.saturation == {}
    assert phreeqc.solve({"sodium": 10, "chloride": 10}, 7.0).ec == pytest.approx(1.18, abs=0.05)


def test_phosphate_may_outweigh_the_bicarbonate():
    report = {"calcium": 15, "magnesium": 24.7, "phosphorus": 9.7, "bicarbonate": 0.001}
    assert phreeqc.solve(report, 7.5).ec > 1


@pytest.mark.parametrize(("report", "named"), [({"sodium": -1.0}, "negative"), ({"zn": 1.0}, "zn")])
def test_what_no_water_has_is_refused(report, named):
    for asked in (phreeqc.solution_input, phreeqc.solve):
        with pytest.raises(ValueError, match=named):
            asked(report)


@pytest.mark.parametrize("missing", [OSError("wrong ELF class"), ModuleNotFoundError("none")])
def test_an_engine_that_does_not_load_is_not_available(monkeypatch, missing):
    def none(_):
        raise missing

    phreeqc.available.cache_clear()
    try:
        with monkeypatch.context() as patched:
            patched.setattr(phreeqc, "_engine", none)
            assert not phreeqc.available()
    finally:
        phreeqc.available.cache_clear()
    assert phreeqc.available()
