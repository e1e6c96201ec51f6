"""Nutrient ranges, balance, nitrogen and remedies against the sources they were read in."""

import math

import pytest

from saltcalc.data.nutrients import (
    DTPA,
    amendment_figures,
    governing_range,
    nitrogen_uptake,
    nutrient_ranges,
    salt_shares,
)
from saltcalc.science.nutrients import (
    NutrientStatus,
    lime_rate,
    nitrogen_in_held_water,
    nutrient_status,
    organic_nitrogen_rate,
    salt_share,
    weeks_of_nitrogen,
)

LOW, IN_RANGE, HIGH = NutrientStatus.LOW, NutrientStatus.IN_RANGE, NutrientStatus.HIGH
SME = "saturated_media_extract"

# Univ. of Missouri Extension, greenhouse media analysis, Table 1 (after Warncke 1998): low below
# acceptable, high above optimum [mg/L]. NO3-N 40-99-199, P 3-5-10, K 60-149-249, Ca 80, Mg 30.
WARNCKE_1998 = [
    ("nitrate_n", 39, LOW),
    ("nitrate_n", 40, IN_RANGE),
    ("nitrate_n", 199, IN_RANGE),
    ("nitrate_n", 250, HIGH),
    ("phosphorus", 2, LOW),
    ("phosphorus", 8, IN_RANGE),
    ("phosphorus", 15, HIGH),
    ("potassium", 59, LOW),
    ("potassium", 200, IN_RANGE),
    ("potassium", 300, HIGH),
    ("calcium", 79, LOW),
    ("calcium", 250, IN_RANGE),
    ("magnesium", 29, LOW),
    ("magnesium", 70, IN_RANGE),
]

# Univ. of Massachusetts, commercial floriculture soilless media report, SME normal ranges [mg/L].
UMASS_SME = {
    "nitrate_n": (60, 175),
    "phosphorus": (5, 15),
    "potassium": (75, 200),
    "calcium": (75, 250),
    "magnesium": (40, 75),
    "iron": (0.5, 3.0),
    "manganese": (0.5, 3.0),
    "copper": (0.1, 0.5),
    "zinc": (0.5, 2.0),
    "boron": (0.1, 0.5),
}

# Univ. of Missouri Extension, same page: adequate by DTPA [mg/L].
MISSOURI_DTPA = {
    "boron": (0.7, 2.5),
    "copper": (0.5, 1.5),
    "iron": (15, 40),
    "manganese": (5, 30),
    "zinc": (5, 30),
}

# Warncke (1995), as quoted in two guides to potting mixes: what premium mixes test, mg/L.
WARNCKE_1995 = """
ph 5.5 6.5
nitrate_n 75 150
phosphorus 5 20
potassium 150 300
calcium 100 200
magnesium 50 100
sodium - 160
"""

# Guidelines for artificial media of a soil laboratory in Ohio, read: acceptable up to the optimum
# (of ammonium and chloride the class below "high"), mg/L, and its suggested ranges by crop.
OF_THE_LABORATORY = """
general ph 5.4 6.5
general ammonium_n - 15
general boron 0.05 0.50
general copper 0.005 0.5
general iron 0.3 3.0
general manganese 0.02 3.0
general zinc 0.3 3.0
general sodium - 50
general chloride - 20
"""
OF_ITS_CROPS = """
seedling 5.6-5.8 40-70 5-9 100-175 100-200 50-100
young 5.6-5.8 50-90 6-10 100-175 100-200 50-100
potted 5.6-5.8 80-160 6-10 175-250 250-325 80-125
bedding 5.6-5.8 100-200 6-10 150-250 200-400 70-140
"""
COLUMNS = ("ph", "nitrate_n", "phosphorus", "potassium", "calcium", "magnesium")


@pytest.mark.parametrize(("nutrient", "value", "expected"), WARNCKE_1998)
def test_status_by_the_governing_range(nutrient, value, expected):
    limits = governing_range(SME, nutrient)
    assert nutrient_status(value, limits.low, limits.high) == expected


@pytest.mark.parametrize(("nutrient", "limits"), UMASS_SME.items())
def test_normal_ranges_of_massachusetts(nutrient, limits):
    found = [
        (each.low, each.high)
        for each in nutrient_ranges()
        if (each.source, each.nutrient) == ("umass_sme", nutrient)
    ]
    assert found == [limits]


def _ranges_of(source):
    return {
        (each.plants, each.nutrient): (each.low, each.high)
        for each in nutrient_ranges()
        if each.source == source
    }


def _ends(low, high):
    return (math.nan if low == "-" else float(low), float(high))


def test_ranges_of_premium_mixes():
    expected = {
        ("general", nutrient): _ends(*ends)
        for nutrient, *ends in map(str.split, WARNCKE_1995.strip().splitlines())
    }
    found = _ranges_of("warncke_1995")
    assert found.keys() == expected.keys()
    for key, ends in expected.items():
        assert found[key] == pytest.approx(ends, nan_ok=True), key


def test_ranges_of_a_soil_laboratory_in_general_and_by_crop():
    expected = {
        (plants, nutrient): _ends(*ends)
        for plants, nutrient, *ends in map(str.split, OF_THE_LABORATORY.strip().splitlines())
    }
    for plants, *cells in map(str.split, OF_ITS_CROPS.strip().splitlines()):
        for nutrient, cell in zip(COLUMNS, cells, strict=True):
            expected[plants, nutrient] = _ends(*cell.split("-"))
    found = _ranges_of("soil_lab_media_guidelines")
    assert found.keys() == expected.keys()
    for key, ends in expected.items():
        assert found[key] == pytest.approx(ends, nan_ok=True), key


@pytest.mark.parametrize(("nutrient", "limits"), MISSOURI_DTPA.items())
def test_dtpa_is_kept_apart_from_water_extracts(nutrient, limits):
    by_dtpa, by_water = governing_range(DTPA, nutrient), governing_range(SME, nutrient)
    assert (by_dtpa.low, by_dtpa.high) == limits
    # What is adequate by DTPA would be an excess in a water extract.
    assert nutrient_status(by_dtpa.high, by_water.low, by_water.high) == HIGH


@pytest.mark.parametrize(
    ("ph", "expected"), [(5.4, LOW), (5.5, IN_RANGE), (6.5, IN_RANGE), (6.8, HIGH)]
)
def test_ph_of_soilless_media(ph, expected):
    # Warncke (1995), as quoted by Kuepper & Everett (2004): 5.5 to 6.5. North Carolina Department
    # of Agriculture: micronutrients run short above 6.5.
    limits = governing_range(SME, "ph")
    assert nutrient_status(ph, limits.low, limits.high) == expected


@pytest.mark.parametrize(("ammonium", "expected"), [(0, IN_RANGE), (10, IN_RANGE), (500, HIGH)])
def test_ammonium(ammonium, expected):
    # Univ. of Massachusetts: normal 0-10 mg/L by SME; injury of transplants at 500-700 mg/L
    # (greenhouse update, 10 May 2019).
    limits = governing_range(SME, "ammonium_n")
    assert nutrient_status(ammonium, limits.low, limits.high) == expected


@pytest.mark.parametrize(
    ("nutrient", "millimoles", "molar_mass"),
    [
        # Highest chloride in the substrate solution for the most sensitive of seven greenhouse
        # crops: 8 mmol/L (Agri Kultuur, March 2016).
        ("chloride", 8.0, 35.45),
        # Sulfate in the soil solution beyond which gypsum forms: 14 mmol/L (RHP Foundation 2018).
        ("sulfate_s", 14.0, 32.06),
    ],
)
def test_limits_published_in_millimoles(nutrient, millimoles, molar_mass):
    limits = governing_range(SME, nutrient)
    assert math.isnan(limits.low)
    assert limits.high == pytest.approx(millimoles * molar_mass, rel=2e-3)


@pytest.mark.parametrize(
    ("nutrient", "low", "high"),
    [
        ("nitrate_n", 0.08, 0.10),
        ("ammonium_n", math.nan, 0.03),
        ("potassium", 0.11, 0.13),
        ("calcium", 0.14, 0.16),
        ("magnesium", 0.04, 0.06),
        ("sodium", math.nan, 0.10),
        ("chloride", math.nan, 0.10),
    ],
)
def test_balance_of_the_salts(nutrient, low, high):
    # Warncke & Krauskopf (1983), as printed in the media guidelines of a soil laboratory.
    share = salt_shares()[nutrient]
    assert (share.low, share.high) == pytest.approx((low, high), nan_ok=True)


@pytest.mark.parametrize(
    ("nutrient", "optimum"),
    [("nitrate_n", (100, 199)), ("potassium", (150, 249)), ("magnesium", (70, 140))],
)
def test_balance_agrees_with_the_optimum_classes(nutrient, optimum):
    # Warncke (1998): the optimum EC is 2.0 to 3.5 dS/m. The shares of Warncke & Krauskopf (1983)
    # at 700 mg/L of salts for each dS/m meet the optimum classes of the nutrients at that EC. The
    # two disagree slightly over potassium: its optimum class is at most 10.7 % of the salts.
    share = salt_shares()[nutrient]
    at_optimum = [salt_share(value, ec) for value, ec in zip(optimum, (2.0, 3.5), strict=True)]
    assert min(at_optimum) < share.high
    assert max(at_optimum) > 0.97 * share.low


@pytest.mark.parametrize("stage", ["germination", "seedling", "established"])
def test_tissue_nitrogen_of_healthy_plugs(stage):
    # van Iersel et al. (1998): sufficient at 28-40 mg/g in impatiens, 30-43 in petunia plugs.
    row = nitrogen_uptake()[stage]
    assert (row.tissue_n_low, row.tissue_n_high) == (28, 43)
    assert row.tissue_n_low < row.tissue_n < row.tissue_n_high


def test_starting_feed_of_a_potting_mix_lasts_four_to_six_weeks():
    # Garden column of an emeritus extension specialist (Bay Weekly): the nutrients of commercial
    # potting media last four to six weeks. A 0.5 L pot of a mix of porosity 0.75 with 100 mg/L of
    # nitrate nitrogen by saturated media extract (where the optimum class begins, Warncke 1998)
    # holds 37.5 mg.
    row = nitrogen_uptake()["seedling"]
    pot = nitrogen_in_held_water(100.0, 0.0, 0.5 * 0.75)
    weeks = weeks_of_nitrogen(pot, row.dry_mass, row.growth, row.tissue_n)
    assert 4.0 < weeks < 6.0
    # ln(1 + 37.5 / (35 * 0.05)) / 0.7
    assert weeks == pytest.approx(4.443, rel=1e-3)
    cell = nitrogen_in_held_water(100.0, 0.0, 0.025)
    assert weeks_of_nitrogen(cell, row.dry_mass, row.growth, row.tissue_n) < 2.0


def test_dolomitic_lime():
    # University of California, Davis: 3 to 4 kg a cubic metre of sphagnum peat (two units of pH);
    # Texas A&M: 8 lb a cubic yard (4.75 kg/m³) for one unit.
    rates = amendment_figures("dolomitic_lime", "rate_per_ph_unit")
    low, high = min(rate.low for rate in rates), max(rate.high for rate in rates)
    assert 2.0 * low == pytest.approx(3.0)
    assert high == pytest.approx(8 * 0.45359237 / 0.764554858, rel=2e-3)
    # Trade notes on potting mixes: 20 g in 10 L (2 g/L), and 4 lb a cubic yard (2.4 g/L).
    assert low < 2.0 < 4 * 0.45359237 / 0.764554858 < high
    assert lime_rate(5.4, 6.0, low) == pytest.approx(0.9)
    assert lime_rate(6.6, 6.0, low) == 0.0


@pytest.mark.parametrize(
    ("quantity", "low", "high"),
    [
        ("nitrogen_content", 0.117, 0.158),
        ("released_in_2_weeks", 0.47, 0.60),
        ("released_in_8_weeks", 0.60, 0.66),
    ],
)
def test_release_from_organic_nitrogen(quantity, low, high):
    # Hartz & Johnstone (2006), abstract.
    (figure,) = amendment_figures("organic_nitrogen", quantity)
    assert (figure.low, figure.high) == (low, high)


def test_rate_of_a_12_0_0():
    # 100 mg of nitrogen for each litre of medium from a 12-0-0 that gives half in two weeks:
    # 100 / (0.12 * 0.5) = 1667 mg.
    assert organic_nitrogen_rate(100.0, 0.12, 0.5) == pytest.approx(1.667, rel=1e-3)
