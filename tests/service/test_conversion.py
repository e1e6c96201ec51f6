import jsonschema
import pytest

from saltcalc.data.extraction import method_codes
from tests.service.test_api_spec import schema_of

METHODS = tuple(method_codes())


def convert(post, **request):
    answer = post("/v1/conductivity/convert", request)
    jsonschema.validate(answer, schema_of("ConversionAnswer"))
    return answer


def test_published_pair_by_http(post):
    # Univ. of Massachusetts Extension, Table 2: 1.3 by 1:2 stands for 3.5 by SME.
    answer = convert(post, extraction="one_to_two", ec="1300 µS/cm", to="saturated_media_extract")
    assert answer["ec"]["value"] == pytest.approx(3.5, rel=5e-5)
    assert answer["ec"]["low"] < 3.5 < answer["ec"]["high"]
    assert "umass_media" in answer["sources"]


def test_published_conversions_stand_side_by_side(post):
    answer = convert(post, extraction="one_to_two", ec=1.1, to="pour_through")
    steps = {(row["method"], row["governing"]) for row in answer["conversions"]}
    assert steps == {
        ("one_to_two", True),
        ("one_to_two", False),
        ("pour_through", True),
        ("pour_through", False),
    }
    assert all(row["ec_on_basis"]["value"] > 0 for row in answer["conversions"])


@pytest.mark.parametrize("method", METHODS)
def test_same_method_is_exact(post, method):
    answer = convert(post, extraction=method, ec=2.3, to=method)
    assert answer["ec"] == {"value": 2.3, "unit": "dS/m"}
    assert answer["conversions"] == []


@pytest.mark.parametrize("to", METHODS)
def test_there_and_back(post, to):
    there = convert(post, extraction="one_to_two", ec=1.1, to=to)["ec"]["value"]
    back = convert(post, extraction=to, ec=there, to="one_to_two")["ec"]["value"]
    assert back == pytest.approx(1.1, rel=5e-5)


def test_both_corrections_to_25_degrees_are_shown(post):
    answer = convert(post, extraction="press", ec=1.2, temperature="15 °C", to="press")
    # Handbook 60, Table 15: 1.247; linear, 1.91 %: 1 / (1 - 0.191).
    assert answer["ec_25c"]["value"] == pytest.approx(1.2 * 1.247, rel=0.003)
    assert answer["ec_25c_linear"]["value"] == pytest.approx(1.2 / 0.809, rel=5e-5)


def test_the_medium_decides_which_conversions_apply(post):
    request = {"extraction": "one_to_five", "ec": 0.5, "to": "saturated_paste"}
    peat = convert(post, **request, substrate="sphagnum_peat")
    loam = convert(post, **request, substrate="loam")
    assert (peat["medium_kind"], loam["medium_kind"]) == ("soilless", "loam")
    # Slavich & Petterson (1993), loam, from memory: 9.5.
    assert loam["ec"]["value"] == pytest.approx(0.5 * 9.5, rel=5e-5)
    assert peat["ec"]["value"] < loam["ec"]["value"]


@pytest.mark.parametrize(("temperature", "doubted"), [(0, True), (45, True), (20, False)])
def test_a_reading_too_cold_or_hot_is_doubted_as_in_an_assessment(post, temperature, doubted):
    reading = {"extraction": "press", "ec": 1.2, "temperature": temperature}
    converted = convert(post, **reading, to="one_to_two")["warnings"]
    assessed = post("/v1/assessments", {"medium": reading})["warnings"]
    for warnings, field in ((converted, "/temperature"), (assessed, "/medium/temperature")):
        found = [each["field"] for each in warnings if each["id"] == "reading_too_cold_or_hot"]
        assert found == ([field] if doubted else [])


def test_sensor_at_a_known_water_content(post):
    request = {
        "extraction": "pore_water_sensor",
        "ec": 4,
        "to": "press",
        "container_capacity": 0.6,
        "total_porosity": 0.9,
    }
    assert convert(post, **request)["ec"]["value"] == pytest.approx(4.0, rel=5e-5)
    assert convert(post, **request, water_content=0.3)["ec"]["value"] == pytest.approx(
        2.0, rel=5e-5
    )


def test_assumptions_point_at_the_fields_of_this_request(post):
    answer = convert(post, extraction="press", ec=2, to="one_to_two")
    fields = {row["field"] for row in answer["assumptions"]}
    assert fields == {"/temperature", "/substrate", "/container_capacity"}


def test_more_water_than_pores_is_refused(refuse):
    problem = refuse(
        "/v1/conductivity/convert",
        {
            "extraction": "pore_water_sensor",
            "ec": 4,
            "to": "press",
            "total_porosity": 0.5,
            "water_content": 0.7,
        },
    )
    assert [error["pointer"] for error in problem["errors"]] == ["/water_content"]


def test_listing_gives_classes_and_conversions_with_sources(client):
    rows = {row["id"]: row for row in client.get("/v1/extraction-methods").json}
    assert tuple(rows) == METHODS
    assert rows["pore_water_sensor"]["classes"] == []
    schemes = {name: {each["scheme"] for each in row["classes"]} for name, row in rows.items()}
    assert schemes["one_to_two"] == {"greenhouse_six_class"}
    assert schemes["saturated_media_extract"] == {"greenhouse_six_class", "media_five_class"}
    for row in rows.values():
        assert row["conversions"]
        assert all(each["source"] for each in row["conversions"])


def test_a_converted_reading_may_belong_to_more_than_one_class(post):
    uncertain = post("/v1/assessments", {"medium": {"extraction": "pore_water_sensor", "ec": 3.0}})[
        "salinity"
    ]
    assert uncertain["class"] in uncertain["possible_classes"]
    assert len(uncertain["possible_classes"]) > 1
    own = post("/v1/assessments", {"medium": {"extraction": "one_to_two", "ec": 1.0}})["salinity"]
    assert "possible_classes" not in own
