import numpy as np
import pytest

from saltcalc.science.flush import WashoutParameters
from saltcalc.science.passes import wash
from saltcalc.science.plan import Flush, UncertainWashout, plan_flush
from saltcalc.science.progress import Readings, _Prior, estimate_progress
from saltcalc.science.uncertainty import Interval

WASHOUT = UncertainWashout(
    Interval(0.7, 0.5, 0.85), Interval(0.2, 0.1, 0.3), Interval(0.3, 0.1, 0.9),
    Interval(0.05, 0.02, 0.15), 3,
)  # fmt: skip
WASHOUT_VALUES = WashoutParameters(0.7, 0.2, 0.3, 0.05, 3)
HELD = Interval(6.0, 5.4, 6.6)
BEFORE = Interval(8.0, 6.8, 9.4)
FLUSH = Flush(8.0, 2.0, 0.5, 6.0, 0.0, 1.0, 100.0, 0.25, 0.5)


def truth_and_readings(seed, passes):
    rng = np.random.default_rng(seed)
    parameters, held, ec = _Prior(WASHOUT, HELD, BEFORE).at(rng.standard_normal(6))
    drained = np.ones(passes)
    record = wash(
        ec, FLUSH.ec_water, parameters, drained / held, FLUSH.duration, FLUSH.rest_between
    )
    measured = record.ec_drainage * np.exp(0.10 * rng.standard_normal(passes))
    return parameters, held, ec, Readings(drained, measured)


def test_the_truth_lies_within_the_stated_interval_as_often_as_stated():
    """Nominal 90 %; 75 of 100 is the least that may pass."""
    efficiency = immobile = water = 0
    for seed in range(100):
        passes = 1 + seed % 6
        truth, held, ec, readings = truth_and_readings(seed, passes)
        found = estimate_progress(readings, FLUSH, WASHOUT, HELD, BEFORE)
        efficiency += found.efficiency.low <= truth.efficiency <= found.efficiency.high
        immobile += found.immobile_share.low <= truth.immobile_share <= found.immobile_share.high
        whole = plan_flush(FLUSH._replace(ec_medium=ec, water_held=held), truth)
        left = max(float(whole.applied) - passes, 0.0)
        water += found.remaining.low <= left <= found.remaining.high
    assert min(efficiency, immobile, water) >= 75


def test_the_first_reading_already_improves_the_plan():
    """Against the same pass left unread: a narrower range, and a smaller error on the whole.

    One reading cannot tell weak displacement from a weaker medium, so the gain is modest."""
    width, error = [], []
    for seed in range(30):
        truth, held, ec, readings = truth_and_readings(seed, 1)
        left = float(plan_flush(FLUSH._replace(ec_medium=ec, water_held=held), truth).applied) - 1
        unread = readings._replace(ec_drainage=[np.nan])
        found = [estimate_progress(r, FLUSH, WASHOUT, HELD, BEFORE) for r in (unread, readings)]
        width.append([f.remaining.high - f.remaining.low for f in found])
        error.append([abs(f.remaining.value - left) for f in found])
    assert np.mean(width, axis=0)[1] < np.mean(width, axis=0)[0]
    assert np.mean(error, axis=0)[1] < np.mean(error, axis=0)[0]


def test_many_exact_readings_find_the_efficiency():
    parameters, held, ec = _Prior(WASHOUT, HELD, BEFORE).at(np.array([-1.2, 0, 0, 0, 0, 0.0]))
    record = wash(ec, 0.5, parameters, np.ones(12) / held, 0.25, 0.5)
    found = estimate_progress(
        Readings(np.ones(12), record.ec_drainage), FLUSH, WASHOUT, HELD, BEFORE, reading_spread=0.01
    )
    assert found.efficiency.value == pytest.approx(float(parameters.efficiency), abs=0.03)


def test_a_reading_weaker_than_expected_means_more_water_ran_past():
    record = wash(8.0, 0.5, WASHOUT_VALUES, np.ones(3) / 6.0, 0.25, 0.5)
    weak = estimate_progress(
        Readings(np.ones(3), 0.6 * record.ec_drainage), FLUSH, WASHOUT, HELD, BEFORE
    )
    usual = estimate_progress(
        Readings(np.ones(3), record.ec_drainage), FLUSH, WASHOUT, HELD, BEFORE
    )
    assert weak.efficiency.value < usual.efficiency.value
    assert usual.efficiency.value == pytest.approx(0.7, abs=0.01)


def test_a_pass_without_a_reading_still_counts_as_water():
    found = estimate_progress(Readings([1.0, 1.0], [np.nan, np.nan]), FLUSH, WASHOUT, HELD, BEFORE)
    assert found.efficiency.value == pytest.approx(0.7)
    assert found.remaining_passes < plan_flush(FLUSH, WASHOUT_VALUES).passes


@pytest.mark.parametrize(
    "readings",
    [Readings([], []), Readings([1.0], [0.0]), Readings([-1.0], [2.0]), Readings([1, 2], [3])],
)
def test_readings_without_meaning_are_refused(readings):
    with pytest.raises(ValueError, match="drain"):
        estimate_progress(readings, FLUSH, WASHOUT, HELD, BEFORE)
