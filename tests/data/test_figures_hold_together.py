"""Figures of tables that belong together agree: a slip in one cell shows beside its neighbours."""

import csv
import re
from collections import defaultdict

import pytest

from saltcalc.data.causes import diagnostic_measures
from saltcalc.data.tables import DATA_DIR


def rows_of(table):
    with (DATA_DIR / f"{table}.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


CONDITIONS, BARS = rows_of("evidence_conditions"), rows_of("correction_conditions")
YES_OR_NO = {
    each.id for each in diagnostic_measures().values() if str(each.basis).startswith("1_if")
} | {"ec_is_lower_bound"}
MEDIUM_OF = {row["rule"]: row["medium"] for row in rows_of("cause_evidence")}


def _thresholds(conditions):
    found = defaultdict(set)
    for row in conditions:
        if row["measure"]:
            found[row["measure"]].add(float(row["threshold"]))
    return found


def test_what_is_so_or_not_is_asked_for_as_that():
    asked = [row for row in [*CONDITIONS, *BARS] if row["measure"] in YES_OR_NO]
    assert len({row["measure"] for row in asked}) > 20
    assert {(row["comparison"], row["threshold"]) for row in asked} == {
        ("at_least", "1"),
        ("at_most", "0"),
    }


def test_a_sign_is_seen_or_not_seen():
    signs = [row for row in [*CONDITIONS, *BARS] if row["observation"]]
    assert {(row["comparison"], row["threshold"]) for row in signs} == {("", ""), ("at_most", "0")}


def test_evidence_from_the_ec_goes_by_the_limits_of_classes():
    """Of container media by the saturated media extract, of mineral soil by the paste."""
    limits = defaultdict(set)
    for row in rows_of("ec_classes"):
        if row["governing"] == "true":
            limits[row["method"]].add(float(row["lower"]))
    of_kind = {"mineral": "saturated_paste", "soilless": "saturated_media_extract"}
    asked = [row for row in CONDITIONS if row["measure"] == "ec_extract"]
    assert len(asked) > 8
    for row in asked:
        known = limits[of_kind[MEDIUM_OF[row["rule"]] or "soilless"]]
        assert float(row["threshold"]) in known, row["rule"]


@pytest.mark.parametrize(
    ("measure", "molar_mass", "millimoles"),
    [
        # Agri Kultuur (2016): the most sensitive, and the hardiest, of seven greenhouse crops.
        ("chloride", 35.45, [8, 15]),
        # FAO 29 (1985), Table 1: no restriction below 4 and 3 mmol/L by surface and sprinkler.
        # A quarter or a third of that brings next to none (judgement).
        ("water_chloride", 35.45, [1, 4]),
        ("water_sodium", 22.99, [1, 3]),
    ],
)
def test_limits_published_in_millimoles(measure, molar_mass, millimoles):
    found = _thresholds([*CONDITIONS, *BARS])[measure]
    assert sorted(each / molar_mass for each in found) == pytest.approx(millimoles, rel=0.014)


LIMITS = {
    # mg/L by saturated media extract; the ends of ranges and classes, as their tables print them
    "sodium": {50, 160, 230},
    "boron": {0.5},
    "nitrate_n": {40, 200},
    "ammonium_n": {10, 20, 50, 500},
    "sulfate_s": {2, 10},
    "free_ammonia_n": {1.05, 2.1},
    "water_boron": {0.1, 0.7},
    "water_alkalinity": {100, 150},
    # % of full yield, of the salts, of the mineral nitrogen, and of the volume
    "relative_yield": {50, 75, 90},
    "thriving_crop_relative_yield": {90},
    "sodium_share_of_salts": {10},
    "chloride_share_of_salts": {10},
    "nitrate_share_of_mineral_n": {20, 50, 80},
    "air_space": {1, 10},
    # °C, days, cm, (mmol/L)^0.5
    "root_zone_temperature": {10, 15, 15.6, 18},
    "plant_age": {10, 21, 35},
    "container_height": {6},
    "sar": {4, 13},
    # pH, and how far it is out of its range
    "ph": {0, 5, 5.8, 6, 6.2, 6.5, 6.75, 7},
    "ph_below_range": {0, 0.2, 0.3, 0.5, 1},
    "ph_above_range": {0, 0.2, 0.5, 1, 1.5},
    # of two cations by mass
    "potassium_to_magnesium": {5, 6},
    "calcium_to_magnesium": {1, 5},
}
"""What evidence and corrections go by, as it was read or judged."""

FAR_FROM_A_LIMIT = {
    "salts_to_high": {1.5},
    "ec_to_stage_limit": {1.1, 1.6},
    "ec_to_stalled_crop_threshold": {1.1, 1.6},
    "ec_to_least_crop_limit": {1.1, 1.6},
    "thriving_crop_limit_ratio": {0.8},
    "esp_to_crop_limit": {1.5},
    "chloride_to_crop_limit": {1.5},
    "boron_to_crop_limit": {1.5},
    "nitrate_n_to_low": {30 / 40},
    "phosphorus_to_low": {2 / 3},
    "potassium_to_low": {20 / 60},
    "calcium_to_low": {20 / 80, 0.5},
    "magnesium_to_low": {15 / 30, 1.5},
    "iron_to_low": {0.1 / 0.5},
    "manganese_to_low": {0.02 / 0.5},
    "zinc_to_low": {0.01 / 0.5},
    "copper_to_low": {0.005 / 0.1},
    "boron_to_low": {0.02 / 0.1},
    "iron_to_high": {2},
    "manganese_to_high": {2},
    "zinc_to_high": {2},
    "copper_to_high": {2},
    "potassium_to_high": set(),
}
"""Of ratios to a limit, where evidence goes by more than the limit itself, which is 1."""


@pytest.mark.parametrize("measure", LIMITS)
def test_evidence_and_corrections_go_by_the_same_limits(measure):
    found = _thresholds([*CONDITIONS, *BARS])[measure]
    assert found == LIMITS[measure]


@pytest.mark.parametrize("measure", FAR_FROM_A_LIMIT)
def test_a_ratio_is_held_to_the_limit_itself_or_to_a_multiple_that_was_judged(measure):
    found = _thresholds([*CONDITIONS, *BARS])[measure] - {0, 1}
    assert sorted(found) == pytest.approx(sorted(FAR_FROM_A_LIMIT[measure]), rel=0.03)


def test_no_measure_with_a_limit_was_left_out():
    asked = _thresholds([*CONDITIONS, *BARS])
    rest = asked.keys() - YES_OR_NO - LIMITS.keys() - FAR_FROM_A_LIMIT.keys()
    rest -= {"ec_extract", "chloride", "water_chloride", "water_sodium"}
    assert all(asked[each] <= {0, 1} for each in rest)


def test_soil_temperatures_are_those_that_were_printed_in_fahrenheit():
    for row in rows_of("crop_soil_temperature"):
        minimum, optimum, _ = map(int, re.findall(r"\d+", row["note"]))
        assert float(row["minimum"]) == pytest.approx((minimum - 32) / 1.8, abs=0.06), row["crop"]
        assert float(row["optimum_low"]) == pytest.approx((optimum - 32) / 1.8, abs=0.06)


def test_a_judged_spread_of_what_a_crop_takes_up_is_a_fifth():
    seen = 0
    for row in rows_of("uptake_concentrations"):
        low, middle, high = (float(row[each]) for each in ("uptake_low", "uptake", "uptake_high"))
        if row["ion"] in {"sodium", "chloride"}:
            assert middle == pytest.approx((low + high) / 2), row
        else:
            assert high == pytest.approx(1.2 * middle, rel=0.03), row
            if "measured" not in row["note"]:
                assert low == pytest.approx(0.8 * middle, rel=0.03), row
                seen += 1
    assert seen > 15


def test_two_samples_of_one_medium_differ_by_what_their_kind_of_figure_does():
    """A pH by 0.4, micronutrients threefold near what can be detected, a sign not at all."""
    of_figure = {"ph": 10**0.4, **dict.fromkeys(("iron", "manganese", "zinc", "copper"), 3)}
    for row in rows_of("trial_figures"):
        expected = of_figure.get(row["figure"], 1.5)
        if row["takes"] in {"sign", "sealed"}:
            expected = 1
        if row["takes"] in {"ec", "low_ec"}:
            expected = 1.3
        if row["id"] == "boron_short":
            expected = 3
        assert float(row["error"]) == pytest.approx(expected, rel=0.01), row["id"]


def test_a_middle_lies_within_its_ends_in_every_table():
    """Wherever a table has a figure with its low and its high end."""
    seen = 0
    for table in sorted(DATA_DIR.glob("*.csv")):
        for row in rows_of(table.stem):
            for low in (name for name in row if name and name.endswith("_low")):
                ends = [row[low], row.get(low.removesuffix("low") + "high", "")]
                middle = row.get(low.removesuffix("_low"), "")
                if all(ends):
                    seen += 1
                    assert float(ends[0]) <= float(ends[1]), (table.stem, row)
                    if middle:
                        assert float(ends[0]) <= float(middle) <= float(ends[1]), (table.stem, row)
    assert seen > 150


def test_a_low_end_is_not_above_the_high_one_in_any_table():
    seen = 0
    for table in sorted(DATA_DIR.glob("*.csv")):
        for row in rows_of(table.stem):
            if row.get("low") and row.get("high"):
                seen += 1
                assert float(row["low"]) <= float(row["high"]), (table.stem, row)
    assert seen > 100


def test_a_square_pot_holds_two_thirds_of_its_cube_and_more():
    """P9 is 9 cm wide; walls that slant, and a height of its own, make it less than the cube."""
    pots = [row for row in rows_of("trade_sizes") if re.fullmatch(r"P\d+", row["size"])]
    assert len(pots) == 3
    for row in pots:
        cube = (int(row["size"][1:]) / 10) ** 3
        assert row["low"] == row["high"]
        assert 2 / 3 < float(row["low"]) / cube < 0.8, row


def test_a_crop_in_a_soilless_medium_has_a_narrow_range_of_ph_up_to_neutral():
    ranges = [row for row in rows_of("crop_ph") if row["basis"] == "soilless"]
    assert len(ranges) >= 70
    for row in ranges:
        low, high = (float(row[end] or "nan") for end in ("low", "high"))
        assert not high > 7.0, row
        assert not high - low > 1.0, row
