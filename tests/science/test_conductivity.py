import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltcalc.data.reported_ions import reported_ions
from saltcalc.science.conductivity import ec_from_ions

NAN = float("nan")
amount = st.one_of(st.just(0.0), st.just(NAN), st.floats(1e-3, 200))
reports = st.fixed_dictionaries(dict.fromkeys(reported_ions(), amount))


@given(reports, st.one_of(st.just(NAN), st.floats(4, 9)))
def test_shares_sum_to_one_over_what_was_reported(report, ph):
    found = ec_from_ions(report, ph)
    shares = np.array(list(found.shares.values()))
    if found.ec > 0:
        assert np.nansum(shares) == pytest.approx(1)
    for ion, value in report.items():
        assert np.isnan(found.shares[ion]) == (np.isnan(value) or not found.ec > 0)


@given(reports, st.floats(1.1, 3))
def test_ec_rises_with_concentration(report, factor):
    more = {ion: factor * value for ion, value in report.items()}
    low, high = ec_from_ions(report).ec, ec_from_ions(more).ec
    assert np.isnan(low) or high >= low


def test_not_reported_is_apart_from_zero():
    found = ec_from_ions({"sodium": [NAN, 0.0], "chloride": [5.0, 5.0]})
    assert found.ec[0] == found.ec[1] > 0
    assert np.isnan(found.shares["sodium"]).tolist() == [True, False]


def test_an_all_zero_report_and_an_empty_one():
    zero = ec_from_ions(dict.fromkeys(reported_ions(), 0.0))
    assert zero.ec == 0
    assert np.isnan(list(zero.shares.values())).all()
    assert np.isnan(ec_from_ions({}).ec)
    assert ec_from_ions({}, 7.0).ec == pytest.approx(5.5e-5, rel=0.01)


@pytest.mark.parametrize("ion", [ion for ion in reported_ions() if ion != "boron"])
def test_a_single_ion_carries_it_all(ion):
    found = ec_from_ions({ion: 10.0})
    assert 0.25 < found.ec < 1.0
    assert found.shares[ion] == pytest.approx(1)


def test_shape_is_that_of_the_broadcast():
    found = ec_from_ions({"sodium": np.ones((3, 1)), "chloride": np.ones(4)}, 7.0)
    assert found.ec.shape == found.shares["sodium"].shape == found.valid.shape == (3, 4)


def test_strong_solutions_are_marked_as_beyond_the_range():
    found = ec_from_ions({"sodium": [100.0, 600.0], "chloride": [100.0, 600.0]})
    assert found.valid.tolist() == [True, False]
