"""The least and the most EC that reported ions allow, and when an EC from ions is sure enough."""

import numpy as np
import pytest

from saltcalc.science.conductivity import total_ec_from_ions
from saltcalc.science.ec_bounds import (
    COUNTER_IONS,
    EC_OF_IONS_ERROR,
    MAIN_IONS,
    ec_estimate_error,
    ec_lower_bound,
    ec_upper_bound,
)

WHOLE = dict.fromkeys(MAIN_IONS, 2.0)
ACID = WHOLE | {"bicarbonate": np.nan, "sulfate_s": 4.0}


def ec_with(report, ion, amount):
    """Return the EC of a report with so much of an ion more."""
    added = report | {ion: report.get(ion, 0.0) + amount}
    return float(total_ec_from_ions({each: np.array(found) for each, found in added.items()}, 7.0))


def test_a_whole_report_that_balances_is_as_sure_as_the_conductivities():
    assert ec_estimate_error(WHOLE) == pytest.approx(EC_OF_IONS_ERROR)


@pytest.mark.parametrize("ion", MAIN_IONS)
@pytest.mark.parametrize("ph", [5.4, 7.0])
def test_a_report_without_a_main_ion_gives_no_sure_ec(ion, ph):
    """The charges agree without it: its counter-ion is left out too."""
    cation = ion in MAIN_IONS[:4]
    other = next(each for each in MAIN_IONS if (each in MAIN_IONS[:4]) == cation and each != ion)
    report = WHOLE | {ion: np.nan, other: 4.0}
    expected = ion == "bicarbonate" and ph < 5.5
    assert np.isfinite(ec_estimate_error(report, ph)) == expected


@pytest.mark.parametrize("ph", [5.49, 5.51])
def test_an_acid_solution_holds_no_bicarbonate_to_report(ph):
    assert np.isfinite(ec_estimate_error(ACID, ph)) == (ph < 5.5)


def test_what_the_charges_are_out_by_adds_to_the_error():
    # Cations 8.6, anions 8: out by 0.6 in 16.6.
    report = WHOLE | {"sodium": 2.6}
    assert ec_estimate_error(report) == pytest.approx(EC_OF_IONS_ERROR + 0.6 / 16.6)
    # 0.8 in 16.8 is 4.8 %, 0.9 in 16.9 is 5.3 %: too far out.
    assert np.isfinite(ec_estimate_error(WHOLE | {"sodium": 2.8}))
    assert np.isnan(ec_estimate_error(WHOLE | {"sodium": 2.9}))
    assert np.isnan(ec_estimate_error(WHOLE | {"chloride": 2.9}))


@pytest.mark.parametrize(
    ("report", "poor", "good"),
    [
        ({"nitrate_n": 10.0}, ("sodium", "magnesium"), ("potassium", "calcium")),
        ({"potassium": 10.0}, ("bicarbonate", "sulfate_s"), ("chloride", "sulfate_s")),
        ({"sodium": 9.0, "chloride": 4.0}, ("bicarbonate", "sulfate_s"), ("chloride", "sulfate_s")),
    ],
)
def test_the_missing_charge_is_made_up_by_the_worst_and_the_best_conductor(report, poor, good):
    missing = abs(report.get("sodium", 0) + report.get("potassium", 0)
                  - report.get("nitrate_n", 0) - report.get("chloride", 0))  # fmt: skip
    ions = dict.fromkeys(MAIN_IONS, np.nan) | report
    whole = dict.fromkeys(MAIN_IONS, 0.0) | report
    floor = ec_lower_bound(ions, 7.0)
    least = {ion: ec_with(whole, ion, missing) for ion in poor}
    assert floor.ec == pytest.approx(min(least.values()))
    assert COUNTER_IONS[floor.counter_ion] == min(least, key=least.get)
    assert floor.counter_charge == pytest.approx(missing)
    most = max(ec_with(whole, ion, missing) for ion in good)
    assert ec_upper_bound(ions, 7.0) == pytest.approx(most)
    assert most > floor.ec


def test_in_an_acid_solution_sulfate_makes_up_for_a_cation():
    assert COUNTER_IONS[ec_lower_bound({"potassium": 10.0}, 4.9).counter_ion] == "sulfate_s"
    assert COUNTER_IONS[ec_lower_bound({"potassium": 1.0}, 5.1).counter_ion] == "bicarbonate"


def test_each_report_of_many_is_bounded_by_itself():
    nitrate, potassium = np.array([10.0, np.nan, np.nan]), np.array([np.nan, 10.0, np.nan])
    many = {"nitrate_n": nitrate, "potassium": potassium}
    floor, most = ec_lower_bound(many), ec_upper_bound(many)
    alone = ({"nitrate_n": 10.0}, {"potassium": 10.0}, {})
    assert floor.ec == pytest.approx([float(ec_lower_bound(e).ec) for e in alone], nan_ok=True)
    assert most == pytest.approx([float(ec_upper_bound(each)) for each in alone], nan_ok=True)
    assert floor.counter_ion[2] == -1
    assert floor.counter_charge[2] == 0.0
