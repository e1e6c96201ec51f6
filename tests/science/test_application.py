import pytest

from saltcalc.science.application import (
    depth_of,
    dripper_hours,
    hose_seconds,
    tray_water,
)
from saltcalc.science.instruction import instruct
from saltcalc.science.plan import Flush
from saltcalc.science.schedule import timing_with_rest
from saltcalc.science.uncertainty import Interval
from tests.science.test_instruction import washout_of


def test_a_tray_gets_what_its_cells_get():
    """A cell of 3 mL is never told a drop: the tray of 512 is, in litres and millimetres."""
    got = tray_water(0.00075, 512, 54 * 28, run_depth=3.0)
    assert got.litres_a_tray == pytest.approx(512 * 0.00075)
    assert got.depth * 54 * 28 / 1e4 == pytest.approx(got.litres_a_tray)
    assert got.runs == 1


def test_a_deep_pass_takes_several_runs_of_the_boom():
    assert tray_water(0.00625, 128, 54 * 28, [6.0, 3.0, 2.0]).runs.tolist() == [1, 2, 3]


def test_hose_and_dripper_bring_the_same_water():
    assert hose_seconds(3.0, 9.0) / 60 * 9.0 == pytest.approx(3.0)
    assert dripper_hours(36.0, 2.0, drippers=2) * 4.0 == pytest.approx(36.0)
    assert depth_of(1.0, 1e4) == 1.0  # a litre on a square metre


def test_slow_drippers_give_the_standing_water_time():
    """Compost: half the flow takes longer and less water, as the model has it; a slow flow is not
    also held to run past less."""
    held, litres = 22.4, []
    for flow in (16.0, 4.0, 1.0):
        flush = Flush(14.0, 4.5, 0.5, held, 0.0, 2.0, 400.0, 0.25)
        got = instruct(
            flush, washout_of("compost"), Interval.of(held, 0.9 * held, 1.1 * held),
            Interval.of(14.0, 12.0, 16.0), Interval.of(1.0, 0.9, 1.1),
            timing_with_rest(dripper_hours([2.0], flow), 0.0),
        )  # fmt: skip
        litres.append(float(got.litres[0]))
    assert litres[0] > litres[1] > litres[2]


@pytest.mark.parametrize("wrong", [(-1.0, 10.0), (1.0, -10.0)])
def test_negative_figures_are_refused(wrong):
    with pytest.raises(ValueError, match="negative"):
        hose_seconds(*wrong)
