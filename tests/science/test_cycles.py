import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltcalc.science import cycles
from saltcalc.science.cycles import Pots
from saltcalc.science.flush import WashoutParameters, apply_water, rest, settled_ec, uniform_state
from saltcalc.science.pass_days import Timing
from saltcalc.science.passes_needed import passes_needed

SHARE = st.floats(0.2, 1.0)


def random_pots(number, seed):
    rng = np.random.default_rng(seed)
    return (
        rng.uniform(0.3, 1, number),
        rng.uniform(0, 0.6, number),
        rng.uniform(0, 1.5, number),
        rng.uniform(0, 0.6, number),
        rng.integers(1, 7, number),
    )


def by_passes(dials, row, drained, water, before, schedule):
    """Pass by pass, as the washout model itself does it: what the pot settles to after each."""
    pot = WashoutParameters(*(float(part[row]) for part in dials[:4]), int(dials[4][row]))
    state, settled = uniform_state(before, pot), []
    for pause in schedule:
        state = apply_water(state, pot, drained, water, 0.25).state
        settled.append(float(settled_ec(state, pot)))
        state = rest(state, pot, pause)
    return settled


def test_folded_cycles_are_the_passes_and_rests_one_by_one():
    dials = random_pots(40, 1)
    drained = np.random.default_rng(2).uniform(0.05, 2.5, 40)
    pots = Pots.of(*dials)
    cycle = cycles.pass_map(pots, drained, 0.25) @ cycles.rest_map(pots, 0.5)
    excess = cycles.even_excess(pots, 6.0, 0.5)
    for number in range(4):
        excess = cycles.moved_by(cycle, excess)
        for row in range(40):
            one_by_one = by_passes(dials, row, drained[row], 0.5, 6.0, [0.5] * 4)
            now = cycles.settled_excess(pots, excess)[row] + 0.5
            assert now == pytest.approx(one_by_one[number], abs=1e-9)


@pytest.mark.parametrize("a_day", [1, 2, 3, 7, 40, 60])
def test_the_number_of_passes_is_the_first_that_does(a_day):
    dials = random_pots(60, 3)
    drained, most = np.random.default_rng(4).uniform(0.05, 0.6, 60), 50
    pots = Pots.of(*dials)
    one = cycles.pass_map(pots, drained, 0.25)
    timing = Timing(0.25, 0.5, float(a_day), 14.0)
    spread = cycles.even_excess(pots, 1.0, 0.0)[:, np.newaxis]
    needed = passes_needed(
        pots, one, spread, np.full((60, 2, 1), 5.5), np.array([[1.0, 2.0]]), most, timing
    )
    pauses = [0.5 if step % a_day else 14.0 for step in range(1, most + 1)]
    for row in range(60):
        settled = by_passes(dials, row, drained[row], 0.5, 6.0, pauses)
        for place, wanted in enumerate((1.0, 2.0)):
            first = next((k + 1 for k, ec in enumerate(settled) if ec <= 0.5 + wanted), most + 1)
            assert needed.passes[row, place] == first
            assert needed.before[row, place] > wanted
            if first <= most:
                after = settled[first - 1] - 0.5
                assert needed.after[row, place] == pytest.approx(after, abs=1e-9)


@given(SHARE, st.floats(0, 0.6), st.floats(0, 2), st.floats(0, 1), st.integers(1, 6))
def test_what_leaves_the_top_layer_goes_down_or_out(efficiency, immobile, rate, store, layers):
    pots = Pots.of(efficiency, immobile, rate, store, layers)
    moved = cycles.pass_map(pots, 0.4, 0.5)
    assert np.all(moved >= -1e-12)
    capacity = np.tile([pots.mobile[0], pots.immobile[0]], layers)
    for part in range(2):
        kept = (moved[0, part] * capacity).sum() / max(capacity[part], 1e-12)
        assert kept <= 1 + 1e-9 or capacity[part] < 1e-9


@pytest.mark.parametrize("drained", [1e9, 1e300])
def test_a_deluge_leaves_only_what_stands(drained):
    pots = Pots.of(1.0, 0.3, 0.0, 0.0, 3)
    moved = cycles.pass_map(pots, drained, 0.0)
    left = cycles.settled_excess(pots, cycles.moved_by(moved, cycles.even_excess(pots, 1.0, 0.0)))
    assert left == pytest.approx(0.3, abs=1e-9)


def test_a_missing_figure_spares_its_neighbour():
    pots = Pots.of([0.8, np.nan], 0.3, 0.2, 0.05, 3)
    moved = cycles.pass_map(pots, 0.5, 0.25)
    assert np.all(np.isfinite(moved[0]))
    assert np.all(np.isnan(moved[1, 0, 0]))


@pytest.mark.parametrize(
    "wrong",
    [
        (1.001, 0, 0, 0, 1),
        (-0.001, 0, 0, 0, 1),
        (0.8, 1.0, 0, 0, 1),
        (0.8, -0.001, 0, 0, 1),
        (0.8, 0.2, -1, 0, 1),
        (0.8, 0.2, 0, -1, 1),
        (1, 0, 0, 0, 0),
    ],
)
def test_parameters_without_meaning_are_refused(wrong):
    with pytest.raises(ValueError, match="must"):
        Pots.of(*wrong)


@pytest.mark.parametrize("efficiency", [0.0, 1.0])
def test_the_ends_of_the_ranges_are_taken(efficiency):
    assert np.all(np.isfinite(cycles.pass_map(Pots.of(efficiency, 0, 0, 0, 1), 0.5, 0.25)))


@pytest.mark.parametrize(("drained", "hours"), [(-1.0, 0.0), (1.0, -1.0)])
def test_negative_amounts_are_refused(drained, hours):
    with pytest.raises(ValueError, match="negative"):
        cycles.pass_map(Pots.of(1, 0, 0, 0, 1), drained, hours)
