import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtri
from scipy.stats import qmc

from saltcalc.science import cycles
from saltcalc.science.flush import WashoutParameters
from saltcalc.science.pass_days import Timing, course, settled_after
from saltcalc.science.plan import headspace_volume
from saltcalc.science.uncertainty import (
    Interval,
    amount_at,
    logit_normal_quantile,
    normal_sample,
    normal_score,
)
from tests.washing import wash

parameters = st.builds(
    WashoutParameters,
    efficiency=st.floats(0.2, 1.0),
    immobile_water_fraction=st.floats(0.0, 0.5),
    mass_transfer_coefficient=st.floats(0.01, 1.5),
    sorbed_ratio=st.floats(0.0, 0.6),
    layers=st.integers(1, 5),
)


@given(parameters, st.floats(0.0, 12.0), st.floats(0.0, 3.0), st.floats(0.1, 2.0))
@settings(deadline=None)
def test_more_water_never_leaves_more_salt_than_there_was_or_came_in(p, before, water, each):
    record = wash(before, water, p, [each] * 6, 0.25, 0.5)
    assert np.all(record.ec_medium <= max(before, water) + 1e-9)
    steps = np.diff(np.concatenate([[before], record.ec_medium]))
    assert np.all(steps <= 1e-9) if before >= water else np.all(steps >= -1e-9)


@given(parameters, st.floats(0.05, 1.0), st.integers(1, 9))
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
    after = settled_after(pots, one, start, timing, number)
    np.testing.assert_allclose(after + 0.5, record.ec_medium[-1], rtol=1e-8)


def test_a_course_has_its_nights():
    pots = cycles.Pots.of(0.8, 0.3, 0.1, 0.2, 3)
    one, start = cycles.pass_map(pots, 0.2, 0.25), cycles.even_excess(pots, 6.0, 0.0)
    by_day = course(pots, one, start, Timing(0.25, 0.5, 100, 0.0), 4, 0.2).settled[0]
    by_night = course(pots, one, start, Timing(0.25, 0.5, 2, 14.0), 4, 0.2).settled[0]
    assert by_night[1] == pytest.approx(by_day[1], rel=1e-12)
    assert by_night[3] < by_day[3]


def test_no_pass_is_more_than_the_headspace_takes():
    assert headspace_volume(10.0, 400.0, 2.5) == pytest.approx(1.0)
    assert headspace_volume(0.1, 25.0, 2.5) == pytest.approx(0.025)


@pytest.mark.parametrize("at", [logit_normal_quantile, amount_at])
def test_eighty_per_cent_of_the_sample_lie_within_the_interval(at):
    sample = at(normal_sample(1, 4096)[:, 0], Interval(0.7, 0.5, 0.85))
    low, middle, high = np.quantile(sample, [0.1, 0.5, 0.9])
    assert (low, middle, high) == pytest.approx((0.5, 0.7, 0.85), abs=2e-3)


@pytest.mark.parametrize(("dimensions", "size"), [(2, 0), (0, 8), (13, 8)])
def test_a_sample_has_a_size_and_a_prime_for_each_dimension(dimensions, size):
    with pytest.raises(ValueError, match="1 to 12 dimensions"):
        normal_sample(dimensions, size)


@pytest.mark.parametrize("size", [128, 512])
def test_the_sample_is_as_even_as_scrambled_sobol_points(size):
    """The quantile of an uneven sum, against 2**16 points of scipy's, over twenty seeds."""

    def quantile(scores):
        each = scores @ np.linspace(1.0, 0.1, 10) + 0.3 * scores[:, 0] * scores[:, 1]
        return np.quantile(each, 0.8)

    def sobol(power, seed):
        points = qmc.Sobol(10, rng=np.random.default_rng(seed)).random_base2(power)
        return ndtri(np.clip(points, 1e-9, 1 - 1e-9))

    true = quantile(sobol(16, 1))
    seeds = range(20)
    ours = [quantile(normal_sample(10, size, seed)) - true for seed in seeds]
    theirs = [quantile(sobol(int(np.log2(size)), seed)) - true for seed in seeds]
    assert np.std(ours) < 1.6 * np.std(theirs)
    assert abs(np.mean(ours)) < 0.1


def test_the_score_of_a_probability_is_the_normal_quantile():
    shares = np.array([1e-9, 0.05, 0.5, 0.8, 1 - 1e-9])
    np.testing.assert_allclose(normal_score(shares), ndtri(shares), rtol=1e-9, atol=1e-12)
    assert np.isnan(normal_score(np.nan))
    with pytest.raises(ValueError, match="between 0 and 1"):
        normal_score([0.5, 1.0])
