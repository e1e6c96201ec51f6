"""A laboratory's or region's own ranges govern in place of the published ones."""

import pytest

from saltcalc.cli import _TEMPLATES
from saltcalc.service.app import create_app
from saltcalc.service.config import read_settings

HEADER = "method,nutrient,low,high,source,provenance\n"
REQUEST = {
    "medium": {
        "extraction": "saturated_media_extract",
        "ec": 1.6,
        "ph": 6.9,
        "ions": {"potassium": 50, "nitrate_n": 60, "ammonium_n": 15},
    },
    "crops": [{"crop": "tomato", "stage": "established"}],
}


@pytest.fixture
def asking(tmp_path):
    """Return a client of a service with own ranges."""

    def make(rows):
        table = tmp_path / "ranges.csv"
        table.write_text(HEADER + rows)
        return create_app(read_settings({"SALTCALC_LOCAL_RANGES": str(table)})).test_client()

    return make


def elements(client, request=REQUEST):
    answer = client.post("/v1/assessments", json=request).json
    return answer, {each["nutrient"]: each for each in answer["nutrients"]["elements"]}


def test_an_own_range_governs_and_the_published_one_stands_beside_it(asking, client):
    _, before = elements(client)
    # The published range begins at 60 (Warncke 1998).
    assert before["potassium"]["status"] == "low"
    own = asking("saturated_media_extract,potassium,30,90,Our guide 2024,own_trial\n")
    answer, found = elements(own)
    potassium = found["potassium"]
    assert potassium["status"] == "in_range"
    assert (potassium["range"]["low"], potassium["range"]["high"]) == (30, 90)
    assert potassium["range_of"] == "Range of your own table: Our guide 2024"
    assert potassium["provenance"] == "own_trial"
    key = potassium["sources"][0]
    assert answer["sources"][key]["citation"] == "Our guide 2024"
    assert answer["sources"][key]["kind"] == "local"
    assert "low" in {each["status"] for each in potassium["other_ranges"]}
    assert found["nitrate_n"] == before["nitrate_n"]


def test_an_own_range_is_for_its_method_alone(asking, client):
    own = asking("one_to_two,potassium,30,90,Our guide,seen\n")
    assert elements(own)[1] == elements(client)[1]


def test_verdicts_on_crops_go_by_own_ranges_too(asking, client):
    request = REQUEST | {"crops": [{"crop": "barley", "stage": "established"}]}
    before = elements(client, request)[0]["crops"][0]
    assert (before["verdict"], before["governing_limit"]) == ("caution", "ammonium")
    own = asking(
        "saturated_media_extract,ph,5.5,7.2,Our guide,seen\n"
        "saturated_media_extract,ammonium_n,,20,Our guide,seen\n"
    )
    answer, found = elements(own, request)
    assert answer["crops"][0]["verdict"] == "tolerant"
    assert found["ph"]["status"] == found["ammonium_n"]["status"] == "in_range"


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("one_to_two,potassium,many,90,ours,seen", "low: Not a valid number"),
        ("one_to_two,potassium,90,30,ours,seen", "low: the low end lies above the high end"),
        ("one_to_two,potassium,,,ours,seen", "low: neither end"),
        ("one_to_two,gold,30,90,ours,seen", "nutrient"),
        ("one_to_nine,potassium,30,90,ours,seen", "method"),
        ("one_to_two,potassium,30,90,ours,dreamt", "provenance"),
    ],
)
def test_a_faulty_table_is_refused_by_row_and_column(asking, row, column):
    expected = rf"SALTCALC_LOCAL_RANGES: ranges\.csv, line 3, column {column}"
    with pytest.raises(ValueError, match=expected):
        asking("one_to_two,magnesium,10,30,ours,seen\n" + row + "\n")


def test_a_range_that_stands_twice_is_refused(asking):
    row = "one_to_two,potassium,30,90,ours,seen\n"
    with pytest.raises(ValueError, match=r"line 3, column nutrient: .* already"):
        asking(row + row)


def test_the_template_is_taken(tmp_path):
    table = tmp_path / "ranges.csv"
    table.write_bytes((_TEMPLATES / "ranges.csv").read_bytes())
    assert read_settings({"SALTCALC_LOCAL_RANGES": str(table)}).local_ranges == table
