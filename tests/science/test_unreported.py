import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltcalc.science.balance import ANIONS, BALANCE_VERDICTS, CATIONS, charge_balance
from saltcalc.science.unreported import missing_candidates, most_unreported

NAN = float("nan")
amount = st.one_of(st.just(NAN), st.just(0.0), st.floats(0.01, 100))
reports = st.fixed_dictionaries(dict.fromkeys(CATIONS + ANIONS, amount))


@given(reports)
def test_candidates_were_not_reported_and_have_the_missing_sign(report):
    verdict = charge_balance(report).verdict
    for ion, likely in missing_candidates(report).items():
        if likely:
            assert np.isnan(report.get(ion, NAN))
            assert BALANCE_VERDICTS[verdict] == (
                "cations_missing" if ion in CATIONS else "anions_missing"
            )


def test_organic_anions_are_named_only_when_every_anion_was_reported():
    full = dict.fromkeys(CATIONS, 5.0) | dict.fromkeys(ANIONS, 2.0)
    assert missing_candidates(full)["organic_anions"]
    assert not missing_candidates(full | {"chloride": NAN})["organic_anions"]


def test_bicarbonate_is_no_candidate_in_an_acid_extract():
    report = {"calcium": 5.0, "chloride": 2.0}
    likely = missing_candidates(report, [4.5, 6.5, NAN])["bicarbonate"]
    assert likely.tolist() == [False, True, True]


@pytest.mark.parametrize("solution", ["medium", "water"])
def test_what_was_reported_brings_nothing_more(solution):
    may_be = most_unreported({"calcium": 5.0, "chloride": 2.0}, 6.5, solution)
    assert may_be["calcium"] == may_be["chloride"] == 0
    assert may_be["sulfate_s"] > 0


def test_phosphorus_is_not_what_a_tap_water_lacks():
    # 20 mg/L of phosphorus are 0.65 mmol_c/L; a tap water holds a hundredth of that.
    tap = {"sodium": 1.2, "potassium": 0.15, "calcium": 6.0, "magnesium": 1.8, "nitrate_n": 0.5}
    tap |= {"sulfate_s": 2.2, "chloride": 1.3, "bicarbonate": 4.1}
    assert charge_balance(tap, 7.5).missing > 0.65
    assert not any(missing_candidates(tap, 7.5, "water").values())
    feed = {"potassium": 6.0, "calcium": 8.0, "nitrate_n": 8.0, "sulfate_s": 2.0, "chloride": 2.0}
    assert missing_candidates(feed | {"bicarbonate": 0.0}, 5.5)["phosphorus"]
