import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from saltcalc.assessment.causes import NONE_LEFT, figure_matrix, weigh_causes
from saltcalc.data.causes import causes, diagnostic_measures, next_measurements
from saltcalc.data.observations import observations
from saltcalc.science.diagnosis import UNLIKELY

MEASUREMENTS = list(next_measurements().values())

signs = st.sets(st.sampled_from(list(observations())), max_size=5)
figures = st.dictionaries(
    st.sampled_from(list(diagnostic_measures())), st.floats(0, 100, allow_nan=False), max_size=6
)


def weigh(known, reported):
    return weigh_causes(
        {measure: (value, value) for measure, value in known.items()},
        {sign: [True] for sign in reported},
        1,
    )


@given(figures, signs)
@settings(max_examples=200)
def test_the_next_measurement_separates_the_two_leading_causes(known, reported):
    found = weigh(known, reported)
    diagnosis = found.diagnosis
    suspects = [
        cause
        for cause in found.order[0]
        if diagnosis.evidence_for[0, cause].any() and diagnosis.verdict[0, cause] != UNLIKELY
    ]
    choice, (first, second) = found.next_measurement[0], found.separated[0]
    if second == NONE_LEFT:
        return
    assert first == suspects[0]
    assert second in suspects[1:]
    measurement, ids = MEASUREMENTS[choice], list(causes())
    shown = [
        measurement.outcomes.get(ids[cause], measurement.normal_outcome)
        for cause in (first, second)
    ]
    assert shown[0] != shown[1]
    assert not reported & set(measurement.done_when)


@given(figures, signs)
@settings(max_examples=50)
def test_the_order_follows_the_ranks(known, reported):
    found = weigh(known, reported)
    assert (np.diff(found.diagnosis.rank[0, found.order[0]]) >= 0).all()


def test_nothing_known_asks_for_the_first_reading_and_judges_nothing():
    found = weigh({}, ())
    assert MEASUREMENTS[found.next_measurement[0]].id == "ec_reading"
    assert not found.diagnosis.met.any()
    assert set(found.diagnosis.rank[0]) == {1}


def test_nothing_suspected_after_the_first_reading_asks_for_nothing():
    assert weigh({"ec_extract": 1.4}, ()).next_measurement[0] == NONE_LEFT


def test_one_suspect_alone_is_to_be_settled():
    found = weigh({"ec_extract": 6.5}, ())
    assert MEASUREMENTS[found.next_measurement[0]].id == "cress_three_ways"


def test_a_bound_is_no_reading():
    found = weigh_causes({"nitrate_n": (np.nan, 60.0)}, {"pale_whole_plant": [True]}, 1)
    assert MEASUREMENTS[found.next_measurement[0]].id == "nitrate_strip"


def test_a_batch_is_its_samples_side_by_side():
    batch = weigh_causes(
        {"ec_extract": ([0.5, 6.5], [0.5, 6.5]), "nitrate_n": ([10, np.nan], [10, np.nan])},
        {"yellow_older_leaves": [True, False]},
        2,
    )
    starved = weigh({"ec_extract": 0.5, "nitrate_n": 10}, {"yellow_older_leaves"})
    salty = weigh({"ec_extract": 6.5}, ())
    assert (batch.diagnosis.verdict[0] == starved.diagnosis.verdict[0]).all()
    assert (batch.diagnosis.verdict[1] == salty.diagnosis.verdict[0]).all()
    assert batch.next_measurement.tolist() == [
        starved.next_measurement[0],
        salty.next_measurement[0],
    ]


def test_an_unknown_measure_is_refused():
    with pytest.raises(KeyError, match="moonlight"):
        figure_matrix({"moonlight": (1, 1)}, {}, 1)
