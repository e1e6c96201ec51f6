import pytest

from saltcalc.service.app import create_app
from saltcalc.service.config import read_settings

HEADER = "id,name,group,threshold,slope,rating,source,provenance\n"


@pytest.fixture
def get(client):
    def fetch(path, **query):
        response = client.get(path, query_string=query)
        assert response.status_code == 200, response.json
        return response.json

    return fetch


@pytest.fixture
def local_table(tmp_path):
    table = tmp_path / "ours.csv"
    table.write_text(HEADER + "sea_kale,Sea kale,vegetable,5.5,6,T,Trial on our own beds,seen\n")
    return table


def test_all_crops_are_listed_with_source_and_provenance(get):
    crops = get("/v1/crops")
    assert sum(crop["threshold"] is not None for crop in crops) >= 90
    assert all(crop["source"] and crop["provenance"] for crop in crops)


@pytest.mark.parametrize(
    ("query", "expected"),
    [
        ({"name": "beetroot"}, {"beet_red"}),
        ({"name": "Phaseolus vulgaris"}, {"bean"}),
        ({"name": "courgette"}, {"squash_zucchini"}),
        ({"name": "barley"}, {"barley", "barley_forage"}),
        ({"group": "herb", "rating": "MT"}, {"rosemary"}),
    ],
)
def test_filters(get, query, expected):
    found = get("/v1/crops", **query)
    assert {crop["id"] for crop in found} == expected
    assert not any(crop["near_match"] for crop in found)


def test_filters_go_together(get):
    found = get("/v1/crops", group="vegetable", rating="T")
    assert {crop["id"] for crop in found} == {"asparagus", "swiss_chard"}
    assert get("/v1/crops", name="bean", group="fruit") == []


def test_a_misspelt_name_brings_near_matches(get):
    found = get("/v1/crops", name="lettuse")
    assert "lettuce" in {crop["id"] for crop in found}
    assert all(crop["near_match"] for crop in found)
    assert get("/v1/crops", name="zzzzqqqq") == []


@pytest.mark.parametrize("query", [{"group": "weeds"}, {"rating": "X"}, {"nmae": "bean"}])
def test_a_bad_filter_is_refused(client, query):
    response = client.get("/v1/crops", query_string=query)
    assert response.status_code == 422
    assert response.mimetype == "application/problem+json"
    assert response.json["errors"][0]["pointer"] == f"/{next(iter(query))}"


def test_one_crop_comes_with_all_that_is_published_and_its_sources(get):
    bean = get("/v1/crops/bean")
    assert bean["threshold"] == {"value": 1.0, "unit": "dS/m"}
    # FAO 29, Table 4, bean: 1.0, 1.5, 2.3, 3.6, 6.3 dS/m.
    yields = [row["ec_saturated_extract"]["value"] for row in bean["yields"]]
    assert yields == pytest.approx([1.0, 1.5, 2.3, 3.6, 6.3], abs=0.06)
    assert bean["emergence_response"]["half_emergence"]["value"] == 8.0
    assert {row["variety"] for row in bean["boron"]} == {"kidney", "snap"}
    assert bean["chloride"][0]["slope"] == {"value": 1.9, "unit": "%/(mmol/L)"}
    named = [bean, bean["emergence_response"], *bean["boron"], *bean["chloride"]]
    assert {row["source"] for row in named} <= set(bean["sources"])


def test_a_crop_is_found_by_any_of_its_names(get):
    assert get("/v1/crops/French%20bean")["id"] == "bean"


def test_every_crop_can_be_shown(get):
    for crop in get("/v1/crops"):
        assert get(f"/v1/crops/{crop['id']}")["sources"]


def test_an_unknown_crop_is_a_404_with_near_matches(client):
    response = client.get("/v1/crops/wild lettuce")
    assert response.status_code == 404
    assert response.mimetype == "application/problem+json"
    assert "lettuce" in response.json["detail"]
    detail = client.get("/v1/crops/Allium cepa").json["detail"]
    assert detail.startswith("No single crop is named 'Allium cepa'. 'Allium cepa' may mean Onion")


def test_a_local_crop_leaves_a_published_one_its_names(tmp_path):
    table = tmp_path / "ours.csv"
    table.write_text(
        "id,name,botanical,group,source,provenance\n"
        "our_lettuce,Our lettuce,Lactuca sativa,vegetable,Own trial,seen\n"
    )
    client = create_app(read_settings({"SALTCALC_LOCAL_CROPS": str(table)})).test_client()
    assert client.get("/v1/crops/Lactuca sativa").json["id"] == "lettuce"
    assert client.get("/v1/crops/our_lettuce").json["local"] is True


def test_local_crops_join_and_are_marked_in_answers(local_table):
    client = create_app(read_settings({"SALTCALC_LOCAL_CROPS": str(local_table)})).test_client()
    assert client.get("/v1/crops/sea_kale").json["local"] is True
    request = {
        "medium": {"ec": 7.0, "extraction": "saturated_media_extract"},
        "crops": [{"crop": "Sea kale", "stage": "established"}, {"crop": "bean"}],
        "water": {"ec": 0.8},
    }
    response = client.post("/v1/assessments", json=request)
    assert response.status_code == 200, response.json
    kale, bean = response.json["crops"]
    assert (kale["local"], bean.get("local")) == (True, None)
    assert kale["relative_yield"]["value"] == pytest.approx(100 - 6 * 1.5, rel=5e-5)
    source = response.json["sources"]["local_sea_kale"]
    assert (source["citation"], source["kind"]) == ("Trial on our own beds", "local")
    assert "local_sea_kale" in {each["key"] for each in client.get("/v1/sources").json}


def test_a_faulty_local_table_stops_the_start_with_line_and_column(tmp_path):
    table = tmp_path / "ours.csv"
    table.write_text(HEADER + "sea_kale,Sea kale,vegetable,salty,6,T,ours,seen\n")
    with pytest.raises(
        ValueError, match=r"SALTCALC_LOCAL_CROPS: ours\.csv, line 2, column threshold: not a number"
    ):
        read_settings({"SALTCALC_LOCAL_CROPS": str(table)})


def test_a_missing_local_table_stops_the_start(tmp_path):
    with pytest.raises(ValueError, match=r"SALTCALC_LOCAL_CROPS: .* cannot be read"):
        read_settings({"SALTCALC_LOCAL_CROPS": str(tmp_path / "none.csv")})


def test_a_local_table_of_another_kind_stops_the_start(tmp_path):
    table = tmp_path / "ours.csv"
    table.write_bytes(b"\xff\xfe\x00 no table")
    with pytest.raises(ValueError, match="SALTCALC_LOCAL_CROPS"):
        read_settings({"SALTCALC_LOCAL_CROPS": str(table)})


def test_ranges_by_stage_are_listed_with_their_sources(get):
    limits = get("/v1/stage-limits")
    assert {f"plug_{stage}" for stage in (1, 2, 3, 4)} <= {limit["stage"] for limit in limits}
    known = {source["key"] for source in get("/v1/sources")}
    assert all(limit["source"] in known and limit["provenance"] for limit in limits)
