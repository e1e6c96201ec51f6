from math import isnan

import pytest

from saltcalc.data.crop_lookup import find
from saltcalc.data.crops import GROUPS, catalogue
from saltcalc.data.sources import bibliography
from saltcalc.data.stage_limits import medium_limits, stage_limits
from saltcalc.data.tables import TableError
from tests.sentences import sentences

LOCAL = "id,name,group,threshold,slope,rating,source,provenance\n"


def test_at_least_ninety_crops_have_figures_and_every_source_is_known():
    crops = catalogue().crops.values()
    assert sum(not isnan(crop.threshold) for crop in crops) >= 90
    assert all(key in bibliography() for crop in crops for key in crop.source_keys)
    assert {crop.group for crop in crops} == set(GROUPS)


def test_every_crop_has_a_rating_or_a_boron_limit_or_says_that_nothing_is_published():
    for crop in catalogue().crops.values():
        note = sentences().get(f"crops.note.{crop.note_id}", "")
        unpublished = crop.provenance == "common_practice" and "no published" in note
        assert crop.rating or crop.boron or unpublished, crop.id


def test_selection_by_part_of_a_name_group_and_rating():
    assert {crop.id for crop in catalogue().select(name="beet")} >= {"beet_red", "sugar_beet"}
    sensitive = catalogue().select(group="vegetable", rating="S")
    assert {"bean", "carrot", "onion"} <= {crop.id for crop in sensitive}
    assert all((crop.group, crop.rating) == ("vegetable", "S") for crop in sensitive)
    assert catalogue().select(name="no such crop") == []


def test_a_local_crop_joins_the_catalogue_and_is_marked(tmp_path):
    table = tmp_path / "ours.csv"
    table.write_text(LOCAL + "sea_kale,Sea kale,vegetable,5.5,6,T,Trial on our own beds,seen\n")
    crop = catalogue(table).crops["sea_kale"]
    assert (crop.local, crop.threshold, crop.slope) == (True, 5.5, 6.0)
    assert crop.local_source.citation == "Trial on our own beds"
    assert crop.source == crop.local_source.key
    assert not catalogue(table).crops["bean"].local
    assert "sea_kale" not in catalogue().crops


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("sea_kale,Sea kale,vegetable,salty,6,T,ours,seen", "threshold"),
        ("sea_kale,Sea kale,vegetable,-1,6,T,ours,seen", "threshold"),
        ("sea_kale,Sea kale,vegetable,5,,T,ours,seen", "slope"),
        ("sea_kale,Sea kale,vegetable,5,0,T,ours,seen", "slope"),
        ("sea_kale,Sea kale,weeds,5,6,T,ours,seen", "group"),
        ("sea_kale,Sea kale,vegetable,5,6,XX,ours,seen", "rating"),
        ("bean,Our bean,vegetable,5,6,T,ours,seen", "id"),
        ("sea_kale,Sea kale,vegetable,nan,6,T,ours,seen", "threshold"),
    ],
)
def test_a_faulty_local_crop_names_line_and_column(tmp_path, row, column):
    table = tmp_path / "ours.csv"
    table.write_text(LOCAL + row + "\n")
    with pytest.raises(TableError, match=rf"ours\.csv, line 2, column {column}: \w"):
        catalogue(table)


def test_an_empty_flag_of_a_local_crop_is_false(tmp_path):
    table = tmp_path / "ours.csv"
    table.write_text(
        "id,name,group,woody,rating,rating_estimated,source,provenance\n"
        "sea_kale,Sea kale,vegetable,,T,,ours,seen\n"
    )
    crop = catalogue(table).crops["sea_kale"]
    assert (crop.woody, crop.rating_estimated) == (False, False)


def test_a_cell_that_is_no_number_is_told_in_words(tmp_path):
    table = tmp_path / "ours.csv"
    table.write_text(LOCAL + "sea_kale,Sea kale,vegetable,salty,6,T,ours,seen\n")
    with pytest.raises(TableError, match=r"^ours\.csv, line 2, column threshold: not a number$"):
        catalogue(table)


def test_a_local_crop_may_not_take_the_name_of_another(tmp_path):
    table = tmp_path / "ours.csv"
    table.write_text(LOCAL + "our_beet,Beetroot,vegetable,5,6,T,ours,seen\n")
    with pytest.raises(TableError, match="'Beetroot' names both 'beet_red' and 'our_beet'"):
        catalogue(table)


def test_a_table_is_read_as_a_spreadsheet_saves_it(tmp_path):
    table = tmp_path / "ours.csv"
    rows = (
        "id;name;group;threshold;slope;provenance\r\n"
        "sea_kale;Möhre am Strand;vegetable;5,5;6;own_trial\r\n;;;;;\r\n"
    )
    for sent in (rows.encode("utf-8-sig"), rows.encode("cp1252")):
        table.write_bytes(sent)
        catalogue.cache_clear()
        crop = catalogue(table).crops["sea_kale"]
        assert (crop.threshold, crop.provenance) == (5.5, "own_trial")
        assert crop.name == "Möhre am Strand"


def test_a_row_of_too_many_cells_is_told(tmp_path):
    table = tmp_path / "ours.csv"
    table.write_text(LOCAL + "sea_kale,Sea kale,vegetable,5,5,6,T,ours,seen\n")
    with pytest.raises(TableError, match="line 2: 9 cells, where the header has 8"):
        catalogue(table)


BOTANICAL = "id,name,botanical,group,source,provenance\n"


@pytest.mark.parametrize(
    ("row", "name", "crop_id"),
    [
        ("our_lettuce,Our lettuce,Lactuca sativa", "Lactuca sativa", "lettuce"),
        ("our_lettuce,Our lettuce,Lactuca sativa", "lettuce", "lettuce"),
        ("our_lettuce,Our lettuce,Lactuca sativa", "Our Lettuce", "our_lettuce"),
        ("our_lettuce,Lactuca sativa,", "lactuca sativa", "lettuce"),
        ("lactuca_sativa,Our lettuce,", "Lactuca sativa", "lettuce"),
        ("lactuca_sativa,Our lettuce,", "lactuca_sativa", "lactuca_sativa"),
        ("sea_kale,Sea kale,Crambe maritima", "Crambe maritima", "sea_kale"),
        ("our_melon,Our melon,Cucumis melo", "Cucumis melo", "muskmelon"),
    ],
)
def test_a_local_crop_never_hides_a_published_one(tmp_path, row, name, crop_id):
    table = tmp_path / "ours.csv"
    table.write_text(f"{BOTANICAL}{row},vegetable,ours,seen\n")
    assert find(name, own=catalogue(table).local).crop == crop_id


@pytest.mark.parametrize(
    ("rows", "name", "crop_ids"),
    [
        ([], "Allium cepa", {"onion", "onion_seed", "shallot"}),
        ([], "Beta vulgaris", {"sugar_beet", "beet_red", "swiss_chard"}),
        (
            [],
            "Brassica oleracea",
            {"broccoli", "brussels_sprouts", "cabbage", "cauliflower", "kale", "kohlrabi"},
        ),
        (
            ["our_onion,Our onion,Allium cepa"],
            "Allium cepa",
            {"onion", "onion_seed", "shallot"},
        ),
        (
            ["sea_kale,Sea kale,Crambe maritima", "shore_kale,Shore kale,Crambe maritima"],
            "Crambe maritima",
            {"sea_kale", "shore_kale"},
        ),
    ],
)
def test_every_crop_of_one_name_is_named(tmp_path, rows, name, crop_ids):
    table = tmp_path / "ours.csv"
    table.write_text(BOTANICAL + "".join(f"{row},vegetable,ours,seen\n" for row in rows))
    assert set(find(name, own=catalogue(table).local).crops) == crop_ids


def test_stage_limits_cover_plug_stages_and_every_source_is_known():
    stages = {limit.stage for limit in stage_limits()}
    assert {"plug_1", "plug_2", "plug_3", "plug_4", "seedling", "established"} <= stages
    assert all(limit.source in bibliography() for limit in stage_limits())


def test_medium_limits_are_wider_for_established_plants_and_missing_where_unpublished():
    for extraction in ("one_to_two", "saturated_media_extract", "pour_through"):
        young, old = (medium_limits(extraction, stage) for stage in ("seedling", "established"))
        assert young.suits < old.suits < old.injures == young.injures
    assert isnan(medium_limits("pore_water_sensor", "seedling").suits)
