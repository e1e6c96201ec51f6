"""Tables typed a second time, from the texts and not from the tables, so that no cell slips."""

import csv
import math

import pytest

from saltcalc.data.nutrients import nutrient_ranges
from saltcalc.data.stage_limits import stage_limits
from saltcalc.data.tables import DATA_DIR
from saltcalc.data.watering import wetting_reaches

# FAO 61 (2002), table A1.3, from memory: highest soil salinity [dS/m] at which a plant still looks
# well. Four of the most tolerant as their trials have them (abstracts, read): Bernstein et al.
# (1972), Natal plum and bougainvillea hardly affected by 8; Francois (1982), evergreen pear and
# Italian stone pine by 9.
LOOKS_WELL = """
1 2 star_jasmine pyrenees_cotoneaster oregon_grape photinia
2 3 pineapple_guava chinese_holly rose glossy_abelia southern_yew tulip_tree algerian_ivy
2 3 japanese_pittosporum heavenly_bamboo chinese_hibiscus
3 4 laurustinus strawberry_tree crape_myrtle
4 6 glossy_privet yellow_sage orchid_tree southern_magnolia japanese_boxwood xylosma
4 6 japanese_black_pine indian_hawthorn dodonaea oriental_arborvitae thorny_elaeagnus
4 6 spreading_juniper pyracantha cherry_plum
6 8 weeping_bottlebrush oleander european_fan_palm blue_dracaena spindle_tree rosemary
6 8 aleppo_pine sweet_gum
8 - brush_cherry ceniza natal_plum bougainvillea
9 - evergreen_pear italian_stone_pine
10 - ice_plant_white ice_plant_rosea ice_plant_purple ice_plant_croceum
"""

# Yeager et al. (1997), desirable levels by pour-through [mg/L, pH], read in the University of
# Kentucky's page on the method: on liquid feed (alone or beside coated fertilizer), and on coated
# fertilizer alone. Micronutrients as remembered: the page was read without their figures.
POUR_THROUGH = """
ph 5.0 6.0 5.0 6.0
nitrate_n 50 100 15 25
phosphorus 10 15 5 10
potassium 30 50 10 20
calcium 20 40 20 40
magnesium 15 20 15 20
manganese 0.3 - 0.3 -
iron 0.5 - 0.5 -
zinc 0.2 - 0.2 -
copper 0.02 - 0.02 -
boron 0.05 - 0.05 -
"""

# German guide values for pot plants by CAT, in mg of the oxide in a litre of medium, for crops of
# low, medium and high salt tolerance; nitrogen as such.
BY_CAT = {
    "nitrate_n": (1, [(30, 100), (30, 150), (30, 200)]),
    "phosphorus": (2 * 30.974 / 141.94, [(30, 100), (50, 150), (50, 200)]),
    "potassium": (2 * 39.098 / 94.2, [(30, 150), (30, 200), (30, 250)]),
}

# The same source: those of pot plants of any kind, mg in a litre of medium, and the salts.
BY_CAT_OF_ANY = """
magnesium 50 100
manganese 10 50
iron 2 150
copper 0.4 40
boron 0.2 -
salts - 1000
salts - 2000
salts - 3000
"""

# Judgements of this project: water that stays of what is poured at once and in lots [L/L], and the
# share of the medium that no water sweeps, with its ends.
WETTING = """
wettable 0.66 1.0 0.0 0.0 0.0
repelling 0.4 0.7 0.15 0.03 0.35
repelling_with_wetting_agent 0.6 0.9 0.05 0.01 0.2
"""

# Plants, stage, extract: range or limit [dS/m]. North Carolina's leaflet 590 (2000) for feeders;
# annual vinca and the trial without loss as read.
OF_STAGES = """
light_feeding_ornamentals established pour_through 1.0 2.6
light_feeding_ornamentals established saturated_media_extract 0.8 2.0
medium_feeding_ornamentals established pour_through 2.0 3.5
medium_feeding_ornamentals established saturated_media_extract 1.5 3.0
heavy_feeding_ornamentals established pour_through 2.6 4.6
heavy_feeding_ornamentals established saturated_media_extract 2.0 3.5
"""

# A list of soil pH by crop (Harvest to Table), read.
SOIL_PH = """
blackberry 5.0 6.0
cranberry 4.0 5.5
parsley 5.0 7.0
peanut 5.0 7.5
potato 4.5 6.0
raspberry 5.5 6.5
sweet_potato 5.5 6.0
apple 5.0 6.5
basil 5.5 6.5
carrot 5.5 7.0
chervil 6.0 6.7
"""


# As trade texts and nursery books have it, common practice without one source.
USUAL_PH = """
4.5 5.5 gardenia heather pieris holly
4.3 5.5 lingonberry
5.0 6.0 magnolia
5.5 6.5 dill strawberry avocado
5.5 7.0 grape pawpaw
5.8 6.5 african_violet
6.0 7.0 clematis sage mint chives coriander
6.0 7.5 lavender lilac rosemary thyme oregano tarragon lemon_balm fig
6.0 8.0 olive alfalfa barley barley_forage sugar_beet cotton bermudagrass
6.0 8.0 pomegranate pistachio almond
6.5 8.2 date_palm
6.5 7.5 gypsophila
"""

# pH of groups: University of Massachusetts (2023) for greenhouse crops, Capon for garden soils, a
# text on soil acidity (slightly, moderately and very tolerant vegetables); the rest as remembered.
GROUP_PH = """
iron_inefficient soilless 5.4 6.2
iron_efficient soilless 6.0 6.6
general soilless 5.6 6.4
general soilless 5.0 6.5
acid_loving mineral 4.5 5.5
acid_loving soilless 4.5 5.8
alkaline_tolerant mineral - 7.5
nursery_woody soilless 5.0 6.0
foliage soilless 5.5 6.5
conifer_seedlings soilless 5.0 6.0
acid_slightly_tolerant mineral 6.0 6.8
acid_moderately_tolerant mineral 5.5 6.8
acid_very_tolerant mineral 5.0 6.8
scab_prone mineral 5.0 6.8
"""

# By extract: Acta Horticulturae 50, paper 19 (vegetables and pot plants; seed compost); Brady &
# Weil; University of Massachusetts, media with field soil, and without; Warncke (1995); a
# laboratory's guide, peat-based media.
PH_OF_MEDIA = {
    ("one_to_one_and_half", 5.0, 6.5),
    ("one_to_one_and_half", 5.3, 5.9),
    ("saturated_paste", 6.0, 7.0),
    ("saturated_paste", 6.2, 6.5),
    ("saturated_media_extract", 5.5, 6.0),
    ("saturated_media_extract", 5.5, 6.5),
    ("saturated_media_extract", 5.4, 6.5),
    ("saturated_media_extract", 5.6, 5.8),
    ("pour_through", 5.0, 6.0),
}

# mmol/L. Batavia lettuce: Frontiers in Plant Science 2024, abstract, read. Tomato, cucumber,
# gerbera and rose: Dutch solutions for closed systems (Sonneveld & Voogt 2009), from memory.
TAKEN_UP = """
lettuce 13.4 10.2 3.13 0.86
tomato 11.75 6.5 2.75 1.0
cucumber 12.75 6.5 2.75 1.0
gerbera 8.0 4.5 1.6 0.4
rose 5.1 2.2 0.9 0.5
"""

# ANSI Z60.1-2004 and Z60.2-2025, table 1, container classes, cubic inches: read in a copy of the
# table (#7 also in a paper, in litres).
CONTAINER_CLASSES = """
#1 152 251
#2 320 474
#3 628 742
#5 785 1242
#7 1337 1790
#10 2080 2646
#15 2768 3696
#20 4520 5152
#25 5775 6861
"""


# FAO 29 (1985) after Maas (1984), from memory: sodium or chloride [mmol/L] of sprinkled water that
# injures leaves. Citrus there; its kinds in the table.
FOLIAR = """
- 5 almond apricot orange lemon grapefruit mandarin lime plum
5 10 grape pepper potato tomato
10 20 alfalfa barley corn cucumber safflower sesame sorghum
20 - cauliflower cotton sugar_beet sunflower
"""

# CRC Handbook, ionic conductivity at infinite dilution, 25 °C, from memory: 1e-4 m² S/mol of a
# charge.
IONIC_CONDUCTIVITY = """
H+ 349.65
OH- 198
Na+ 50.08
K+ 73.48
Ca+2 59.47
Mg+2 53.0
NH4+ 73.5
Cl- 76.31
NO3- 71.42
SO4-2 80.0
HCO3- 44.5
CO3-2 69.3
H2PO4- 36
HPO4-2 57
"""

# Warncke and Krauskopf (1983), from memory: shares of the soluble salts [%] that suit.
SALT_SHARES = """
nitrate_n 8 10
ammonium_n - 3
potassium 11 13
calcium 14 16
magnesium 4 6
sodium - 10
chloride - 10
"""

# Footnotes of the list of herbaceous crops (Maas and Grattan 1999), from memory: EC of the
# saturated extract that the young plant takes at most.
WHILE_YOUNG = """
seedling 4 5 barley barley_forage wheat wheat_forage
germination 3 3 beet_red
germination 3 3 sugar_beet
"""


# University of Arkansas, Greenhouse Management Online, unit 7, table 2, read: pounds of an
# amendment in a cubic yard of medium.
POUNDS_A_YARD = """
superphosphate 2.0 2.0
gypsum 1.5 2.0
epsom_in_batch 0.5 1.0
calcium_nitrate_in_batch 1.0 1.0
nitrate_in_batch 1.0 1.0
"""
POUND_A_YARD = 453.59237 / 764.554857984
"""In g/L: pounds and yards by their definitions."""

# FAO 56 (1998), table 23, from memory: threshold [dS/m] and slope [% for each dS/m]; of a range the
# lower threshold, and no slope where that is a range too.
FAO_56 = """
brussels_sprouts 1.8 9.7
cauliflower 1.8 6.2
cabbage 1.0 -
cucumber 1.1 -
tomato 0.9 9.0
pumpkin 1.2 13
squash_winter 1.2 13
pea 1.5 14
broad_bean 1.5 -
fescue_tall 3.9 6.2
grapefruit 1.8 16
orange 1.7 16
plum 1.5 18
"""

# FAO 29 (1985), table 14, from memory: chloride of the saturated extract [mmol/L] that a rootstock
# or cultivar takes without leaf injury.
CHLORIDE_OF_VARIETIES = """
7.5 West Indian
6 Guatemalan
5 Mexican
25 Sunki mandarin
15 Sampson tangelo
10 citrumelo 4475
40 Salt Creek
30 Dog Ridge
20 Thompson Seedless
10 Cardinal
25 Marianna
10 Lovell
7.5 Yunnan
10 Boysenberry
10 Olallie
5 Indian Summer
7.5 Lassen
5 Shasta
"""


def _lines(text):
    return [line.split() for line in text.split("\n") if line]


def _number(cell):
    return None if cell == "-" else float(cell)


def _cells(table):
    with (DATA_DIR / f"{table}.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def test_ornamentals_look_well_up_to():
    expected = {
        crop: (_number(low), _number(high))
        for low, high, *crops in _lines(LOOKS_WELL)
        for crop in crops
    }
    found = {
        row["id"]: tuple(float(row[f"appearance_{end}"] or "nan") for end in ("low", "high"))
        for row in _cells("crops")
        if row["appearance_low"]
    }
    assert found.keys() == expected.keys()
    for crop, (low, high) in expected.items():
        wanted = (low, float("nan") if high is None else high)
        assert found[crop] == pytest.approx(wanted, nan_ok=True), crop


@pytest.mark.parametrize("line", _lines(POUR_THROUGH), ids=lambda line: line[0])
def test_levels_of_nursery_stock_by_pour_through(line):
    nutrient, *figures = line
    for feeding, ends in (("liquid_feed", figures[:2]), ("coated_fertilizer", figures[2:])):
        (row,) = [
            each
            for each in nutrient_ranges()
            if (each.nutrient, each.plants) == (nutrient, "woody") and feeding in each.feeding
        ]
        assert row.low == float(ends[0])
        assert row.high == pytest.approx(_number(ends[1]) or float("nan"), nan_ok=True)


@pytest.mark.parametrize("nutrient", BY_CAT)
def test_guide_values_by_cat_are_those_of_the_oxides(nutrient):
    share, ranges = BY_CAT[nutrient]
    found = sorted(
        (each.high, each.low)
        for each in nutrient_ranges()
        if (each.method, each.nutrient) == ("cat", nutrient)
    )
    for (high, low), (oxide_low, oxide_high) in zip(found, ranges, strict=True):
        assert low == pytest.approx(share * oxide_low, rel=5e-3)
        assert high == pytest.approx(share * oxide_high, rel=5e-3)


def test_guide_values_by_cat_for_pot_plants_of_any_kind():
    found = [
        [each.nutrient, *("-" if math.isnan(end) else f"{end:g}" for end in (each.low, each.high))]
        for each in nutrient_ranges()
        if each.method == "cat" and each.nutrient not in BY_CAT
    ]
    assert sorted(found) == sorted(_lines(BY_CAT_OF_ANY))


@pytest.mark.parametrize("line", _lines(WETTING), ids=lambda line: line[0])
def test_what_wetting_reaches(line):
    state, *figures = line
    row = wetting_reaches()[state]
    found = row.at_once, row.in_lots, row.unswept, row.unswept_low, row.unswept_high
    assert found == tuple(map(float, figures))


@pytest.mark.parametrize("line", _lines(OF_STAGES), ids=lambda line: "-".join(line[:3]))
def test_limits_of_stages(line):
    plants, stage, extraction, low, high = line
    (row,) = [
        each
        for each in stage_limits()
        if (each.plants, each.stage, each.extraction) == (plants, stage, extraction)
    ]
    assert row.ec_low == (_number(low) or 0)
    assert row.ec_high == float(high)


@pytest.mark.parametrize("line", _lines(SOIL_PH), ids=lambda line: line[0])
def test_soil_ph_of_crops(line):
    crop, low, high = line
    if crop == "potato":
        # The list prints the range against scab; growth goes by the range of the group.
        (row,) = [each for each in _cells("crop_ph") if each["crops"] == crop]
        assert f"{low}-{high}" in row["note"]
        assert (row["low"], row["high"]) == ("", "")
        return
    (row,) = [
        each
        for each in _cells("crop_ph")
        if each["crops"] == crop and each["source"] == "web_crop_ph_list"
    ]
    assert (row["low"], row["high"]) == (low, high)


@pytest.mark.parametrize("line", _lines(USUAL_PH), ids=lambda line: line[2])
def test_usual_ph_of_crops(line):
    low, high, *crops = line
    found = {
        crop: (row["low"], row["high"])
        for row in _cells("crop_ph")
        if row["source"] == "common_practice"
        for crop in row["crops"].split(";")
    }
    assert {found[crop] for crop in crops} == {(low, high)}


def test_ph_of_groups():
    found = [
        [row["ph_group"], row["basis"], row["low"] or "-", row["high"] or "-"]
        for row in _cells("ph_groups")
    ]
    assert sorted(found) == sorted(_lines(GROUP_PH))


def test_ph_of_media_by_extract():
    found = {(row.method, row.low, row.high) for row in nutrient_ranges() if row.nutrient == "ph"}
    assert found == PH_OF_MEDIA


@pytest.mark.parametrize("line", _lines(TAKEN_UP), ids=lambda line: line[0])
def test_what_crops_take_up(line):
    crop, *amounts = line
    found = {
        row["ion"]: row["uptake"] for row in _cells("uptake_concentrations") if row["crop"] == crop
    }
    ions = ("nitrogen", "potassium", "calcium", "magnesium")
    assert [float(found[ion]) for ion in ions] == [float(amount) for amount in amounts]


def test_container_classes():
    found = [
        [row["size"], row["low"], row["high"]]
        for row in _cells("trade_sizes")
        if row["source"] == "ansi_z60_1"
    ]
    assert found == _lines(CONTAINER_CLASSES)


def test_foliar_injury():
    found = [
        [row["sodium_or_chloride_low"], row["sodium_or_chloride_high"], *row["crops"].split(";")]
        for row in _cells("crop_foliar")
    ]
    assert [[cell or "-" for cell in row] for row in found] == _lines(FOLIAR)


def test_ionic_conductivities():
    found = {row["species"]: row["conductivity"] for row in _cells("ionic_conductivity")
             if row["source"] == "crc"}  # fmt: skip
    assert {species: float(each) for species, each in found.items()} == {
        species: float(each) for species, each in _lines(IONIC_CONDUCTIVITY)
    }


def test_shares_of_salts_that_suit():
    found = {
        row["nutrient"]: [row["share_low"], row["share_high"]] for row in _cells("nutrient_balance")
    }
    shares = {nutrient: [_number(end) for end in ends] for nutrient, *ends in _lines(SALT_SHARES)}
    assert found.keys() == shares.keys()
    for nutrient, ends in shares.items():
        assert [float(end) * 100 if end else None for end in found[nutrient]] == pytest.approx(ends)


def test_limits_while_young():
    found = [[row["stage"], row["ec_low"], row["ec_high"], *row["crops"].split(";")]
             for row in _cells("crop_stage_limits")]  # fmt: skip
    assert found == _lines(WHILE_YOUNG)


@pytest.mark.parametrize("line", _lines(POUNDS_A_YARD), ids=lambda line: line[0])
def test_amendments_of_a_batch(line):
    correction, *pounds = line
    (row,) = (row for row in _cells("corrections") if row["id"] == correction)
    assert row["unit"] == "g/L"
    for end, printed in zip(("low", "high"), pounds, strict=True):
        assert float(row[f"rate_{end}"]) == pytest.approx(float(printed) * POUND_A_YARD, abs=0.01)


def test_every_amendment_of_that_table_is_typed_here():
    of_table = {row["id"] for row in _cells("corrections")
                if row["source"] == "uark_amendments" and row["rate_low"]}  # fmt: skip
    assert of_table == {correction for correction, *_ in _lines(POUNDS_A_YARD)}


def test_second_figures_of_fao_56():
    found = {
        row["crop"]: [row["threshold"], row["slope"] or "-"]
        for row in _cells("crop_second_figures")
        if row["source"] == "fao56" and row["threshold"]
    }
    assert found == {crop: figures for crop, *figures in _lines(FAO_56)}


def test_chloride_of_rootstocks_and_cultivars():
    found = {
        row["variety"].split(" ", 1)[1].split(",")[0]: float(row["threshold"])
        for row in _cells("crop_chloride")
        if row["variety"]
    }
    assert found == {" ".join(name): float(limit) for limit, *name in _lines(CHLORIDE_OF_VARIETIES)}
