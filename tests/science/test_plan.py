import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from saltcalc.science import cycles
from saltcalc.science.flush import WashoutParameters
from saltcalc.science.pass_days import Timing, after_passes, course
from saltcalc.science.plan import headspace_volume
from saltcalc.science.uncertainty import Interval, amount_at, normal_sample, share_at
from tests.washing import wash

dials = st.builds(
    WashoutParameters,
    efficiency=st.floats(0.2, 1.0),
    immobile_share=st.floats(0.0, 0.5),
    exchange_rate=st.floats(0.01, 1.5),
    store_ratio=st.floats(0.0, 0.6),
    layers=st.integers(1, 5),
)


@given(dials, st.floats(0.0, 12.0), st.floats(0.0, 3.0), st.floats(0.1, 2.0))
@settings(deadline=None)
def test_more_water_never_leaves_more_salt_than_there_was_or_came_in(p, before, water, each):
    record = wash(before, water, p, [each] * 6, 0.25, 0.5)
    assert np.all(record.ec_medium <= max(before, water) + 1e-9)
    steps = np.diff(np.concatenate([[before], record.ec_medium]))
    assert np.all(steps <= 1e-9) if before >= water else np.all(steps >= -1e-9)


@given(dials, st.floats(0.05, 1.0), st.integers(1, 9))
@settings(deadline=None)
def test_a_course_is_the_wash_pass_by_pass(p, drained, number):
    """With rests so alike that days and nights do not differ."""
    pots = cycles.Pots.of(*p)
    one, start = cycles.pass_map(pots, drained, 0.25), cycles.even_excess(pots, 6.0, 0.5)
    timing = Timing(0.25, 0.5, 3, 0.5)
    record = wash(6.0, 0.5, p, [drained] * number, 0.25, 0.5)
    got = course(pots, one, start, timing, number, drained)
    np.testing.assert_allclose(got.settled[0] + 0.5, record.ec_medium, rtol=1e-8)
    np.testing.assert_allclose(got.drainage[0] + 0.5, record.ec_drainage, rtol=1e-6)
    after = after_passes(pots, one, start, timing, number)
    np.testing.assert_allclose(cycles.settled_excess(pots, after), got.settled[:, -1], rtol=1e-8)


def test_a_course_has_its_nights():
    pots = cycles.Pots.of(0.8, 0.3, 0.1, 0.2, 3)
    one, start = cycles.pass_map(pots, 0.2, 0.25), cycles.even_excess(pots, 6.0, 0.0)
    by_day = course(pots, one, start, Timing(0.25, 0.5, 100, 0.0), 4, 0.2).settled[0]
    by_night = course(pots, one, start, Timing(0.25, 0.5, 2, 14.0), 4, 0.2).settled[0]
    assert by_night[1] == by_day[1]
    assert by_night[3] < by_day[3]


def test_no_pass_is_more_than_the_headspace_takes():
    assert headspace_volume(10.0, 400.0, 2.5) == pytest.approx(1.0)
    assert headspace_volume(0.1, 25.0, 2.5) == pytest.approx(0.025)


@pytest.mark.parametrize("at", [share_at, amount_at])
def test_eighty_per_cent_of_the_sample_lie_within_the_interval(at):
    sample = at(normal_sample(1, 4096)[:, 0], Interval(0.7, 0.5, 0.85))
    low, middle, high = np.quantile(sample, [0.1, 0.5, 0.9])
    assert (low, middle, high) == pytest.approx((0.5, 0.7, 0.85), abs=2e-3)


@pytest.mark.parametrize("size", [0, 3, 100])
def test_the_sample_size_is_a_power_of_two(size):
    with pytest.raises(ValueError, match="power of two"):
        normal_sample(2, size)
