"""Limits for container media against their published tables, written out apart from the CSV."""

import pytest

from saltcalc.data.stage_limits import medium_limits, stage_limits

# University of Massachusetts Extension, greenhouse media soil-test fact sheet, Table 2 (read):
# top of the range for seedlings and salt-sensitive crops, top of the normal range of established
# plants, and where most crops are injured [dS/m].
UMASS_TABLE_2 = [
    ("one_to_two", 0.8, 1.3, 2.3),
    ("saturated_media_extract", 2.0, 3.5, 6.0),
    ("pour_through", 2.6, 4.6, 7.8),
]

# Styer & Koranski (1997), 1:2 extract by plug stage (from memory) [dS/m].
PLUG_STAGES = [(1, 0.5, 0.75), (2, 0.5, 0.75), (3, 0.75, 1.0), (4, 0.5, 0.75)]


@pytest.mark.parametrize(("method", "young", "established", "injures"), UMASS_TABLE_2)
def test_umass_table_2(method, young, established, injures):
    for stage in ("germination", "seedling"):
        assert medium_limits(method, stage).suits == young
    assert medium_limits(method, "established").suits == established
    assert medium_limits(method, "established").injures == injures


@pytest.mark.parametrize(("stage", "low", "high"), PLUG_STAGES)
def test_plug_stages_on_the_one_to_two_extract(stage, low, high):
    (found,) = (
        limit
        for limit in stage_limits()
        if (limit.stage, limit.extraction) == (f"plug_{stage}", "one_to_two")
    )
    assert (found.ec_low, found.ec_high, found.provenance) == (low, high, "memory")


def test_plug_squeeze_ranges():
    # Training page on the plug squeeze method (read): moderate from 1.0 to 2.7 dS/m, high above.
    (suits,) = (
        limit for limit in stage_limits() if (limit.extraction, limit.kind) == ("press", "suits")
    )
    assert (suits.ec_low, suits.ec_high) == (1.0, 2.7)


def test_what_suits_begins_where_the_class_below_ends():
    # Univ. of Massachusetts Extension, Table 2: "low" suits seedlings, "normal" established plants;
    # it begins where the class below it ends [dS/m].
    begins = {
        "one_to_two": {"germination": 0.3, "seedling": 0.3, "established": 0.8},
        "saturated_media_extract": {"germination": 0.8, "seedling": 0.8, "established": 2.0},
        "pour_through": {"germination": 1.0, "seedling": 1.0, "established": 2.6},
    }
    found = {
        (limit.extraction, limit.stage): limit.ec_low
        for limit in stage_limits()
        if (limit.plants, limit.kind) == ("general", "suits")
    }
    assert found == {
        (method, stage): low for method, stages in begins.items() for stage, low in stages.items()
    }
