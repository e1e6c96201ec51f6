import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltcalc.data.watering import wetting_reaches
from saltcalc.science.wetting import water_for, water_kept, wetting_lots, wetting_reach

VOLUME = st.floats(0.01, 5.0)


@given(st.floats(0.01, 0.99), VOLUME, st.floats(0.1, 1.0))
def test_what_is_kept_is_what_was_poured_for_it(part, deficit, reach):
    kept = part * reach * deficit
    assert water_kept(water_for(kept, deficit, reach), deficit, reach) == pytest.approx(kept)


@given(VOLUME, VOLUME, st.floats(0.1, 1.0))
def test_a_pot_keeps_no_more_than_is_poured_nor_than_it_can(poured, deficit, reach):
    kept = water_kept(poured, deficit, reach)
    assert 0 <= kept <= min(poured, reach * deficit) + 1e-9


@given(VOLUME, VOLUME, st.floats(0.1, 1.0))
def test_a_drier_pot_keeps_no_less(poured, deficit, reach):
    assert water_kept(poured, 1.2 * deficit, reach) >= water_kept(poured, deficit, reach) - 1e-9


def test_more_than_it_can_keep_takes_endless_water():
    assert np.isinf(water_for(0.9, 1.0, 0.8))


def test_small_lots_with_rests_reach_further_than_one_large():
    row = wetting_reaches()["wettable"]
    lots = wetting_reach([1 / 6, 1 / 3, 1.0], 0.5, row.at_once, row.in_lots)
    assert lots[0] > lots[1] > lots[2]
    hurried = wetting_reach(1 / 6, [0.0, 0.25, 0.5, 2.0], row.at_once, row.in_lots)
    assert np.all(np.diff(hurried[:3]) > 0)
    assert hurried[2] == hurried[3]


def test_a_repelling_medium_is_reached_less_and_a_wetting_agent_helps_in_part():
    rows = wetting_reaches()
    for figure in ("at_once", "in_lots"):
        repelling, helped, wettable = (
            getattr(rows[state], figure)
            for state in ("repelling", "repelling_with_wetting_agent", "wettable")
        )
        assert repelling < helped < wettable


def test_missing_stays_missing():
    np.testing.assert_array_equal(np.isnan(water_kept([np.nan, 0.1], 0.5, 0.9)), [True, False])


def test_lots_are_small_and_make_up_the_water():
    got = wetting_lots(0.78, 0.6, [0.5, 0.05])
    np.testing.assert_allclose(got.lot * got.number, 0.78)
    assert np.all(got.lot <= 0.1 + 1e-12)
    assert got.lot[1] <= 0.05
    for none in (wetting_lots(0.0, 0.0, 0.5), wetting_lots(0.0, 0.6, 0.5), wetting_lots(0.5, 0, 1)):
        assert (none.number, none.lot) == (0, 0.0)
