import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltcalc.science.crop_limits import CropLimits, Limit, RootZone, Stage, Verdict, only_above
from saltcalc.science.crop_response import (
    Rating,
    ec_at_yield,
    rated_yield,
    relative_yield,
    s_curve_response,
    zero_yield_ec,
)
from saltcalc.science.tolerance import (
    container_verdict,
    judge,
    max_tolerated_ec,
    order_of_tolerance,
)

ECS = st.floats(0, 60)
THRESHOLDS = st.floats(0.1, 12)
SLOPES = st.floats(1, 40)


def zone(ec, spread=0.0, **more):
    ec = np.asarray(ec, float)
    low, high = ec * (1 - spread), ec * (1 + spread)
    return RootZone(
        ec_low=low, ec=ec, ec_high=high,
        reading_low=low, reading=ec, reading_high=high,
        **{"suits": 2.0, "injures": 6.0, "sensitive": 2.0} | more,
    )  # fmt: skip


@given(ECS, THRESHOLDS, SLOPES)
def test_yield_stays_within_its_bounds_and_is_whole_below_the_threshold(ec, threshold, slope):
    response = relative_yield(ec, threshold, slope)
    assert 0 <= response <= 100
    assert response == 100 if ec <= threshold else response < 100


@given(st.floats(0, 100), THRESHOLDS, SLOPES)
def test_ec_at_yield_inverts_the_response(wanted, threshold, slope):
    ec = ec_at_yield(wanted, threshold, slope)
    assert relative_yield(ec, threshold, slope) == pytest.approx(wanted, abs=1e-9)


def test_yield_ends():
    assert ec_at_yield(100, 2.5, 9.9) == 2.5
    assert relative_yield(zero_yield_ec(2.5, 9.9), 2.5, 9.9) == pytest.approx(0)
    assert ec_at_yield(0, 2.5, 9.9) == zero_yield_ec(2.5, 9.9)
    for beyond in (100.5, -0.5):
        with pytest.raises(ValueError, match="between 0 and 100"):
            ec_at_yield(beyond, 2.5, 9.9)


def test_missing_stays_missing():
    assert np.isnan(relative_yield(4.0, np.nan, 10)).all()
    assert np.isnan(relative_yield(np.nan, 1.0, 10)).all()
    assert np.isnan(rated_yield(4.0, Rating.UNRATED)).all()
    nothing = judge(Stage.SEEDLING, CropLimits(), RootZone(ec_low=1, ec=2, ec_high=3))
    assert nothing.verdict == Verdict.CANNOT_TELL
    assert nothing.governing == Limit.NONE


@given(st.floats(0.5, 30), st.floats(0.5, 8))
def test_the_s_curve_halves_at_its_half_value_whatever_its_steepness(ec50, steepness):
    assert s_curve_response(ec50, ec50, steepness) == pytest.approx(50)
    assert s_curve_response(0.0, ec50, steepness) == 100


@given(ECS)
def test_a_hardier_rating_never_yields_less(ec):
    low, high = rated_yield(ec, np.arange(4))
    assert (np.diff(low) >= 0).all()
    assert (np.diff(high) >= 0).all()
    assert (low <= high).all()


def test_container_limits_count_one_step_milder_for_hardy_crops():
    readings = np.array([1.5, 4.0, 7.0])
    sensitive, grown, young = (
        container_verdict(stage, readings, 2.0, 6.0, rating)
        for stage, rating in (
            (Stage.ESTABLISHED, Rating.SENSITIVE),
            (Stage.ESTABLISHED, Rating.TOLERANT),
            (Stage.SEEDLING, Rating.TOLERANT),
        )
    )
    assert list(sensitive) == [Verdict.TOLERATES, Verdict.REDUCED, Verdict.FAILS]
    assert list(grown) == [Verdict.TOLERATES, Verdict.TOLERATES, Verdict.REDUCED]
    assert list(young) == [Verdict.TOLERATES, Verdict.CAUTION, Verdict.REDUCED]


def test_a_crop_without_a_figure_or_a_rating_is_never_found_tolerant():
    readings = np.array([0.5, 1.9, 3.0, 4.0, 7.0])
    unrated = CropLimits()
    met = zone(readings, suits=3.5, sensitive=2.0)
    found = judge(Stage.ESTABLISHED, unrated, met).verdict
    assert list(found) == [
        Verdict.CANNOT_TELL, Verdict.CANNOT_TELL, Verdict.CANNOT_TELL,
        Verdict.REDUCED, Verdict.FAILS,
    ]  # fmt: skip
    assert max_tolerated_ec(Stage.ESTABLISHED, unrated, 3.5, 6.0, 2.0) == 3.5
    light = CropLimits(light_feeder=True)
    assert max_tolerated_ec(Stage.ESTABLISHED, light, 3.5, 6.0, 2.0) == 2.0


def test_a_crop_rated_sensitive_is_held_to_the_limit_of_sensitive_plants_once_grown():
    met = zone(np.array([1.2, 2.5, 3.0]), suits=3.5, sensitive=2.0)
    sensitive = judge(Stage.ESTABLISHED, CropLimits(rating=Rating.SENSITIVE), met).verdict
    assert sensitive[0] == Verdict.TOLERATES
    assert all(sensitive[1:] > Verdict.TOLERATES)
    moderate = judge(Stage.ESTABLISHED, CropLimits(rating=Rating.MODERATELY_SENSITIVE), met)
    assert all(moderate.verdict == Verdict.TOLERATES)


def test_a_rating_alone_never_tells_of_failing():
    rated = CropLimits(rating=Rating.SENSITIVE)
    in_soil = judge(Stage.ESTABLISHED, rated, RootZone(ec_low=12.0, ec=12.0, ec_high=12.0))
    assert in_soil.verdict == Verdict.REDUCED
    between = judge(Stage.ESTABLISHED, rated, RootZone(ec_low=1.4, ec=1.4, ec_high=1.4))
    assert between.verdict == Verdict.CAUTION


@given(ECS, THRESHOLDS, SLOPES)
def test_a_young_plant_is_no_hardier_than_the_grown_one(ec, threshold, slope):
    crop = CropLimits(threshold=threshold, slope=slope, rating=3)
    young, old = (judge(stage, crop, zone(ec)) for stage in (Stage.SEEDLING, Stage.ESTABLISHED))
    if ec > threshold * (1 + 1e-9) + 1e-9:
        assert young.verdict >= Verdict.REDUCED
    assert young.verdict >= min(old.verdict, Verdict.CAUTION)


def test_from_a_floor_only_above_is_told():
    crops = CropLimits(threshold=np.array([1.0, 2.5]), slope=np.array([19, 9.9]), rating=1)
    met = RootZone(
        ec_low=1.8, ec=1.8, ec_high=np.inf, reading_low=1.8, reading=1.8, reading_high=np.inf,
        suits=2.0, injures=6.0,
    )  # fmt: skip
    found = only_above(judge(Stage.SEEDLING, crops, met), True)
    assert list(found.verdict) == [Verdict.REDUCED, Verdict.CANNOT_TELL]
    assert list(found.worst) == [Verdict.FAILS, Verdict.FAILS]
    assert found.response_high[0] == pytest.approx(100 - 19 * 0.8)
    assert np.isnan([found.response[1], found.response_high[1], *found.response_low]).all()
    assert (found.by_limit[:6, 1] == Verdict.CANNOT_TELL).all()


@pytest.mark.parametrize("ec", [3.5, 4.0, 4.5, 5.0])
def test_the_same_salt_parts_a_sensitive_seedling_from_a_tolerant_one(ec):
    # bean, lettuce, tomato, red beet
    crops = CropLimits(
        threshold=np.array([1.0, 1.3, 2.5, 4.0]),
        slope=np.array([19, 13, 9.9, 9.0]),
        rating=np.array([0, 1, 1, 2]),
    )
    found = judge(Stage.SEEDLING, crops, zone(ec))
    assert list(found.verdict) == [
        Verdict.FAILS, Verdict.FAILS, Verdict.REDUCED,
        Verdict.CAUTION if ec <= 4.0 else Verdict.REDUCED,
    ]  # fmt: skip
    assert (np.diff(found.response) > 5).all()


def test_between_the_range_of_the_stage_and_a_higher_threshold_stands_a_caution():
    found = judge(Stage.SEEDLING, CropLimits(threshold=2.5, slope=9.9, rating=1), zone(2.4))
    assert found.verdict == Verdict.CAUTION
    assert found.governing == Limit.CONTAINER
    assert found.by_limit[Limit.YIELD] == Verdict.TOLERATES


def test_a_seedling_cap_governs_a_crop_that_is_tolerant_when_grown():
    barley = CropLimits(
        threshold=8.0, slope=5.0, rating=3, seedling_cap_low=4.0, seedling_cap_high=5.0
    )
    young = judge(Stage.SEEDLING, barley, zone(5.5))
    assert (young.verdict, young.governing) == (Verdict.REDUCED, Limit.STAGE_CAP)
    assert judge(Stage.ESTABLISHED, barley, zone(5.5)).verdict == Verdict.TOLERATES


def test_emergence_is_told_and_governs_nothing():
    bean = CropLimits(threshold=1.0, slope=19, rating=0, emergence_low=8.0, emergence_high=8.0)
    found = judge(Stage.GERMINATION, bean, zone(1.5))
    assert (found.verdict, found.governing) == (Verdict.REDUCED, Limit.YIELD)
    assert found.by_limit[Limit.EMERGENCE] == Verdict.TOLERATES
    assert found.emergence > 90
    hardy = CropLimits(threshold=9.0, slope=5, emergence_low=2.0, emergence_high=2.0)
    emerging = judge(Stage.GERMINATION, hardy, RootZone(ec_low=4.0, ec=4.0, ec_high=4.0))
    assert emerging.by_limit[Limit.EMERGENCE] == Verdict.FAILS
    assert emerging.verdict == Verdict.TOLERATES


def test_an_ornamental_is_judged_by_its_looks():
    rose = CropLimits(rating=0, appearance_low=2.0, appearance_high=3.0)
    found = judge(Stage.ESTABLISHED, rose, RootZone(ec_low=2.5, ec=2.5, ec_high=2.5))
    assert (found.verdict, found.governing) == (Verdict.REDUCED, Limit.APPEARANCE)
    assert found.best == Verdict.TOLERATES
    assert np.isnan(found.response)


def test_chloride_and_boron_govern_where_they_are_the_worse():
    strawberry = CropLimits(
        threshold=1.0, slope=33, rating=0, chloride_low=10, chloride_high=10, chloride_slope=3.3
    )
    salty = judge(Stage.ESTABLISHED, strawberry, RootZone(ec_low=1, ec=1, ec_high=1, chloride=26.0))
    assert (salty.verdict, salty.governing) == (Verdict.FAILS, Limit.CHLORIDE)
    bean = CropLimits(boron_low=1.0, boron_high=1.0, boron_slope=12)
    boron = judge(Stage.ESTABLISHED, bean, RootZone(ec_low=0.5, ec=0.5, ec_high=0.5, boron=3.0))
    assert (boron.verdict, boron.governing) == (Verdict.REDUCED, Limit.BORON)
    lemon = CropLimits(boron_low=0.5, boron_high=0.5)
    injured = judge(Stage.ESTABLISHED, lemon, RootZone(ec_low=0, ec=0, ec_high=0, boron=9.0))
    assert injured.verdict == Verdict.REDUCED  # a bare limit tells no more


@given(
    st.floats(0.1, 15), st.floats(0, 0.5), THRESHOLDS, SLOPES,
    st.sampled_from(list(Rating)), st.sampled_from(list(Stage)),
)  # fmt: skip
def test_the_verdict_lies_between_the_best_and_the_worst(
    ec, spread, threshold, slope, rating, stage
):
    crop = CropLimits(threshold=threshold, slope=slope, rating=rating)
    found = judge(stage, crop, zone(ec, spread))
    assert found.best <= found.verdict <= found.worst
    assert found.response_low <= found.response <= found.response_high


def test_samples_and_crops_broadcast():
    crops = CropLimits(threshold=np.array([1.0, 2.5, np.nan]), slope=np.array([19, 9.9, np.nan]))
    found = judge(np.array([[0], [1], [2], [2]]), crops, zone(np.array([[1], [2], [3], [9]])))
    assert found.verdict.shape == found.response.shape == (4, 3)
    assert found.by_limit.shape == (len(Limit) - 1, 4, 3)


@given(
    st.sampled_from(list(Stage)), st.sampled_from(list(Rating)), st.booleans(), st.booleans(),
    THRESHOLDS, SLOPES, st.floats(1, 20),
)  # fmt: skip
def test_the_highest_ec_stood_is_where_the_verdict_turns(
    stage, rating, measured, emerges, threshold, slope, half
):
    crop = CropLimits(
        threshold=threshold if measured else np.nan,
        slope=slope if measured else np.nan,
        rating=rating,
        emergence_low=half if emerges else np.nan,
        emergence_high=half if emerges else np.nan,
        seedling_cap_low=4.0,
        seedling_cap_high=5.0,
    )
    highest = float(max_tolerated_ec(stage, crop, 2.0, 6.0, 2.0))
    kept = judge(stage, crop, zone(highest * (1 - 1e-9))).verdict
    known = measured or rating != Rating.UNRATED or stage == Stage.SEEDLING
    assert kept == (Verdict.TOLERATES if known else Verdict.CANNOT_TELL)
    assert judge(stage, crop, zone(highest * (1 + 1e-9))).verdict > Verdict.TOLERATES


def test_nothing_published_is_stood_to_nowhere():
    assert np.isnan(max_tolerated_ec(Stage.SEEDLING, CropLimits(), np.nan, np.nan))


def test_crops_are_ordered_from_the_best_with_the_unknown_last():
    crops = CropLimits(
        threshold=np.array([1.0, 7.0, np.nan, 2.5, 1.3]),
        slope=np.array([19, 5.7, np.nan, 9.9, 13]),
        rating=np.array([0, 3, -1, 1, 1]),
    )
    plain = RootZone(ec_low=4.0, ec=4.0, ec_high=4.0)
    found = judge(Stage.SEEDLING, crops, plain)
    order = order_of_tolerance(
        found, crops, max_tolerated_ec(Stage.SEEDLING, crops, np.nan, np.nan)
    )
    assert list(order) == [1, 3, 4, 0, 2]
