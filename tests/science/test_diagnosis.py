from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from saltcalc.science.diagnosis import (
    CANNOT_TELL,
    NO_CAUSE,
    POSSIBLE,
    STRONG,
    SUPPORTED,
    UNLIKELY,
    WEAK,
    RuleArrays,
    conditions_met,
    diagnose,
    ranks,
    separating_measurement,
    verdicts,
)

counts = hnp.arrays(np.int64, (4,), elements=st.integers(0, 5))
strength = st.integers(0, 3)


def one_more(evidence, kind):
    more = evidence.copy()
    more[kind] += 1
    return more


@given(counts, counts, st.booleans(), strength)
def test_more_evidence_for_never_lowers_a_verdict(pro, contra, decidable, kind):
    assert verdicts(one_more(pro, kind), contra, decidable) >= verdicts(pro, contra, decidable)


@given(counts, counts, st.booleans(), strength)
def test_more_evidence_against_never_raises_a_verdict(pro, contra, decidable, kind):
    assert verdicts(pro, one_more(contra, kind), decidable) <= verdicts(pro, contra, decidable)


@given(counts, counts, st.booleans())
def test_for_and_against_weigh_the_same(pro, contra, decidable):
    supported = verdicts(pro, contra, decidable) == SUPPORTED
    assert supported == (verdicts(contra, pro, decidable) == UNLIKELY)


@given(st.integers(0, 50), st.integers(0, 50), st.booleans())
def test_weak_evidence_alone_settles_nothing(pro, contra, decidable):
    verdict = verdicts([pro, 0, 0, 0], [contra, 0, 0, 0], decidable)
    assert int(verdict) in {CANNOT_TELL, POSSIBLE}


@given(
    hnp.arrays(np.int64, (4, 4), elements=st.integers(0, 4)),
    hnp.arrays(np.int64, (4, 4), elements=st.integers(0, 4)),
    hnp.arrays(np.bool_, (4,)),
    st.integers(0, 3),
    strength,
    st.sampled_from([[NO_CAUSE] * 4, [NO_CAUSE, 0, NO_CAUSE, 0]]),
)
def test_more_evidence_for_never_lowers_a_rank(pro, contra, decidable, cause, kind, order):
    before = ranks(verdicts(pro, contra, decidable), pro, contra, order)
    more = pro.copy()
    more[cause, kind] += 1
    after = ranks(verdicts(more, contra, decidable), more, contra, order)
    assert after[cause] <= before[cause]


def test_a_cause_that_comes_after_another_ranks_behind_it_only_where_both_are_supported():
    order, nothing = [NO_CAUSE, 0, NO_CAUSE], np.zeros((3, 4))
    strong = np.array([[0, 0, 1, 0], [0, 0, 2, 0], [0, 0, 3, 0]])
    assert ranks([SUPPORTED] * 3, strong, nothing, order).tolist() == [2, 3, 1]
    assert ranks([POSSIBLE, SUPPORTED, SUPPORTED], strong, nothing, order).tolist() == [3, 2, 1]


def test_weak_evidence_calls_no_undecidable_cause_possible():
    assert verdicts([3, 0, 0, 0], [0, 0, 0, 0], False) == CANNOT_TELL
    assert verdicts([3, 0, 0, 0], [0, 0, 0, 0], True) == POSSIBLE


def test_moderate_evidence_makes_a_cause_possible_and_no_more():
    assert verdicts([0, 1, 0, 0], [0, 0, 0, 0], False) == POSSIBLE
    assert verdicts([0, 9, 0, 0], [0, 0, 0, 0], True) == POSSIBLE
    assert verdicts([0, 0, 0, 0], [0, 9, 0, 0], True) == CANNOT_TELL


def test_balanced_strong_evidence_leaves_a_cause_open():
    assert verdicts([0, 0, 1, 0], [0, 0, 1, 0], True) == POSSIBLE


def test_decisive_evidence_outweighs_any_amount_of_the_rest():
    assert verdicts([9, 9, 9, 0], [0, 0, 0, 1], True) == UNLIKELY


def test_equal_evidence_ties_and_the_next_rank_counts_both():
    pro = np.array([[0, 0, 1, 0], [0, 0, 1, 0], [1, 0, 0, 0]])
    contra = np.zeros_like(pro)
    assert ranks(verdicts(pro, contra, True), pro, contra).tolist() == [1, 1, 3]


def test_a_condition_must_hold_over_the_whole_interval():
    lower = np.array([1.0, 2.5, 1.0, np.nan, 2.5])
    upper = np.array([1.5, 3.0, 3.0, np.nan, np.nan])
    above = conditions_met(lower, upper, 1, True, 2.0)
    below = conditions_met(lower, upper, -1, True, 2.0)
    assert above.tolist() == [False, True, False, False, True]
    assert below.tolist() == [True, False, False, False, False]


def test_the_threshold_itself_counts_only_where_said():
    assert conditions_met(2.0, 2.0, [1, 1, -1, -1], [True, False, True, False], 2.0).tolist() == [
        False,
        True,
        False,
        True,
    ]


def test_the_rounding_of_a_conversion_does_not_cross_a_threshold():
    figure = 0.1 * 3 / 0.06
    assert figure != 5
    assert conditions_met(
        figure, figure, [1, 1, -1, -1], [True, False, True, False], 5.0
    ).tolist() == [
        False,
        True,
        False,
        True,
    ]


# Two causes. Figure 0 decides cause 0: above 2 strong for, below 2 strong against.
# Figures 1 and 2 together are strong evidence for cause 1.
RULES = RuleArrays(
    condition_rule=np.array([0, 1, 2, 2]),
    condition_figure=np.array([0, 0, 1, 2]),
    condition_sign=np.array([1.0, -1.0, 1.0, 1.0]),
    condition_strict=np.array([True, True, False, False]),
    condition_threshold=np.array([2.0, 2.0, 1.0, 1.0]),
    rule_cause=np.array([0, 0, 1]),
    rule_direction=np.array([1, -1, 1]),
    rule_strength=np.array([STRONG, STRONG, STRONG]),
    rule_reading=np.array([0, 0, 1]),
    rule_graded=np.array([True, False, False]),
    cause_deciding_figure=np.array([0, -1]),
    cause_after=np.array([NO_CAUSE, NO_CAUSE]),
)


def test_every_condition_of_a_rule_must_hold():
    figures = [[3.0, 1.0, np.nan], [1.0, 1.0, 1.0], [np.nan, np.nan, np.nan]]
    found = diagnose(figures, figures, RULES)
    assert found.met.tolist() == [
        [True, False, False],
        [False, True, True],
        [False, False, False],
    ]
    assert found.verdict.tolist() == [
        [SUPPORTED, CANNOT_TELL],
        [UNLIKELY, SUPPORTED],
        [CANNOT_TELL, CANNOT_TELL],
    ]
    assert found.rank.tolist() == [[1, 2], [2, 1], [1, 1]]


def test_rules_on_one_reading_are_one_piece_and_the_strongest_counts():
    twice = replace(RULES, rule_strength=np.array([WEAK, STRONG, STRONG]))
    twice = replace(twice, rule_cause=np.array([0, 0, 0]), rule_direction=np.array([1, -1, 1]))
    figures = [[3.0, 1.0, 1.0]]
    apart = diagnose(figures, figures, twice)
    assert apart.evidence_for[0, 0].tolist() == [1, 0, 1, 0]
    one = diagnose(figures, figures, replace(twice, rule_reading=np.array([0, 0, 0])))
    assert one.evidence_for[0, 0].tolist() == [0, 0, 1, 0]
    assert one.met.tolist() == apart.met.tolist()


@pytest.mark.parametrize(("low", "high", "pieces"), [(3.9, 9.0, 1), (4.0, 4.0, 2), (40, 41, 2)])
def test_a_figure_surely_twice_its_limit_counts_as_two(low, high, pieces):
    found = diagnose([[low, 0, 0]], [[high, 0, 0]], RULES)
    assert found.evidence_for[0, 0].tolist() == [0, 0, pieces, 0]


@pytest.mark.parametrize(("low", "high", "pieces"), [(1.1, 1.1, 1), (0.2, 1.1, 1), (0.9, 1.0, 2)])
def test_a_figure_surely_half_its_limit_counts_as_two(low, high, pieces):
    graded = replace(RULES, rule_graded=np.array([False, True, False]))
    found = diagnose([[low, 0, 0]], [[high, 0, 0]], graded)
    assert found.evidence_against[0, 0].tolist() == [0, 0, pieces, 0]


def test_a_batch_gives_what_its_samples_give_alone():
    rng = np.random.default_rng(1)
    lower = rng.uniform(0, 4, (50, 3))
    upper = lower + rng.uniform(0, 1, (50, 3))
    whole = diagnose(lower, upper, RULES)
    for i in range(50):
        alone = diagnose(lower[i : i + 1], upper[i : i + 1], RULES)
        assert (alone.verdict[0] == whole.verdict[i]).all()
        assert (alone.rank[0] == whole.rank[i]).all()


def test_bounds_that_cross_are_refused():
    with pytest.raises(ValueError, match="exceeds"):
        diagnose([[2.0, 0, 0]], [[1.0, 0, 0]], RULES)


def test_bounds_of_different_shape_are_refused():
    with pytest.raises(ValueError, match="shape"):
        diagnose([[2.0, 0, 0]], [[1.0, 0]], RULES)


OUTCOME = np.array([[[0, 1, 1], [0, 1, 2], [0, 0, 1]]])
COST = np.array([1, 3, 2])


@pytest.mark.parametrize(
    ("first", "rivals", "outcome", "expected"),
    [
        (0, [False, True, False], OUTCOME, 0),
        (1, [False, False, True], OUTCOME, 2),
        (0, [False, True, False], OUTCOME * [[[0], [1], [1]]], 1),
        (1, [True, False, True], OUTCOME, 1),
        (0, [False, True, False], OUTCOME * [[[0], [0], [1]]], -1),
        (1, [False, True, False], OUTCOME, -1),
    ],
    ids=[
        "cheapest",
        "only those that differ",
        "not what is known",
        "from all rivals",
        "none left",
        "one cause",
    ],
)
def test_the_next_measurement(first, rivals, outcome, expected):
    chosen = separating_measurement([first], [rivals], outcome, COST)
    assert chosen.tolist() == [expected]
