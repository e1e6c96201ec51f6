import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltcalc.science.flush import WashoutParameters
from saltcalc.science.returned_drainage import drainage_as_feed, flush_with_returned
from tests.washing import wash

POT = WashoutParameters(0.8, 0.25, 0.3, 0.05, 3)


@given(st.floats(1.0, 12.0), st.floats(0.0, 2.0), st.floats(1.0, 50.0), st.integers(1, 30))
def test_no_salt_is_lost_between_pot_and_tank(medium, water, tank, passes):
    got = flush_with_returned(medium, water, POT, 6.0, tank, 1.0, passes)
    before = 6.0 * 1.05 * medium + tank * water
    after = 6.0 * 1.05 * got.ec_medium[-1] + tank * got.ec_tank[-1]
    assert after == pytest.approx(before, rel=1e-9)


def test_returned_water_gets_saltier_and_the_medium_stops_at_the_mean():
    got = flush_with_returned(6.0, 0.5, POT, 6.0, [5.0, 20.0, 1e6], 1.0, 200)
    assert np.all(np.diff(got.ec_tank[:, :8], axis=-1) > 0)
    np.testing.assert_allclose(got.ec_medium[:2, -1], got.least[:2], rtol=1e-3)
    assert got.least[0] > got.least[1] > got.least[2]


def test_an_endless_tank_is_fresh_water():
    returned = flush_with_returned(6.0, 0.5, POT, 6.0, 1e9, 1.0, 10)
    fresh = wash(6.0, 0.5, POT, [1 / 6] * 10, 0.25, 0.5)
    np.testing.assert_allclose(returned.ec_medium, fresh.ec_medium, rtol=1e-6)


def test_a_tank_of_less_than_a_pass_is_refused():
    with pytest.raises(ValueError, match="tank"):
        flush_with_returned(6.0, 0.5, POT, 6.0, 0.5, 1.0, 3)


def test_a_hardier_crop_takes_more_of_the_drainage():
    got = drainage_as_feed(50.0, 4.0, 90.0, 0.5, [1.0, 2.0, 5.0])
    assert got.share[0] < got.share[1] < got.share[2] == 1.0
    np.testing.assert_allclose(got.worth, 4500.0)
    np.testing.assert_allclose(got.litres * got.nitrogen, 4500.0)


def test_where_even_clean_water_is_too_salty_there_is_no_share():
    assert np.isnan(drainage_as_feed(50.0, 4.0, 90.0, 1.5, 1.0).share)


def test_clean_water_that_is_at_the_limit_takes_no_drainage():
    got = drainage_as_feed(50.0, 4.0, 90.0, 1.0, 1.0)
    assert got.share == 0
    assert np.isnan([got.litres, got.worth]).all()
