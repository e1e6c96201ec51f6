import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from saltcalc.science.balance import (
    ANIONS,
    BALANCE_VERDICTS,
    CATIONS,
    EC_VERDICTS,
    charge_balance,
    ec_agreement,
    hypothetical_salts,
    phosphate_charge,
)
from saltcalc.science.conductivity import ec_from_ions
from saltcalc.science.ec_bounds import COUNTER_IONS, ec_lower_bound

NAN = float("nan")
amount = st.one_of(st.just(NAN), st.just(0.0), st.floats(0.01, 100))
reports = st.fixed_dictionaries(dict.fromkeys(CATIONS + ANIONS, amount))


def test_nothing_reported_has_no_verdict():
    found = charge_balance({})
    assert found.verdict == -1
    assert np.isnan([found.error, found.cations, found.anions, found.missing]).all()


def test_all_zero_balances_without_an_error_figure():
    found = charge_balance(dict.fromkeys(CATIONS + ANIONS, 0.0))
    assert BALANCE_VERDICTS[found.verdict] == "balanced"
    assert np.isnan(found.error)
    assert found.missing == 0


@given(reports)
def test_swapping_signs_mirrors_the_verdict(report):
    mirrored = {
        **dict(zip(CATIONS, (report[ion] for ion in ANIONS), strict=True)),
        **dict(zip(ANIONS, (report[ion] for ion in CATIONS), strict=True)),
    }
    one, other = charge_balance(report), charge_balance(mirrored)
    assert one.error == pytest.approx(-other.error, nan_ok=True)
    assert one.missing == pytest.approx(other.missing, nan_ok=True)


def test_phosphate_takes_a_second_charge_with_ph():
    assert phosphate_charge([NAN, 4.0, 7.207, 11.0]) == pytest.approx([1, 1, 1.5, 2], abs=0.001)


def test_free_acid_counts_below_ph_four_and_a_half():
    report = {"sulfate_s": 1.0}
    assert charge_balance(report, 3.0).cations == pytest.approx(1.0)
    assert np.isnan(charge_balance(report, 5.0).cations)


def test_ec_agreement_by_ratio():
    found = ec_agreement([1.0, 1.2, 0.8, NAN, 1.0], [1.0, 1.0, 1.0, 1.0, 0.0])
    names = [EC_VERDICTS[code] for code in found.verdict[:3]]
    assert names == ["agree", "measured_higher", "measured_lower"]
    assert found.verdict[3:].tolist() == [-1, -1]


@settings(max_examples=40)
@given(reports)
def test_the_floor_is_never_below_what_was_reported_as_salt(report):
    """Adding the missing charge never lowers EC by more than pairing of what is added."""
    floor, bare = ec_lower_bound(report), ec_from_ions(report)
    if np.isnan(bare.ec):
        assert np.isnan(floor.ec)
    else:
        assert floor.ec >= 0.6 * bare.ec
        assert (floor.counter_ion >= 0) == (floor.counter_charge > 0)


def test_nitrate_alone_brings_a_cation_and_potassium_an_anion():
    nitrate, potassium = ec_lower_bound({"nitrate_n": 10.0}), ec_lower_bound({"potassium": 10.0})
    assert COUNTER_IONS[nitrate.counter_ion] in CATIONS
    assert COUNTER_IONS[potassium.counter_ion] in ANIONS
    assert nitrate.counter_charge == potassium.counter_charge == 10.0
    assert ec_from_ions({"nitrate_n": 10.0}).ec < nitrate.ec < 1.4


def test_a_balanced_report_is_its_own_floor():
    report = {"sodium": 10.0, "chloride": 10.0}
    found = ec_lower_bound(report)
    assert found.counter_ion == -1
    assert found.ec == ec_from_ions(report).ec


@given(reports)
def test_salts_use_up_the_smaller_side_and_no_ion_twice(report):
    salts = hypothetical_salts(report)
    cations = sum(np.nan_to_num(report[ion]) for ion in CATIONS)
    anions = sum(np.nan_to_num(report[ion]) for ion in ANIONS)
    assert sum(salts.values()) == pytest.approx(min(cations, anions), abs=1e-9)
    for ion in CATIONS:
        used = sum(value for (cation, _), value in salts.items() if cation == ion)
        assert used <= np.nan_to_num(report[ion]) + 1e-9


def test_a_negative_concentration_is_refused():
    with pytest.raises(ValueError, match="sodium"):
        charge_balance({"sodium": -1.0})


def test_the_floor_stays_below_the_ec_of_the_whole_report():
    """What is left of a balanced report, made up again, never reads more than the whole."""
    whole = {
        "sodium": 4.0,
        "calcium": 9.0,
        "magnesium": 5.0,
        "potassium": 4.0,
        "ammonium_n": 1.0,
        "nitrate_n": 9.0,
        "phosphorus": 1.0,
        "sulfate_s": 6.0,
        "chloride": 5.0,
        "bicarbonate": 2.0,
    }
    ec = ec_from_ions(whole, 6.8).ec
    for left_out in range(1, 2 ** len(whole) - 1, 7):
        kept = {ion: v for bit, (ion, v) in enumerate(whole.items()) if not left_out >> bit & 1}
        assert ec_lower_bound(kept, 6.8).ec <= 1.02 * ec
