import numpy as np
import pytest

from saltcalc.data.reporting_slips import reporting_slips
from saltcalc.science.balance import ANIONS, CATIONS
from saltcalc.science.conductivity import ec_from_ions
from saltcalc.science.reporting_slips import try_slips

NAN = float("nan")
# Invented, balanced extracts, mmol_c/L.
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
BRACKISH = {
    "calcium": 8.0,
    "magnesium": 6.0,
    "potassium": 3.0,
    "sodium": 18.0,
    "nitrate_n": 4.0,
    "chloride": 20.0,
    "sulfate_s": 9.0,
    "bicarbonate": 2.0,
}
REPORTS = {"nutrient": NUTRIENT, "brackish": BRACKISH}


def best(trials):
    """What closes the gap of the one sample, the least left over first."""
    return [trials.slips[row] for row in trials.closing(0)]


def planted(report, slip):
    factors = reporting_slips()[slip]
    return {ion: value / factors.get(ion, 1.0) for ion, value in report.items()}


@pytest.mark.parametrize("report", REPORTS.values(), ids=REPORTS)
def test_a_sound_report_names_no_slip(report):
    assert best(try_slips(report, ec_from_ions(report, 6.2).ec, 6.2)) == []


@pytest.mark.parametrize(
    ("report", "slip"),
    [
        ("nutrient", "nitrate-as-nitrate"),
        ("nutrient", "sulfate-as-sulfate"),
        ("nutrient", "nitrate-and-sulfate-as-ions"),
        ("brackish", "nitrate-as-nitrate"),
        ("brackish", "sulfate-as-sulfate"),
        ("nutrient", "millimoles-as-milligrams"),
        ("brackish", "milligrams-as-millimoles"),
    ],
)
def test_a_planted_slip_of_form_is_named_first(report, slip):
    sound = REPORTS[report]
    ec = ec_from_ions(sound, 6.2).ec
    assert best(try_slips(planted(sound, slip), ec, 6.2))[0] == ("form", slip, 1.0)


@pytest.mark.parametrize("report", REPORTS.values(), ids=REPORTS)
@pytest.mark.parametrize("factor", [0.1, 10.0, 100.0])
def test_a_planted_power_of_ten_is_named(report, factor):
    ec = ec_from_ions(report, 6.2).ec
    shifted = {ion: value * factor for ion, value in report.items()}
    named = best(try_slips(shifted, ec, 6.2))
    assert ("all-ions", "power-of-ten", pytest.approx(1 / factor)) in named


def test_a_reading_in_the_wrong_unit_is_named():
    ec = ec_from_ions(BRACKISH, 7.0).ec
    assert ("reading", "power-of-ten", 0.001) in best(try_slips(BRACKISH, 1000 * ec, 7.0))


@pytest.mark.parametrize("ion", ["sodium", "chloride", "calcium"])
def test_one_misplaced_decimal_point_is_named(ion):
    ec = ec_from_ions(BRACKISH, 7.0).ec
    named = best(try_slips(BRACKISH | {ion: BRACKISH[ion] * 10}, ec, 7.0))
    assert named[0] == ("one-ion", ion, 0.1)


def test_another_extractions_dilution_is_named():
    ec = ec_from_ions(NUTRIENT, 6.2).ec
    thin = {ion: value / 1.8 for ion, value in NUTRIENT.items()}
    named = best(try_slips(thin, ec, 6.2, {"one_to_two": 1.8, "one_to_five": 3.5}))
    assert named == [("extraction", "one_to_two", 1.8)]


def test_balance_alone_finds_the_slip_without_a_reading():
    named = best(try_slips(planted(NUTRIENT, "nitrate-as-nitrate"), NAN, 6.2))
    assert named[0] == ("form", "nitrate-as-nitrate", 1.0)


def test_what_was_not_reported_cannot_have_slipped():
    only_cations = {ion: NUTRIENT[ion] for ion in CATIONS}
    named = best(try_slips(only_cations, 5.0))
    assert not any(ion in ANIONS for kind, ion, _ in named if kind == "one-ion")
    assert best(try_slips({}, 2.0)) == []


def test_samples_are_judged_each_by_itself():
    both = {
        ion: np.array([NUTRIENT[ion], planted(NUTRIENT, "nitrate-as-nitrate")[ion]])
        for ion in NUTRIENT
    }
    trials = try_slips(both, ec_from_ions(NUTRIENT, 6.2).ec, 6.2)
    assert not trials.closes[:, 0].any()
    assert trials.closes[:, 1].any()
