import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from saltcalc.data.causes import (
    causes,
    diagnostic_measures,
    evidence_rules,
    next_measurements,
)
from saltcalc.data.observations import observations
from saltcalc.parts.causes.evidence import figure_matrix
from saltcalc.parts.causes.next_measurement import NONE_LEFT
from saltcalc.parts.causes.weighing import weigh_causes
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
    early = [cause for cause in found.order[0] if found.before_water[0, cause]]
    assert first == (early or suspects)[0]
    salts = list(causes()).index("total_salts")
    assert second in suspects[1:] or (MEASUREMENTS[choice].id, second) == ("ec_reading", salts)
    measurement, ids = MEASUREMENTS[choice], list(causes())
    shown = [
        measurement.outcomes.get(ids[cause], measurement.normal_outcome)
        for cause in (first, second)
    ]
    assert shown[0] != shown[1]
    known = reported | set(known)
    assert any(not known & set(group) for group in measurement.done_when)


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
    figures = {"nitrate_n": (np.nan, 60.0), "ec_extract": (1.4, 1.4)}
    found = weigh_causes(figures, {"pale_whole_plant": [True]}, 1)
    assert MEASUREMENTS[found.next_measurement[0]].id == "nitrate_strip"


EVERY_ION = dict.fromkeys(
    (
        "nitrate_n",
        "ammonium_n",
        "phosphorus_to_low",
        "potassium_to_low",
        "calcium_to_low",
        "magnesium_to_low",
        "sulfate_s",
        "sodium",
        "chloride",
        "boron",
    ),
    50.0,
)


@given(st.sampled_from(list(EVERY_ION)), signs)
@settings(max_examples=50)
def test_a_report_is_asked_for_what_it_lacks_alone(missing, reported):
    known = EVERY_ION | {"ph": 6.0, "ec_extract": 3.0}
    lab = next(i for i, each in enumerate(MEASUREMENTS) if each.id == "lab_ions")
    whole = weigh(known, reported)
    assert lab not in {whole.next_measurement[0], *whole.settling_measurement[0]}
    lacking = weigh({ion: value for ion, value in known.items() if ion != missing}, reported)
    open_groups = lacking.open_groups[lab][0]
    asked = [
        group
        for group, is_open in zip(MEASUREMENTS[lab].done_when, open_groups, strict=True)
        if is_open
    ]
    assert asked == [(missing,)]


def test_one_sign_of_the_stem_leaves_the_roots_to_look_at():
    found = weigh({}, {"sound_stem_base"})
    ids = [each.id for each in MEASUREMENTS]
    settles = found.settling_measurement[0][list(causes()).index("lack_of_air")]
    assert not found.open_groups[ids.index("look_at_stem_base")].any()
    assert found.open_groups[ids.index("look_at_roots")].all()
    assert ids[settles] != "look_at_stem_base"


def test_a_lone_cause_gets_its_cheapest_test():
    ids = [each.id for each in MEASUREMENTS]
    patches = weigh({}, {"deaths_in_spreading_patches"})
    assert ids[patches.next_measurement[0]] == "look_at_stem_base"
    cold = weigh({"root_zone_temperature": 9.0, "ec_extract": 1.5}, ())
    assert ids[cold.next_measurement[0]] == "warm_half_the_pots"


@pytest.mark.parametrize(
    ("known", "reported"),
    [
        ({}, {"marginal_burn", "white_crust_when_dry"}),
        ({"ph": 4.6}, set()),
        ({"ph": 4.6, "sealed": 1.0}, set()),
        ({"root_zone_temperature": 9.0}, set()),
    ],
)
def test_without_an_ec_it_is_read_first(known, reported):
    found = weigh(known, reported)
    assert MEASUREMENTS[found.next_measurement[0]].id == "ec_reading"


def test_salts_and_ammonium_are_not_told_apart_by_rinsing():
    cress = next_measurements()["cress_three_ways"]
    assert cress.shows("total_salts") == cress.shows("ammonium_toxicity")
    for test in ("ammonium_strip", "air_for_two_weeks"):
        measurement = next_measurements()[test]
        assert measurement.shows("total_salts") != measurement.shows("ammonium_toxicity")


def test_not_seeing_a_sign_is_seeing_its_opposite():
    missed = weigh_causes({}, {}, 1, not_seen={"stem_collapse_at_soil_line": [True]})
    seen = weigh({}, {"sound_stem_base"})
    assert (missed.diagnosis.verdict == seen.diagnosis.verdict).all()


def test_a_limit_of_one_kind_of_medium_is_not_held_against_another():
    figures = {"ph": (7.2, 7.2), "nitrate_n": (5.0, 5.0), "ec_extract": (0.5, 0.5)}
    rules = list(evidence_rules().values())
    for mineral in (False, True):
        found = weigh_causes(figures, {}, 1, mineral=[mineral])
        met = {rules[i].medium for i in np.flatnonzero(found.diagnosis.met[0])}
        assert met - {""} == {"mineral" if mineral else "soilless"}


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


def test_nothing_is_measured_that_cannot_be_done_in_a_sealed_container():
    draining = next_measurements()["air_space_by_draining"]
    assert draining.needs_drainage
    place = list(next_measurements()).index(draining.id)
    air = list(causes()).index("lack_of_air")
    signs = {"stays_wet", "rotted_roots", "sour_smell"}
    sealed = weigh({"sealed": 1.0, "ec_extract": 1.5}, signs)
    assert place not in (sealed.next_measurement[0], sealed.settling_measurement[0][air])
    drains = weigh({"sealed": 0.0, "ec_extract": 1.5}, signs)
    assert drains.settling_measurement[0][air] == place


def test_plants_that_stall_without_a_suspect_get_a_look():
    clean = {"ec_extract": 1.5, "ph": 6.0, "nitrate_n": 90, "ammonium_n": 3}
    ids = [each.id for each in MEASUREMENTS]
    stalled = weigh(clean | {"nitrate_share_of_mineral_n": 97}, {"stalled_at_first_leaves"})
    assert stalled.next_measurement[0] != NONE_LEFT
    assert weigh(clean, set()).next_measurement[0] == NONE_LEFT
    looked = weigh(clean, {"every_crop_stalls", "firm_white_roots", "recovers_in_warmth"})
    assert ids[looked.next_measurement[0]] != "look_at_roots"


def test_what_the_laboratory_proved_is_not_asked_of_cress():
    ids = [each.id for each in MEASUREMENTS]
    boron = weigh({"ec_extract": 1.5, "boron": 2.0}, {"marginal_burn"})
    figures = {"ec_extract": 0.9, "nitrate_n": 5.0, "nitrate_n_to_low": 0.12, "ammonium_n": 2.0}
    hungry = weigh(figures | {"acid_loving": 0.0}, set())
    assert ids[hungry.next_measurement[0]] == "feed_half_the_pots"
    settles = boron.settling_measurement[0][list(causes()).index("boron_toxicity")]
    assert ids[settles] == "boron_in_the_water"
