"""Crop figures against their published tables, written out here apart from the project's CSVs."""

import pytest

from saltcalc.data.crops import catalogue

# USDA-ARS U.S. Salinity Laboratory, Riverside: relative salt tolerance of herbaceous crops, after
# Maas (1990), vegetable and fruit crops. Threshold [dS/m], slope [% per dS/m], rating.
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


@pytest.mark.parametrize("row", ARS_VEGETABLES.strip().splitlines())
def test_ars_vegetable_list(row):
    crop_id, threshold, slope, rating = row.split()
    crop = catalogue().crops[crop_id]
    assert (crop.threshold, crop.slope, crop.rating) == (float(threshold), float(slope), rating)
