"""Crop figures against their published tables, written out here apart from the project's CSVs."""

import re
from math import isnan
from pathlib import Path

import numpy as np
import pytest

from saltcalc.data.crops import catalogue
from saltcalc.science.crop_response import ec_at_yield, relative_yield


def rows(table):
    return [tuple(line.split()) for line in table.strip().splitlines()]


def printed(text):
    """Value and half a unit of the last printed place, widened for slopes that are rounded too."""
    return float(text), (0.06 if "." in text else 0.6)


# USDA-ARS U.S. Salinity Laboratory, Riverside: relative salt tolerance of herbaceous crops, after
# Maas (1990), vegetable and fruit crops (read). Threshold [dS/m], slope [% per dS/m], rating.
ARS_VEGETABLES = """
asparagus 4.1 2.0 T
bean 1.0 19 S
bean_mung 1.8 20.7 S
beet_red 4.0 9.0 MT
broccoli 2.8 9.2 MS
cabbage 1.8 9.7 MS
carrot 1.0 14 S
celery 1.8 6.2 MS
corn_sweet 1.7 12 MS
cucumber 2.5 13 MS
eggplant 1.1 6.9 MS
lettuce 1.3 13 MS
onion 1.2 16 S
pepper 1.5 14 MS
potato 1.7 12 MS
radish 1.2 13 MS
spinach 2.0 7.6 MS
squash_scallop 3.2 16 MS
strawberry 1 33 S
sweet_potato 1.5 11 MS
tomato 2.5 9.9 MS
tomato_cherry 1.7 9.1 MS
turnip 0.9 9 MS
"""

# The same list: crops with nothing but a rating, an asterisk marking an estimate (read).
ARS_RATED = """
brussels_sprouts MS yes
cauliflower MS yes
kale MS yes
kohlrabi MS yes
parsnip S yes
pumpkin MS yes
watermelon MS yes
"""

# FAO 61, Annex 1, as quoted in plant fact sheets (read).
FAO61_QUOTED = """
barley 8.0 5.0
rice 3.0 12
soybean 5.0 20
squash_zucchini 4.9 10.5
squash_scallop 3.2 16
garlic 3.9 14.3
wheat 6.0 7.1
clover_red 1.5 12
asparagus 4.1 2.0
spinach 2.0 7.6
onion 1.2 16
broccoli 2.8 9.2
carrot 1.0 14
plum 2.6 31
pea 3.4 10.6
"""

# FAO 61, Annex 1, Tables A1.1 and A1.2 (after Maas and Grattan 1999): from memory, written out a
# second time, apart from the CSV. Orange and lemon were read in a copy of the annex among the rules
# of an open irrigation program, muskmelon in another's table after Maas (1990), rosemary (6 to
# 8 dS/m) in a quotation of Maas (1990) in a collection of plant fact sheets: all four agree.
FAO61_REMEMBERED = """
canola 11.0 13
canola_turnip_rape 9.7 14
guar 8.8 17
kenaf 8.1 11.6
lesquerella 6.1 19
rye 11.4 10.8
triticale 6.1 2.5
wheat_semidwarf 8.6 3.0
wheat_durum 5.9 3.8
cowpea 4.9 12
muskmelon 1.0 8.4
purslane 6.3 9.6
swiss_chard 7.0 5.7
turnip_greens 3.3 4.3
artichoke_globe 6.1 11.5
guava 4.7 9.8
lemon 1.5 12.8
orange 1.3 13.1
"""

# The trials themselves, abstracts read: seed yield of crambe (Francois & Kleiman 1990), tubers of
# Jerusalem artichoke in the field (Newton, Myers & West 1991, slope printed as 9.62), dry matter of
# guayule (Maas, Donovan & Francois 1988).
TRIALS = """
crambe 2.0 6.5
artichoke_jerusalem 0.4 9.62
guayule 8.7 11.6
"""

# FAO 29 Rev. 1, Table 4: EC of the saturated extract [dS/m] at 100, 90, 75, 50 and 0 % yield
# (from memory; bean, maize and scallop squash also read in PLoS ONE 2018, 0198290, Table 3).
FAO29_TABLE_4 = """
barley 8.0 10 13 18 28
cotton 7.7 9.6 13 17 27
sugar_beet 7.0 8.7 11 15 24
sorghum 6.8 7.4 8.4 9.9 13
wheat 6.0 7.4 9.5 13 20
soybean 5.0 5.5 6.3 7.5 10
cowpea 4.9 5.7 7.0 9.1 13
peanut 3.2 3.5 4.1 4.9 6.6
rice 3.0 3.8 5.1 7.2 11
sugarcane 1.7 3.4 5.9 10 19
corn 1.7 2.5 3.8 5.9 10
flax 1.7 2.5 3.8 5.9 10
bean 1.0 1.5 2.3 3.6 6.3
beet_red 4.0 5.1 6.8 9.6 15
squash_scallop 3.2 3.8 4.8 6.3 9.4
broccoli 2.8 3.9 5.5 8.2 14
tomato 2.5 3.5 5.0 7.6 13
cucumber 2.5 3.3 4.4 6.3 10
spinach 2.0 3.3 5.3 8.6 15
celery 1.8 3.4 5.8 9.9 18
cabbage 1.8 2.8 4.4 7.0 12
potato 1.7 2.5 3.8 5.9 10
corn_sweet 1.7 2.5 3.8 5.9 10
sweet_potato 1.5 2.4 3.8 6.0 11
pepper 1.5 2.2 3.3 5.1 8.6
lettuce 1.3 2.1 3.2 5.1 9.0
radish 1.2 2.0 3.1 5.0 8.9
onion 1.2 1.8 2.8 4.3 7.4
carrot 1.0 1.7 2.8 4.6 8.1
turnip 0.9 2.0 3.7 6.5 12
wheatgrass_tall 7.5 9.9 13 19 31
wheatgrass_fairway_crested 7.5 9.0 11 15 22
bermudagrass 6.9 8.5 11 15 23
barley_forage 6.0 7.4 9.5 13 20
ryegrass_perennial 5.6 6.9 8.9 12 19
trefoil_narrowleaf_birdsfoot 5.0 6.0 7.5 10 15
hardinggrass 4.6 5.9 7.9 11 18
wheatgrass_standard_crested 3.5 6.0 9.8 16 28
vetch_common 3.0 3.9 5.3 7.6 12
sudangrass 2.8 5.1 8.6 14 26
wildrye_beardless 2.7 4.4 6.9 11 19
cowpea_forage 2.5 3.4 4.8 7.1 12
trefoil_big 2.3 2.8 3.6 4.9 7.6
sesbania 2.3 3.7 5.9 9.4 17
sphaerophysa 2.2 3.6 5.8 9.3 16
alfalfa 2.0 3.4 5.4 8.8 16
lovegrass 2.0 3.2 5.0 8.0 14
corn_forage 1.8 3.2 5.2 8.6 15
clover_berseem 1.5 3.2 5.9 10 19
orchardgrass 1.5 3.1 5.5 9.6 18
foxtail_meadow 1.5 2.5 4.1 6.7 12
clover_red 1.5 2.3 3.6 5.7 9.8
clover_ladino 1.5 2.3 3.6 5.7 9.8
clover_alsike 1.5 2.3 3.6 5.7 9.8
clover_strawberry 1.5 2.3 3.6 5.7 9.8
date_palm 4.0 6.8 11 18 32
peach 1.7 2.2 2.9 4.1 6.5
apricot 1.6 2.0 2.6 3.7 5.8
grape 1.5 2.5 4.1 6.7 12
almond 1.5 2.0 2.8 4.1 6.8
blackberry 1.5 2.0 2.6 3.8 6.0
boysenberry 1.5 2.0 2.6 3.8 6.0
strawberry 1.0 1.3 1.8 2.5 4.0
"""

# The same table where the newer compilation has replaced the figures: the older ones are kept
# beside them as second figures, and these columns belong to those (from memory; zucchini read in
# PLoS ONE 2018, 0198290, Table 3, first four columns).
FAO29_TABLE_4_REPLACED = """
wheat_durum 5.7 7.6 10 15 24
squash_zucchini 4.7 5.8 7.4 10 15
grapefruit 1.8 2.4 3.4 4.9 8.0
orange 1.7 2.3 3.3 4.8 8.0
plum 1.5 2.1 2.9 4.3 7.1
"""

# Springer textbook "Soil Degradation, Conservation and Remediation", Table 5.8: threshold and EC
# [dS/m] at 10, 25 and 50 % loss (read). Lettuce prints 5.2 at half, cabbage and cucumber agree
# with FAO 29; celery and broccoli there are older figures and left out.
TEXTBOOK_TABLE_5_8 = """
bean 1.0 1.5 2.3 3.6
cabbage 1.8 2.8 4.4 7.0
carrot 1.0 1.7 2.8 4.6
cucumber 2.5 3.3 4.4 6.3
lettuce 1.3 2.1 3.2 5.2
onion 1.2 1.8 2.8 4.3
potato 1.7 2.5 3.8 5.9
"""

# An open crop production handbook, 4.03.032, Table 1a (read): relative yield [%] of established
# forage at 1 to 6 dS/m, as ranges. Berseem prints "85-85" at 3 dS/m, where the line gives 85.5.
FORAGE_YIELDS = """
alfalfa 100 100 90-95 85-90 75-80 70-75
clover_alsike 100 90-100 80-85 65-75 55-60 40-50
clover_ladino 100 90-100 80-85 65-75 55-60 40-50
clover_red 100 90-100 80-85 65-75 55-60 40-50
clover_strawberry 100 90-100 80-85 65-75 55-60 40-50
clover_berseem 100 95-100 90-95 85-85 80 75
corn_forage 100 95-100 90-95 80-85 75-80 65-70
"""

# Maas (1986), Applied Agricultural Research 1:12-26 (from memory): EC [dS/m] that halves
# emergence (range) and yield.
EMERGENCE = """
barley 16 24 18
cotton 15 15 17
sugar_beet 6 12 15
sorghum 13 13 15
safflower 12 12 14
wheat 14 16 13
beet_red 13.8 13.8 9.6
cowpea 16 16 9.1
alfalfa 8 13 8.9
tomato 7.6 7.6 7.6
cabbage 13 13 7.0
corn 21 24 5.9
lettuce 11 11 5.2
onion 5.6 7.5 4.3
rice 18 18 3.6
bean 8.0 8.0 3.6
"""
# In two rows the half-yield belongs to other figures than the crop table's: sorghum's 15 is older
# than its 6.8 and 16 (which give 9.9), and rice's 3.6 is half its 7.2 on the extract.
HALF_YIELD_OF_OTHER_FIGURES = {"sorghum", "rice"}

# USDA-ARS boron list after Maas (1990): boron of the soil water [mg/L], slope [% per mg/L]
# (read down to cucumber).
BORON = """
lemon - 0.5 -
blackberry - 0.5 -
avocado 0.5 0.75 -
grapefruit 0.5 0.75 -
orange 0.5 0.75 -
apricot 0.5 0.75 -
peach 0.5 0.75 -
plum 0.5 0.75 -
fig 0.5 0.75 -
grape 0.5 0.75 -
onion 0.5 0.75 -
garlic 0.75 1.0 -
sweet_potato 0.75 1.0 -
wheat 0.75 1.0 3.3
sunflower 0.75 1.0 -
strawberry 0.75 1.0 -
peanut 0.75 1.0 -
bean_lima 0.75 1.0 -
broccoli 1.0 1.0 1.8
pepper 1.0 2.0 -
pea 1.0 2.0 -
carrot 1.0 2.0 -
radish 1.0 1.0 1.4
potato 1.0 2.0 -
cucumber 1.0 2.0 -
"""
# Francois, L.E. (1989), abstract: boron of the soil solution [mg/L], slope [% per mg/L].
BORON_OF_A_TRIAL = """
cowpea 2.5 2.5 11.5
"""
# The list further down (from memory).
BORON_REMEMBERED = """
lettuce 1.3 1.3 1.7
barley 3.4 3.4 4.4
cauliflower 4.0 4.0 1.9
sugar_beet 4.9 4.9 4.1
tomato 5.7 5.7 3.4
sorghum 7.4 7.4 4.7
celery 9.8 9.8 3.2
asparagus 10 15 -
cotton 6.0 10.0 -
alfalfa 4.0 6.0 -
beet_red 4.0 6.0 -
cabbage 2.0 4.0 -
"""

# USDA-ARS chloride list after Maas (1990) (from memory): chloride of the saturated extract
# [mmol/L], slope [% per mmol/L].
CHLORIDE = """
bean 10 1.9
onion 10 1.6
carrot 10 1.4
radish 10 1.3
lettuce 10 1.3
turnip 10 0.9
pepper 15 1.4
corn 15 1.2
potato 15 1.2
sweet_potato 15 1.1
cabbage 15 1.0
celery 15 0.6
spinach 20 0.8
alfalfa 20 0.7
cucumber 25 1.3
tomato 25 1.0
broccoli 25 0.9
squash_scallop 30 1.6
beet_red 40 0.9
cowpea 50 1.2
wheat 60 0.7
sorghum 70 1.6
sugar_beet 70 0.6
cotton 75 0.5
barley 80 0.5
"""


@pytest.mark.parametrize("row", rows(ARS_VEGETABLES))
def test_ars_vegetable_list(row):
    crop = catalogue().crops[row[0]]
    assert (crop.threshold, crop.slope, crop.rating) == (float(row[1]), float(row[2]), row[3])


@pytest.mark.parametrize("row", rows(ARS_RATED))
def test_ars_list_of_rated_crops(row):
    crop = catalogue().crops[row[0]]
    assert isnan(crop.threshold)
    assert (crop.rating, crop.rating_estimated) == (row[1], row[2] == "yes")


@pytest.mark.parametrize("row", rows(FAO61_QUOTED) + rows(FAO61_REMEMBERED))
def test_fao_61_annex_1(row):
    crop = catalogue().crops[row[0]]
    assert (crop.threshold, crop.slope) == (float(row[1]), float(row[2]))


@pytest.mark.parametrize("row", rows(TRIALS))
def test_the_trial_behind_a_row(row):
    crop = catalogue().crops[row[0]]
    assert crop.threshold == float(row[1])
    assert crop.slope == pytest.approx(float(row[2]), abs=0.05)


def test_fennel_is_the_mean_of_its_two_cultivars():
    # Graifenberg et al. (1996), HortScience, abstract: threshold 1.51 and 1.47 dS/m, 15.7 and
    # 14.3 % per dS/m. FAO 61 prints 1.4 and 16 (from memory).
    fennel = catalogue().crops["fennel"]
    assert fennel.threshold == pytest.approx((1.51 + 1.47) / 2, abs=0.05)
    assert fennel.slope == pytest.approx((15.7 + 14.3) / 2)


def test_grapefruit_with_the_other_citrus_fruits():
    # Maas (1993), Tree Physiology, abstract: fruit yields of grapefruit, lemon and orange fall by
    # about 13 % for each dS/m above 1.4 dS/m. FAO 61 prints 1.2 and 13.5 (from memory).
    crops = catalogue().crops
    assert (crops["grapefruit"].threshold, crops["grapefruit"].slope) == (1.4, 13)
    for other in (crops["orange"], crops["lemon"]):
        assert other.threshold == pytest.approx(1.4, abs=0.11)
        assert other.slope == pytest.approx(13, abs=0.3)


def test_globe_artichoke_in_three_trials():
    # FAO 61 as remembered governs; Graifenberg et al. (1993) in pots and Cantore et al. (2004) in
    # the field, abstracts read, found less: 4.8 dS/m and 10.7 %, 3.9 dS/m and 8.5 %.
    artichoke = catalogue().crops["artichoke_globe"]
    read = [(one.threshold, one.slope) for one in artichoke.second_figures if one.threshold > 0]
    assert read == [(4.8, 10.7), (3.9, 8.5)]


def test_guayule_yields_less_rubber_before_it_grows_less():
    # Maas, Donovan & Francois (1988), abstract: rubber 7.8 dS/m and 10.8 %.
    second = [one for one in catalogue().crops["guayule"].second_figures if one.threshold > 0]
    assert [(one.threshold, one.slope) for one in second] == [(7.8, 10.8)]


@pytest.mark.independent
@pytest.mark.parametrize("row", rows(FAO29_TABLE_4))
def test_fao_29_table_4_yield_columns(row):
    crop = catalogue().crops[row[0]]
    for wanted, text in zip((100, 90, 75, 50, 0), row[1:], strict=True):
        value, tolerance = printed(text)
        ec = ec_at_yield(wanted, crop.threshold, crop.slope)
        assert ec == pytest.approx(value, abs=tolerance), (row[0], wanted)


@pytest.mark.parametrize("row", rows(FAO29_TABLE_4_REPLACED))
def test_fao_29_table_4_figures_since_replaced_are_kept_as_second_figures(row):
    crop = catalogue().crops[row[0]]
    assert crop.threshold != float(row[1])
    older = next(second for second in crop.second_figures if second.threshold == float(row[1]))
    for wanted, text in zip((100, 90, 75, 50, 0), row[1:], strict=True):
        value, tolerance = printed(text)
        ec = ec_at_yield(wanted, older.threshold, older.slope)
        assert ec == pytest.approx(value, abs=tolerance), (row[0], wanted)


def test_two_rows_of_fao_29_table_4_that_do_not_fit_one_line():
    # Both from memory, so the memory may be at fault. Broad bean: the first column is 1.5, the
    # others belong to 1.6 and 9.6, the figures of FAO 61. Tall fescue: 5.5, 7.8, 12 and 20 lie
    # on no single line from 3.9; FAO 61 and the USDA-ARS list have 5.3 % per dS/m, which gives
    # higher columns throughout.
    bean, fescue = (catalogue().crops[crop_id] for crop_id in ("broad_bean", "fescue_tall"))
    columns = ec_at_yield([90, 75, 50, 0], bean.threshold, bean.slope)
    assert columns == pytest.approx([2.6, 4.2, 6.8, 12], abs=0.06)
    assert (ec_at_yield([90, 75, 50, 0], fescue.threshold, fescue.slope) > [5.5, 7.8, 12, 20]).all()


@pytest.mark.independent
@pytest.mark.parametrize("row", rows(TEXTBOOK_TABLE_5_8))
def test_textbook_yield_loss_columns(row):
    crop = catalogue().crops[row[0]]
    for wanted, text in zip((100, 90, 75, 50), row[1:], strict=True):
        value, tolerance = printed(text)
        ec = ec_at_yield(wanted, crop.threshold, crop.slope)
        assert ec == pytest.approx(value, abs=tolerance), (row[0], wanted)


@pytest.mark.independent
@pytest.mark.parametrize("row", rows(FORAGE_YIELDS))
def test_forage_yields_at_whole_ec(row):
    crop = catalogue().crops[row[0]]
    response = relative_yield(np.arange(1, 7), crop.threshold, crop.slope)
    for percent, text in zip(response, row[1:], strict=True):
        low, _, high = text.partition("-")
        assert float(low) - 1 <= percent <= float(high or low) + 1, (row[0], text)


@pytest.mark.independent
def test_published_worked_yields():
    # Maas and Hoffman (1977), repeated in Maas (1990) (from memory): alfalfa, 7.3 % per dS/m
    # above 2.0 dS/m, yields about 75 % at 5.4 dS/m.
    alfalfa = catalogue().crops["alfalfa"]
    assert relative_yield(5.4, alfalfa.threshold, alfalfa.slope) == pytest.approx(75, abs=0.5)
    # USDA NRCS Arizona (2011), after FAO 29 Table 4 (read): cotton loses nothing to speak of at
    # 7.8 dS/m and about a tenth at 10 dS/m, reading the nearest column.
    cotton = catalogue().crops["cotton"]
    assert relative_yield(7.8, cotton.threshold, cotton.slope) == pytest.approx(100, abs=1)
    assert relative_yield(10, cotton.threshold, cotton.slope) == pytest.approx(90, abs=3)
    # Lecture on ASCE Manual 71, San Diego State University CIVE 633 (read): threshold 4 dS/m,
    # 20 % per dS/m.
    response = relative_yield([4, 5, 6, 7, 8, 9], 4, 20)
    assert response == pytest.approx([100, 80, 60, 40, 20, 0])
    # Hoffman et al. (1989), abstract (read): plum, Y = 100 - 31 (ECe - 2.6).
    plum = catalogue().crops["plum"]
    assert relative_yield(4.0, plum.threshold, plum.slope) == pytest.approx(100 - 31 * 1.4)


@pytest.mark.parametrize("row", rows(EMERGENCE))
def test_emergence_half_values(row):
    crop = catalogue().crops[row[0]]
    found = crop.emergence
    assert (found.ec50_emergence_low, found.ec50_emergence_high, found.ec50_yield) == tuple(
        float(text) for text in row[1:]
    )
    if not isnan(crop.threshold) and crop.id not in HALF_YIELD_OF_OTHER_FIGURES:
        half, tolerance = printed(row[3])
        assert ec_at_yield(50, crop.threshold, crop.slope) == pytest.approx(half, abs=tolerance)


@pytest.mark.parametrize("row", rows(BORON) + rows(BORON_OF_A_TRIAL) + rows(BORON_REMEMBERED))
def test_boron_limits(row):
    low, high, slope = (float("nan" if text == "-" else text) for text in row[1:])
    limits = catalogue().crops[row[0]].boron
    assert any(
        np.array_equal(
            (limit.threshold_low, limit.threshold_high, limit.slope),
            (low, low if high == low else high, slope),
            equal_nan=True,
        )
        for limit in limits
    )


def test_two_beans_have_two_boron_limits():
    # The USDA-ARS list prints kidney bean 0.75-1.0 and snap bean 1.0 with 12 % per mg/L (read).
    found = {limit.variety: limit for limit in catalogue().crops["bean"].boron}
    assert (found["kidney"].threshold_low, found["kidney"].threshold_high) == (0.75, 1.0)
    assert (found["snap"].threshold_low, found["snap"].slope) == (1.0, 12)


@pytest.mark.parametrize("row", rows(CHLORIDE))
def test_chloride_limits(row):
    # The limits are worked out from the salt limits; the remembered list must be no further off
    # than the step of 5 mmol/L to which it rounds. Sorghum and cowpea are 5 mmol/L lower.
    crop = catalogue().crops[row[0]]
    (limit,) = crop.chloride
    assert limit.threshold == pytest.approx(float(row[1]), abs=5)
    assert limit.slope == pytest.approx(float(row[2]), abs=0.05)


def test_crop_notes_of_the_ars_list():
    # Footnotes (read): red beet should not meet more than 3 dS/m at germination and emergence;
    # some cereals not more than 4 or 5 dS/m as seedlings (that these are barley and wheat is
    # from memory).
    caps = {
        (cap.stage, cap.ec_low, cap.ec_high) for cap in catalogue().crops["beet_red"].stage_limits
    }
    assert caps == {("germination", 3.0, 3.0)}
    for crop_id in ("barley", "wheat"):
        (cap,) = catalogue().crops[crop_id].stage_limits
        assert (cap.stage, cap.ec_low, cap.ec_high) == ("seedling", 4.0, 5.0)


def test_every_threshold_that_was_read_stands_in_a_table_here():
    beside = Path(__file__).with_name("test_tolerance_curves.py")
    written = set(re.findall(r"\w+", Path(__file__).read_text("utf-8") + beside.read_text("utf-8")))
    read = [
        crop.id
        for crop in catalogue().crops.values()
        if not isnan(crop.threshold) and crop.provenance in ("seen", "seen_in_copy")
    ]
    assert len(read) > 80
    assert set(read) <= written
