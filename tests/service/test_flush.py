"""The flush over HTTP: plans, ways out, cost and progress."""

import copy
import math
import re
from typing import ClassVar

import pytest

from saltcalc.science.substrate import RetentionCurve, mean_water_content

SIMPLE = {
    "medium": {"extraction": "saturated_media_extract", "ec": 4.5, "substrate": "sphagnum_peat"},
    "water": {"ec": 0.4},
    "containers": [{"volume": 10, "height": 20, "drainage": "open"}],
    "target_ec": 2.0,
}


def simple(**changes):
    request = copy.deepcopy(SIMPLE)
    for name, value in changes.items():
        part, _, member = name.partition("__")
        if not member:
            request[part] = value
        elif part == "containers":
            request[part][0][member] = value
        else:
            request[part][member] = value
    return request


def passes_of(row):
    """Return the passes of a plan, all of which are told."""
    told = row["pass_by_pass"]
    assert told["pass_numbers"] == list(range(1, row["passes"] + 1))
    columns = (told[name]["values"] for name in ("pore_water", "drainage_ec"))
    return [(row["applied_each"]["value"], *each) for each in zip(*columns, strict=True)]


def ids(answer, part="warnings"):
    return [row["id"] for row in answer[part]]


@pytest.fixture
def plan(post):
    def ask(**changes):
        answer = post("/v1/flush-plans?passes=all", simple(**changes))
        return answer["flush_plan"][0], answer

    return ask


class TestPlan:
    def test_passes_fit_the_headspace_and_add_up(self, plan):
        row, _ = plan()
        each = 10 * 2.5 / 20
        assert row["applied_each"]["value"] == pytest.approx(each, rel=5e-5)
        total = row["passes"] * row["applied_each"]["value"]
        assert row["water_per_container"]["value"] == pytest.approx(total, rel=5e-5)
        drained = sum(drained for drained, _, _ in passes_of(row))
        assert row["drained_per_container"]["value"] == pytest.approx(drained, rel=5e-5)

    def test_salt_balance_over_the_passes(self, plan):
        """What left in the drainage, less what the water brought, is what the medium lost."""
        row, answer = plan()
        held = row["water_held"]["value"]
        store = next(a for a in answer["assumptions"] if a["id"] == "sorbed_ratio")["value"][
            "value"
        ]
        (_, start, _), *rest = passes_of(row)
        _, end, _ = rest[-1]
        left = sum(drained * (ec - 0.4) for drained, _, ec in rest)
        assert left == pytest.approx(held * (1 + store) * (start - end), rel=5e-5)

    def test_passes_are_told_one_by_one_only_where_that_is_asked_for(self, plan, post):
        every, _ = plan(target_ec=1.3)
        short = post("/v1/flush-plans", simple(target_ec=1.3))["flush_plan"][0]
        assert "pass_by_pass" not in short
        assert len(every["pass_by_pass"]["pass_numbers"]) == every["passes"] == short["passes"]

    def test_the_middle_container_gets_to_its_target_and_the_check_is_told(self, plan):
        row, _ = plan()
        assert row["reaches_target"]
        *_, (_, end, _) = passes_of(row)
        assert end <= row["target_pore_water"]["value"]
        check = row["rested_check"]
        assert check["own_method"]["value"] < 2.0
        assert check["wait"]["value"] >= 12
        figure = f"{check['own_method']['value']:.2g} dS/m or less"
        for told in (row["sentence"], row["in_short"]):
            assert figure in told
        assert "no sign to stop" in row["sentence"]

    def test_a_higher_confidence_takes_more_water_and_more_pots_a_higher_figure(self, plan):
        rows = [plan(confidence=sure)[0] for sure in (0.5, 0.8, 0.95)]
        litres = [row["water_per_container"]["value"] for row in rows]
        figures = [row["rested_check"]["own_method"]["value"] for row in rows]
        assert litres[0] < litres[1] < litres[2]
        assert figures[0] > figures[1] > figures[2]
        one, ten = (plan(pots_read=n)[0]["rested_check"]["own_method"]["value"] for n in (1, 10))
        assert one < figures[1] < ten
        assert rows[1]["confidence"]["value"] == 0.8

    def test_the_interval_holds_the_litres(self, plan):
        row, answer = plan()
        water = row["water_per_container"]
        assert water["low"] <= water["value"] <= water["high"]
        assert water["low"] < water["high"]
        assert "seed" in answer["intervals"]

    def test_litres_are_of_the_order_of_the_trade(self, plan):
        row, _ = plan()
        assert 0.2 <= row["rule_of_thumb"]["ratio_to_two_volume_rule"]["value"] <= 2.0
        assert row["rule_of_thumb"]["two_volume_rule"]["value"] == 20

    @pytest.mark.parametrize(
        ("less", "more"),
        [
            ({"leaching_efficiency": 0.9}, {"leaching_efficiency": 0.5}),
            ({"water__ec": 0.1}, {"water__ec": 1.2}),
            ({"medium__ec": 3.5}, {"medium__ec": 6.0}),
            ({"target_ec": 2.5}, {"target_ec": 1.5}),
            ({"containers__relative_water_content": 1.0}, {"containers__moisture": 0.5}),
            ({"rest": "2 h"}, {"rest": 0}),
        ],
    )
    def test_more_is_needed_where_it_should_be(self, plan, less, more):
        first, second = plan(**less)[0], plan(**more)[0]
        assert (
            first["water_per_container"]["value"] <= second["water_per_container"]["value"] * 1.0001
        )

    def test_a_dry_container_is_wetted_in_small_lots_first(self, plan):
        row, _ = plan(containers__relative_water_content=0.8)
        wetting = row["wetting"]
        assert wetting["water_on_one"]["value"] == pytest.approx(
            wetting["lots"] * wetting["water_of_lot"]["value"], rel=1e-3
        )
        missing = 0.2 * row["water_held"]["value"]
        assert wetting["water_on_one"]["value"] > 0.95 * missing
        kept = row["water_per_container"]["value"] - row["drained_per_container"]["value"]
        assert kept == pytest.approx(0.95 * missing, rel=1e-3)

    def test_a_repelling_medium_is_wetted_first_and_needs_more(self, plan):
        usual, _ = plan(rest=30)
        row, answer = plan(observations=["repels_water_after_drying"], rest=30)
        assert "wet_before_flushing" in ids(answer)
        assert "wetting agent" in row["sentence"]
        assert row["water_per_container"]["value"] > usual["water_per_container"]["value"]
        with_agent, _ = plan(
            observations=["repels_water_after_drying"], medium__wetting_agent="used", rest=30
        )
        assert with_agent["water_per_container"]["value"] <= row["water_per_container"]["value"]

    def test_a_sensor_read_in_a_dry_medium_is_held_against_a_drained_one(self, plan):
        """Half the water, twice the EC: the same salt, the same flush."""
        sensor = {"medium__extraction": "pore_water_sensor", "medium__container_capacity": 0.6}
        wet, _ = plan(**sensor, medium__ec=5.0)
        dry, _ = plan(**sensor, medium__ec=10.0, medium__water_content=0.3)
        for name in ("target_pore_water", "water_per_container"):
            assert dry[name]["value"] == pytest.approx(wet[name]["value"], rel=5e-5), name
        assert dry["rested_check"]["own_method"] == wet["rested_check"]["own_method"]

    def test_a_shallow_container_without_air_still_has_its_figures(self, plan):
        row, _ = plan(containers__volume=0.01, containers__height=2, medium__total_porosity=0.7)
        water = row["water_in_container"]
        assert water["container_capacity"]["value"] == pytest.approx(0.7, abs=0.002)
        assert row["water_per_container"]["value"] > 0

    def test_a_stated_efficiency_is_used_as_it_is(self, plan):
        _, answer = plan(leaching_efficiency=0.6)
        assert "leaching_efficiency" not in ids(answer, "assumptions")

    def test_count_multiplies_and_nothing_else(self, plan):
        one, _ = plan()
        many, _ = plan(containers__count=12)
        assert many["water_per_container"] == one["water_per_container"]
        assert many["water_total"]["value"] == pytest.approx(
            12 * one["water_total"]["value"], rel=5e-5
        )

    def test_a_medium_at_its_target_is_left_alone(self, plan):
        row, answer = plan(medium__ec=1.0)
        assert row["passes"] == 0
        assert row["options"] == []
        assert "no_flush_needed" in ids(answer)

    def test_a_hundred_containers_are_answered(self, post):
        request = simple(containers=[{"volume": 5 + k, "height": 15} for k in range(100)])
        assert len(post("/v1/flush-plans", request)["flush_plan"]) == 100


class TestWaterInTheContainer:
    def test_a_tall_container_holds_less_and_has_its_wet_layer_at_the_base(self, plan):
        low, _ = plan(containers__height=10)
        high, _ = plan(containers__height=40)
        assert high["water_held"]["value"] < low["water_held"]["value"]
        profile = high["water_in_container"]["profile"]["water_content"]["values"]
        assert profile == sorted(profile, reverse=True)
        assert high["water_in_container"]["perched_height"]["value"] > 0

    def test_a_container_narrow_at_the_base_holds_less(self, plan):
        straight, _ = plan()
        tapered, _ = plan(containers__top_diameter=30, containers__bottom_diameter=18)
        assert tapered["water_held"]["value"] < straight["water_held"]["value"]

    def test_a_measured_capacity_is_taken_as_it_is(self, plan):
        row, _ = plan(medium__container_capacity=0.6)
        assert row["water_held"]["value"] == pytest.approx(6.0, rel=5e-5)
        assert row["water_in_container"]["basis"] == "measured_capacity"

    def test_a_measured_curve_is_integrated(self, plan):
        row, _ = plan(medium__retention={"theta_s": 0.9, "theta_r": 0.1, "alpha": 0.2, "n": 1.5})
        held = mean_water_content(20.0, RetentionCurve(0.9, 0.1, 0.2, 1.5))
        assert row["water_held"]["value"] == pytest.approx(10 * float(held), rel=5e-5)
        assert row["water_in_container"]["basis"] == "measured_curve"

    def test_air_and_water_make_up_the_pores(self, plan):
        water = plan()[0]["water_in_container"]
        assert water["container_capacity"]["value"] + water["air_space"]["value"] == pytest.approx(
            water["total_porosity"]["value"], rel=5e-5
        )

    def test_a_cylinder_is_told_by_either_diameter_or_by_both(self, client):
        def planned(**widths):
            pot = {"height": 30, "drainage": "open"} | widths
            request = {"medium": {"ec": 3}, "water": {"ec": 0.5}, "containers": [pot]}
            request["crops"] = ["lettuce"]
            return client.post("/v1/assessments", json=request).json

        both = planned(top_diameter=30, bottom_diameter=30)
        assert both["flush_plan"][0]["passes"] > 0
        for name in ("top_diameter", "bottom_diameter"):
            answer = planned(**{name: 30})
            for part in ("flush_plan", "leaching", "not_computed"):
                assert answer[part] == both[part]

    @pytest.mark.parametrize(
        ("changes", "pointer"),
        [
            ({"containers__top_diameter": 30}, "/containers/0/bottom_diameter"),
            (
                {"containers__top_diameter": 300, "containers__bottom_diameter": 200},
                "/containers/0/top_diameter",
            ),
            (
                {"medium__retention": {"theta_s": 0.5, "theta_r": 0.6, "alpha": 0.1, "n": 2}},
                "/medium/retention/theta_r",
            ),
            ({"containers__relative_water_content": 1.5}, "/containers/0/relative_water_content"),
            ({"rest": "3 days"}, "/rest"),
            ({"medium__slow_release": "magic"}, "/medium/slow_release"),
        ],
    )
    def test_what_makes_no_sense_is_refused_by_name(self, refuse, changes, pointer):
        problem = refuse("/v1/flush-plans", simple(**changes))
        assert pointer in [error["pointer"] for error in problem["errors"]]


class TestWhenWaterCannotDoIt:
    def test_a_target_below_the_water_names_the_least_ec_and_the_rain_needed(self, plan):
        row, answer = plan(water__ec=4.0)
        assert "target_below_water" in ids(answer)
        assert row["passes"] == 0
        assert not row["reaches_target"]
        assert row["least_reachable_ec"]["value"] == 4.0
        first = row["options"][0]
        assert first["id"] == "better_water"
        share = first["rain_share"]["value"]
        mixed = 4.0 * (1 - share) + 0.05 * share
        assert mixed == pytest.approx(first["plan"]["ec_water"]["value"], rel=5e-5)
        better, _ = plan(water__ec=mixed)
        assert better["reaches_target"]
        assert better["water_per_container"]["value"] == pytest.approx(
            first["plan"]["water_per_container"]["value"], rel=5e-5
        )

    def test_water_that_is_not_below_by_much_is_bettered_too(self, plan):
        own, _ = plan()
        target = own["target_pore_water"]["value"]
        row, answer = plan(water__ec=0.95 * target)
        assert "water_near_target" in ids(answer)
        assert row["passes"] == 0
        assert row["options"][0]["id"] == "better_water"
        assert row["options"][0]["plan"]["ec_water"]["value"] == pytest.approx(target / 2, rel=5e-5)

    def test_more_pourings_than_people_do_lead_with_other_ways(self, plan):
        by_hand, answer = plan(containers__head_space="8 mm")
        assert by_hand["passes"] > 12
        assert "many_passes" in ids(answer)
        assert by_hand["options"][0]["id"] == "drip"
        assert "more than people do by hand" in by_hand["sentence"]
        dripper, answer = plan(containers__head_space="8 mm", means={"by": "dripper"})
        assert "many_passes" not in ids(answer)
        assert dripper["options"] == []
        assert "flow" in ids(answer, "assumptions")

    @pytest.mark.parametrize("by", ["hose", "dripper", "boom", "rain"])
    @pytest.mark.parametrize("substrate", ["peat_perlite", "pine_bark", "general_potting_mix"])
    def test_what_a_can_brings_down_any_other_means_does_too(self, plan, substrate, by):
        """Slower water has more time for the salt to come out; rain is purer besides."""
        by_can, _ = plan(medium__substrate=substrate)
        row, answer = plan(medium__substrate=substrate, means={"by": by})
        assert row["passes"] > 0
        litres, of_can = (each["water_per_container"]["value"] for each in (row, by_can))
        assert litres < 2 * of_can  # fewer visits may cost water
        assert ("rain_ec" in ids(answer, "assumptions")) == (by == "rain")

    def test_rain_needs_no_other_water_and_brings_no_salt(self, plan):
        brackish = {"ec": 4.0, "ions": {"chloride": "900 mg/L", "nitrate_n": "40 mg/L"}}
        by_can, _ = plan(water=brackish)
        assert by_can["passes"] == 0
        row, answer = plan(water=brackish, means="rain")
        assert row["passes"] > 0
        assert "Let " in row["in_short"]
        assert "mm of rain fall" in row["in_short"]
        assert "target_below_water" not in ids(answer)

    def test_a_dripper_that_rests_is_told_in_turns(self, plan):
        row, _ = plan(medium__ec=8, means={"by": "dripper", "flow": "2 L/h"}, rest="2 h")
        assert row["rest"]["value"] == 120
        poured = row["passes"] * row["applied_each"]["value"]
        days = math.ceil(row["passes"] / row["passes_a_day"])
        minutes = 60 * poured / 2 / row["passes_a_day"] / days
        turns = f"for {minutes:.0f} minutes {row['passes_a_day']} times a day, for {days} days"
        assert turns in row["sentence"]

    def test_beyond_three_volumes_the_plan_says_so_and_offers_blending(self, plan):
        row, answer = plan(
            medium__ec=12,
            medium__substrate="manure_compost",
            target_ec=1.2,
            leaching_efficiency=0.2,
        )
        assert "over_practical_ceiling" in ids(answer)
        assert [option["id"] for option in row["options"]][:2] == ["blend", "replace"]

    def test_a_tall_pipe_has_no_end_of_passes(self, plan):
        row, answer = plan(containers__height=200, containers__head_space="1 mm")
        assert "too_many_passes" in ids(answer)
        assert row["passes"] == 0
        assert "passes" in row["sentence"]
        assert "water gets there" not in row["sentence"]

    def test_gypsum_holds_the_reading_and_the_plan_stops_there(self, plan):
        ions = {"calcium": 620, "sulfate_s": 480, "sodium": 60, "magnesium": 20, "chloride": 90}
        row, answer = plan(medium__ec=3.4, medium__ions=ions, target_ec=1.0)
        assert "gypsum_plateau" in ids(answer)
        assert not row["reaches_target"]
        plateau = row["least_reachable_ec"]["value"]
        assert plateau == pytest.approx(2.2, abs=0.2)  # gypsum-saturated water, Handbook 60
        assert row["pass_by_pass"]["pore_water"]["values"][-1] == pytest.approx(plateau, rel=0.06)
        assert "better_water" not in [option["id"] for option in row["options"]]

    @pytest.mark.parametrize("drainage", ["open", "sealed"])
    @pytest.mark.parametrize("ec", [1.0, 1.25, 1.3, 1.4, 2.2, 2.4, 2.6])
    @pytest.mark.parametrize("target", [0.3, 1.19, 1.29])
    def test_at_the_plateau_of_gypsum_there_is_nothing_to_wash_out(
        self, plan, ec, target, drainage
    ):
        ions = {"calcium": 620, "sulfate_s": 480, "sodium": 60, "magnesium": 20, "chloride": 90}
        row, answer = plan(
            medium__ec=ec, medium__ions=ions, target_ec=target, containers__drainage=drainage
        )
        if "no_flush_needed" in ids(answer):
            assert not row["options"]
        elif not row["passes"]:
            doubted = ec < 2  # far below what such ions make
            assert row.get("held_back") == ("report_in_doubt" if doubted else None)
            assert bool(row["options"]) != doubted
            assert "rested_check" not in row

    def test_slow_release_comes_back(self, plan):
        row, answer = plan(medium__slow_release="controlled_release_fertilizer")
        assert "salt_refills" in ids(answer)
        after = row["rebound"]["ec_after_days"]
        assert after["value"] > row["rebound"]["ec_settled"]["value"]
        assert after["low"] < after["value"] < after["high"]


class TestPores:
    def test_a_capacity_above_the_curve_is_refused(self, refuse):
        curve = {"theta_s": 0.4, "theta_r": 0.05, "alpha": 0.1, "n": 2}
        problem = refuse(
            "/v1/flush-plans", simple(medium__retention=curve, medium__container_capacity=0.5)
        )
        assert problem["errors"][0]["pointer"] == "/medium/container_capacity"

    def test_a_capacity_above_the_pores_of_the_table_is_remarked(self, plan):
        _, answer = plan(medium__substrate="coir_green_compost", medium__container_capacity=0.95)
        assert "capacity_above_porosity" in ids(answer)
        _, answer = plan(medium__container_capacity=0.95, medium__total_porosity=0.98)
        assert "capacity_above_porosity" not in ids(answer)

    def test_without_air_at_any_height_all_of_it_is_perched(self, plan):
        curve = {"theta_s": 0.2, "theta_r": 0.15, "alpha": 0.05, "n": 2}
        row, _ = plan(medium__retention=curve)
        assert row["water_in_container"]["perched_height"]["value"] == 20


class TestSealed:
    def test_it_is_never_flushed(self, plan):
        row, answer = plan(containers__drainage="sealed")
        assert row["passes"] == 0
        assert "water_per_container" not in row
        assert "rested_check" not in row
        warning = next(w for w in answer["warnings"] if w["id"] == "sealed_container")
        assert warning["severity"] == "stop"
        assert "air" in warning["sentence"]

    def test_every_way_out_has_its_numbers(self, plan):
        row, _ = plan(containers__drainage="sealed")
        options = {option["id"]: option for option in row["options"]}
        assert options.keys() == {
            "blend", "flush_elsewhere", "drill_holes", "tolerant_crop", "keep_moist", "draw_down",
            "replace",
        }  # fmt: skip
        assert 0 < options["blend"]["salty_fraction"]["value"] < 1
        assert options["blend"]["ec_blend"]["value"] == pytest.approx(2.0, rel=5e-5)
        open_row, _ = plan()
        litres = open_row["water_per_container"]["value"]
        assert options["flush_elsewhere"]["plan"]["water_per_container"]["value"] == litres
        assert "plan" not in options["drill_holes"]
        dried = options["keep_moist"]["ec_by_moisture"]["pore_water"]["values"]
        assert dried == pytest.approx([dried[0], dried[0] / 0.8, dried[0] / 0.6], rel=5e-5)
        assert options["tolerant_crop"]["tolerant_crops"]

    def test_the_saltier_it_is_the_more_it_takes(self, plan):
        """Blended; tipped out and flushed; bored and dripped, once it is more than people pour.

        At four times its target and more another medium goes before that.
        """
        first = {}
        for ec in (2.6, 4.0, 8.0):
            row, _ = plan(containers__drainage="sealed", medium__ec=ec)
            ways = [each for each in row["options"] if ec < 8.0 or "plan" in each]
            first[ec] = ways[0]
        assert [each["id"] for each in row["options"][:2]] == ["blend", "replace"]
        assert first[2.6]["id"] == "blend"
        assert first[4.0]["id"] == "flush_elsewhere"
        assert first[4.0]["plan"]["passes"] <= 12 < first[8.0]["plan"]["passes"]
        assert first[8.0]["id"] == "drill_holes"
        assert "by dripper" in first[8.0]["sentence"]

    @pytest.mark.parametrize("ec", [4.0, 12.0])
    def test_with_too_salty_a_water_the_ways_by_flushing_take_rain(self, plan, ec):
        row, answer = plan(containers__drainage="sealed", water__ec=ec)
        options = {option["id"]: option for option in row["options"]}
        assert {"blend", "flush_elsewhere", "drill_holes", "tolerant_crop", "keep_moist",
                "draw_down"} <= options.keys()  # fmt: skip
        for way in ("flush_elsewhere", "drill_holes"):
            short = options["flush_elsewhere"]["plan"]
            share = options[way].get("rain_share", {"value": 0.0})["value"]
            assert short["ec_water"]["value"] == pytest.approx(
                ec * (1 - share) + 0.05 * share, rel=5e-5
            )
            open_row, _ = plan(water__ec=short["ec_water"]["value"])
            assert short["water_per_container"]["value"] == pytest.approx(
                open_row["water_per_container"]["value"], rel=5e-5
            )
            assert "rain" in options[way]["sentence"]
        assert "rain_ec" in ids(answer, "assumptions")
        assert "water_per_container" not in row

    def test_at_its_target_it_is_there_and_needs_no_way_out(self, plan):
        row, _ = plan(containers__drainage="sealed", medium__ec=1.5)
        assert row["reaches_target"]
        assert row["options"] == []

    def test_a_sealed_vessel_is_never_said_to_have_a_planned_flush(self, post):
        """A starved medium under a strict target: salt is unlikely, and the vessel cannot drain."""
        request = simple(
            medium__ec=0.9,
            medium__ions={"nitrate_n": 5, "sodium": 20, "chloride": 20},
            containers__drainage="sealed",
            target_ec=0.5,
        )
        for drainage, planned in (("open", True), ("sealed", False)):
            request["containers"][0]["drainage"] = drainage
            warnings = post("/v1/assessments", request)["warnings"]
            said = next(w["sentence"] for w in warnings if w["id"] == "salt_is_unlikely")
            assert ("flush planned here" in said) is planned


class TestCost:
    def test_nitrogen_lost_and_the_drainage_against_drinking_water(self, plan):
        row, answer = plan(medium__ions={"nitrate_n": 200, "ammonium_n": 10, "potassium": 250})
        lost = row["costs"]["carried_off"]
        assert lost["of_nutrients"] == ["nitrate_n", "ammonium_n", "potassium"]
        assert lost["share_lost"]["values"][0] > lost["share_lost"]["values"][1]
        drained = row["drained_per_container"]["value"]
        in_drainage = lost["in_drainage"]["values"][0]
        assert lost["lost"]["values"][0] == pytest.approx(drained * in_drainage, rel=1e-4)
        over = row["costs"]["drinking_water"][0]["over_limit"]["value"]
        assert over == pytest.approx(in_drainage / 10, rel=5e-5)
        assert "nitrate_in_drainage" in ids(answer)
        missing = next(gap for gap in answer["not_computed"] if gap["part"].endswith("costs"))
        assert "/medium/ions/calcium" in missing["missing"]

    def test_feed_brings_nitrogen_back_by_generic_sources(self, plan):
        row, _ = plan(medium__ions={"nitrate_n": 50})
        feed = row["costs"]["feed"]
        nitrogen = feed["nitrogen_per_container"]["value"]
        assert nitrogen > 0
        grams = {s["id"]: s["mass_per_container"]["value"] for s in feed["generic_sources"]}
        assert grams["calcium_nitrate"] == pytest.approx(nitrogen / 155, rel=5e-5)
        assert grams["organic_12_0_0"] == pytest.approx(nitrogen / 120, rel=5e-5)

    def test_without_ions_the_cost_is_unknown_not_zero(self, plan):
        row, _ = plan()
        assert row["costs"]["carried_off"]["of_nutrients"] == []
        assert "feed" not in row["costs"]
        assert row["costs"]["drainage_nitrate_n"] is None


class TestProgress:
    def readings(self, row, done, factor=1.0):
        return [
            {"applied": row["applied_each"], "drained": drained, "ec_drainage": ec * factor}
            for drained, _, ec in passes_of(row)[:done]
        ]

    def follow(self, post, readings, **changes):
        answer = post("/v1/flush-plans/progress", simple(readings=readings, **changes))
        return answer["progress"], answer

    def test_a_flush_going_by_plan_goes_on_by_plan_to_the_same_check(self, plan, post):
        row, _ = plan()
        got, answer = self.follow(post, self.readings(row, 3))
        assert got["verdict"] == "go_on"
        # The plan is for four pots in five; three readings of a middle one tell that it needs less.
        assert row["passes"] / 2 <= 3 + got["passes_now"] <= row["passes"] + 1
        assert got["check_reading"] == row["rested_check"]["own_method"]
        assert got["wait"] == row["rested_check"]["wait"]
        assert not [each for each in ids(answer) if each.startswith("readings_")]

    def test_after_the_plan_it_asks_for_the_check_and_the_check_ends_it(self, plan, post):
        row, _ = plan()
        readings = self.readings(row, row["passes"])
        got, _ = self.follow(post, readings)
        assert (got["verdict"], got["passes_now"]) == ("check", 0)
        rested = {"ec_own": row["rested_check"]["own_method"], "minutes_after": "30 h"}
        got, _ = self.follow(post, [*readings, rested])
        assert got["verdict"] == "done"
        got, _ = self.follow(post, [*readings, rested | {"ec_own": 2.6}])
        assert got["verdict"] in ("go_on", "check")
        too_soon = rested | {"minutes_after": "200 min"}
        got, answer = self.follow(post, [*readings, too_soon])
        assert got["verdict"] != "done"
        assert "readings_too_soon" in ids(answer)

    def test_passes_done_sooner_than_planned_leave_the_rest_before_a_reading_told(self, plan, post):
        row, _ = plan()
        readings = self.readings(row, row["passes"])
        rested = {"ec_own": row["rested_check"]["own_method"], "minutes_after": "15 h"}
        once_a_day = {"rest": "24 h"}
        got, answer = self.follow(post, [*readings, rested], **once_a_day)
        assert got["verdict"] == "done"
        assert "readings_too_soon" not in ids(answer)

    def test_the_clock_tells_the_same_as_the_minutes(self, plan, post):
        row, _ = plan()
        minutes = self.readings(row, 3)
        clock = [dict(each) for each in minutes]
        for place, time in enumerate((0, 60, 1500)):
            minutes[place]["minutes_after"] = time
        for place, time in enumerate(("01T08:00", "01T09:00", "02T09:00")):
            clock[place]["at"] = f"2026-03-{time}:00"
        assert self.follow(post, minutes)[0] == self.follow(post, clock)[0]

    def test_drained_may_be_left_out(self, plan, post):
        row, _ = plan()
        readings = [
            {name: one[name] for name in ("applied", "ec_drainage")}
            for one in self.readings(row, 2)
        ]
        assert self.follow(post, readings)[0]["passes_done"] == 2

    @pytest.mark.parametrize(
        ("factors", "finding", "verdict"),
        [
            ((1, 1, 0.05, 0.05), "readings_below_water", "measure_again"),
            ((0.1, 0.1, 0.1, 0.1), "readings_slip_of_ten", "measure_again"),
            ((1, 1, 0.1, 1, 1), "readings_slip_of_ten", "go_on"),
            ((3, 3, 3), "readings_above_medium", "measure_again"),
            ((1, 1.05, 1.2, 1.4, 1.8, 2.3, 2.8, 3.3), "readings_fed", "stop_fed"),
        ],
    )
    def test_readings_that_cannot_be_are_named(self, plan, post, factors, finding, verdict):
        row, _ = plan()
        readings = self.readings(row, len(factors))
        for reading, factor in zip(readings, factors, strict=True):
            reading["ec_drainage"] *= factor
        got, answer = self.follow(post, readings)
        assert finding in ids(answer)
        assert got["verdict"] == verdict
        if verdict != "go_on":
            assert got["passes_now"] == 0
        assert bool(got.get("options")) == (verdict == "stop_fed")

    def test_water_that_runs_past_is_told_to_stop_and_rewet(self, post):
        readings = [{"applied": 1.25, "drained": 1.2, "ec_drainage": ec} for ec in (0.9, 0.8, 0.75)]
        got, _ = self.follow(post, readings)
        assert got["verdict"] in ("stop_rewet", "measure_again")
        assert got["passes_now"] == 0

    @pytest.mark.parametrize(
        ("readings", "pointer"),
        [
            ([{"applied": 1, "ec_drainage": 3, "minutes_after": 60},
              {"applied": 1, "ec_drainage": 3, "minutes_after": 30}], "/readings/1/minutes_after"),
            ([{"applied": 1, "ec_drainage": 3, "minutes_after": 60, "at": "2026-03-01T08:00:00"}],
             "/readings/0/at"),
            ([{"applied": 1, "ec_drainage": 3}, {"temperature": 20}], "/readings/1/applied"),
        ],
    )  # fmt: skip
    def test_times_and_entries_without_meaning_are_refused(self, refuse, readings, pointer):
        problem = refuse("/v1/flush-plans/progress", simple(readings=readings))
        assert pointer in [error["pointer"] for error in problem["errors"]]

    def test_more_drained_than_was_poured_on_is_remarked(self, post):
        readings = [{"applied": 2, "drained": 3, "ec_drainage": 4.0}]
        answer = post("/v1/flush-plans/progress", simple(readings=readings))
        assert "drained_more_than_applied" in ids(answer)
        assert answer["progress"]

    def test_a_sealed_container_has_no_progress(self, post):
        request = simple(containers__drainage="sealed", readings=[{"applied": 1, "ec_drainage": 2}])
        answer = post("/v1/flush-plans/progress", request)
        assert answer["progress"] is None
        assert "sealed_container" in ids(answer)

    def test_a_medium_without_salt_has_no_progress(self, post):
        request = simple(medium__ec=0, readings=[{"applied": 1, "ec_drainage": 2}])
        answer = post("/v1/flush-plans/progress", request)
        assert answer["progress"] is None
        assert answer["not_computed"][0]["missing"] == ["/medium/ec"]

    @pytest.mark.parametrize("ec", [1e-5, 0.01, 60])
    def test_readings_far_from_anything_expected_are_answered(self, post, ec):
        readings = [{"applied": 0.01, "ec_drainage": 20}, {"applied": 5, "ec_drainage": 0.001}]
        request = simple(medium__ec=ec, water__ec=10, readings=readings)
        assert post("/v1/flush-plans/progress", request)["progress"]

    @pytest.mark.parametrize(
        "readings",
        [
            [],
            [{"applied": 1}],
            [{"applied": 1, "ec_drainage": 0}],
            [{"applied": 0, "ec_drainage": 4}],
            [{"applied": 2, "drained": 0, "ec_drainage": 4}],
            [{"applied": 1, "drained": 5, "ec_drainage": 2}],
            [{"applied": -1, "ec_drainage": 2}],
        ],
    )
    def test_readings_without_meaning_are_refused(self, refuse, readings):
        refuse("/v1/flush-plans/progress", simple(readings=readings))

    def test_two_kinds_of_container_are_refused(self, refuse):
        request = simple(readings=[{"applied": 1, "ec_drainage": 2}])
        request["containers"] *= 2
        refuse("/v1/flush-plans/progress", request)


class TestSingleIons:
    """A plan goes by EC; an ion above what the crop tolerates is not passed over."""

    def warned(self, post, **changes):
        answer = post("/v1/assessments", simple(**changes))
        said = [w["sentence"] for w in answer["warnings"] if w["id"] == "flush_goes_by_ec"]
        return answer, said

    def test_boron_takes_more_water_than_salt(self, post):
        """Hoffman (1980): what is left of the excess is 0.6 over the depth of water per depth."""
        answer, said = self.warned(
            post,
            medium__ec=1.2,
            medium__ions={"boron": 4},
            water={"ec": 0.4, "ions": {"boron": 0.2}},
            crops=[{"crop": "bean"}],
        )
        limit = {x["id"]: x for x in answer["crops"][0]["limits"]}["boron"]
        share = (limit["allowed"]["value"] - 0.2) / (limit["found"]["value"] - 0.2)
        assert f"about {0.6 / share:.2g} times the volume" in said[0]
        assert "at its target" not in " ".join(
            w["sentence"] for w in answer["warnings"] if w["id"] == "no_flush_needed"
        )
        assert "single ion" in answer["flush_plan"][0]["sentence"]
        assert "hoffman_1980" in answer["sources"]

    def test_water_with_boron_above_the_limit_cannot_help(self, post):
        _, said = self.warned(
            post,
            medium__ions={"boron": 4},
            water={"ec": 0.4, "ions": {"boron": 2}},
            crops=[{"crop": "bean"}],
        )
        assert "This water holds 2 mg/L itself" in said[0]

    def test_water_with_chloride_above_the_limit_cannot_help(self, post):
        _, said = self.warned(
            post,
            medium__ions={"chloride": 700},
            water={"ec": 3, "ions": {"chloride": 900}},
            crops=[{"crop": "strawberry", "stage": "established"}],
        )
        assert "This water holds 25 mmol/L itself" in said[0]

    def test_water_is_judged_by_its_ions_too(self, post):
        """Bean is sensitive to boron: 0.75 to 1.0 mg/L (Maas 1990)."""
        water = {"ec": 0.4, "ions": {"boron": 2, "chloride": 20}}
        answer = post("/v1/assessments", simple(water=water, crops=[{"crop": "bean"}]))
        assert answer["water"]["crops"][0]["ions_above"] == ["boron"]
        assert "water_ion_exceeds_crop" in ids(answer)
        water["ions"]["boron"] = 0.3
        answer = post("/v1/assessments", simple(water=water, crops=[{"crop": "bean"}]))
        assert answer["water"]["crops"][0].get("ions_above", []) == []

    def test_chloride_is_flushed_on_for_and_the_plan_for_that_gets_there(self, post):
        changes = {
            "medium__ec": 2.6,
            "medium__ions": {"chloride": 700},
            "water": {"ec": 0.4, "ions": {"chloride": 30}},
            "crops": [{"crop": "strawberry", "stage": "established"}],
            "target_ec": 2.0,
        }
        answer, said = self.warned(post, **changes)
        limit = {x["id"]: x for x in answer["crops"][0]["limits"]}["chloride"]
        assert limit["found"]["value"] > limit["allowed"]["value"]
        reading = float(said[0].split("reads ")[1].split(" dS/m")[0])
        # Chloride falls with the EC: excess over the water, on the scale of the pore water.
        start = answer["salinity"]["ec_pore_water"]["value"]
        per_reading = start / 2.6
        water = 30 / 35.45
        at_target = water + (limit["found"]["value"] * per_reading - water) * (
            (reading * per_reading - 0.4) / (start - 0.4)
        )
        assert at_target == pytest.approx(limit["allowed"]["value"] * per_reading, rel=0.06)
        _, said = self.warned(post, **(changes | {"target_ec": reading - 0.1}))
        assert not said

    def test_a_crop_within_its_limits_draws_no_word(self, post):
        _, said = self.warned(post, medium__ions={"boron": 0.2, "chloride": 30})
        assert not said


class TestCalciumFirst:
    """A sodic medium is never told to be flushed with water alone."""

    SODIC: ClassVar = {"sodium": 1100, "calcium": 60, "magnesium": 20, "chloride": 1700}

    def sodic(self, **changes):
        medium = {"medium__ions": self.SODIC, "medium__ec": 6, "water__ec": 0.1}
        return simple(**medium | changes)

    @pytest.mark.parametrize(
        ("substrate", "way", "word"),
        [
            ("clay_loam", "gypsum", "gypsum"),
            ("coir_fibrous", "calcium_nitrate_soak", "calcium nitrate"),
            ("sphagnum_peat", "calcium_water", "gypsum"),
        ],
    )
    def test_the_plan_begins_with_calcium_on_every_endpoint(self, post, substrate, way, word):
        request = self.sodic(medium__substrate=substrate)
        answer = post("/v1/flush-plans", request)
        row = answer["flush_plan"][0]
        assert row["calcium_first"]["way"] == way
        for told in (row["sentence"], row["in_short"]):
            assert told.startswith("Calcium first")
            assert word in told.split(". ")[0]
        found = {each["id"]: each["severity"] for each in answer["warnings"]}
        assert found["calcium_before_flush"] == "stop"
        summary = post("/v1/assessments", request)["summary"]
        assert summary["actions"][0]["sentence"].startswith("Calcium first")
        readings = [{"applied": 1.25, "ec_drainage": 7.0}]
        progress = post("/v1/flush-plans/progress", request | {"readings": readings})
        assert "calcium_before_flush" in ids(progress)

    @pytest.mark.parametrize("stage", ["seedling", "established"])
    @pytest.mark.parametrize("substrate", ["coir_fibrous", "coir_dust"])
    def test_coir_with_a_crop_in_it_is_not_soaked(self, post, substrate, stage):
        """The soak reads about 6.9 dS/m, and was tried on loose coir."""
        crops = [{"crop": "pepper", "stage": stage}]
        request = self.sodic(medium__substrate=substrate, crops=crops)
        row = post("/v1/flush-plans", request)["flush_plan"][0]
        assert row["calcium_first"]["way"] == "calcium_nitrate_feed"
        said = row["calcium_first"]["sentence"]
        assert "hours" not in said
        strength = float(re.search(r"([0-9.]+) g/L", said)[1])
        assert 0.2 <= strength <= 1.0
        alone = post("/v1/flush-plans", self.sodic(medium__substrate=substrate))["flush_plan"][0]
        assert alone["calcium_first"]["way"] == "calcium_nitrate_soak"

    def test_gypsum_for_exchangeable_sodium_after_handbook_60(self, post):
        """1 g of gypsum brings 11.6 mmol_c, of which four fifths replace sodium."""
        row = post("/v1/flush-plans", self.sodic(medium__substrate="loam"))["flush_plan"][0]
        esp = post("/v1/sodicity", self.sodic_alone())["sodicity"]["medium"]["esp"]
        charge = (esp["value"] - 10) / 100 * 15 * 10 * 1.3 * 10  # mmol_c in 10 L
        mass = charge * 86.09 / 1000 / 0.8
        assert row["calcium_first"]["gypsum_mass"]["value"] == pytest.approx(mass, rel=2e-3)

    def sodic_alone(self):
        medium = {"extraction": "saturated_media_extract", "ec": 6, "ions": self.SODIC}
        return {"medium": medium}

    def test_other_ways_of_flushing_begin_with_it_too(self, post):
        request = self.sodic(medium__substrate="loam", containers__drainage="sealed")
        row = post("/v1/flush-plans", request)["flush_plan"][0]
        options = {option["id"]: option["sentence"] for option in row["options"]}
        assert options["flush_elsewhere"].startswith("Calcium first")

    def test_a_sound_medium_hears_nothing_of_it(self, plan):
        sound = {"sodium": 100, "calcium": 200, "magnesium": 60}
        row, answer = plan(medium__ions=sound)
        assert "calcium_first" not in row
        assert "calcium_before_flush" not in ids(answer)
        assert "Calcium" not in row["sentence"]
        assert "Calcium" not in plan(medium__ions={"sodium": 150})[0]["sentence"]


def test_seedlings_in_the_tray_are_thought_of(plan):
    seedling = [{"crop": "lettuce", "stage": "seedling"}]
    assert "seedlings_in_the_flush" in ids(plan(crops=seedling)[1])
    grown = [{"crop": "lettuce", "stage": "established"}]
    assert "seedlings_in_the_flush" not in ids(plan(crops=grown)[1])
    assert "seedlings_in_the_flush" not in ids(plan(crops=seedling, medium__ec=0.8)[1])
