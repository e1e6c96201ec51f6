import json
import math

import jsonschema
import pytest
from openapi_spec_validator import validate

from tests.conftest import ROOT

COMMITTED = json.loads((ROOT / "api_spec" / "openapi.json").read_text(encoding="utf-8"))
BODIES = {
    path: body
    for path, operations in COMMITTED["paths"].items()
    if "post" in operations
    for kind, body in operations["post"]["requestBody"]["content"].items()
    if kind == "application/json"
}
EXAMPLES = {path: body["example"] for path, body in BODIES.items()}


def test_the_committed_document_is_what_the_service_gives(client):
    assert client.get("/openapi.json").json == COMMITTED, "run `make api-spec`"


def test_the_document_is_valid_openapi():
    validate(COMMITTED)


def schema_of(name):
    return {"$ref": f"#/components/schemas/{name}", "components": COMMITTED["components"]}


def test_the_answer_fits_its_schema(post, demo_request):
    answer = post("/v1/assessments", demo_request)
    jsonschema.validate(answer, schema_of("Assessment"))


def test_a_problem_fits_its_schema(refuse):
    problem = refuse("/v1/assessments", {"medium": {"ec": -1}})
    jsonschema.validate(problem, schema_of("Problem"))


def test_every_member_is_described():
    said = {
        f"{name}.{member}": described.get("description", "")
        for name, schema in COMMITTED["components"]["schemas"].items()
        for member, described in schema.get("properties", {}).items()
    }
    assert len(said) > 1000
    assert not [where for where, text in said.items() if not text.strip()]


def test_the_page_of_the_interface_loads_nothing_from_outside(client):
    page = client.get("/docs/")
    assert page.status_code == 200
    text = page.get_data(as_text=True)
    assert "http://" not in text.replace("http://localhost", "")
    assert "https://" not in text


@pytest.mark.parametrize("path", ["/docs", "/docs/", "/docs/index.html"])
def test_the_page_is_served_without_a_detour_and_fits_a_phone(client, path):
    page = client.get(path)
    assert page.status_code == 200
    assert 'name="viewport"' in page.get_data(as_text=True)


def test_what_is_always_there_is_required_and_what_is_for_the_administrator_described():
    schemas = COMMITTED["components"]["schemas"]
    assert {"value", "unit"} == set(schemas["QuantityAnswer"]["required"])
    # The other parts are there where they were asked for.
    assert {"not_computed", "trace"} == set(schemas["Assessment"]["required"])
    assert {"class", "ec_25c", "sources"} <= set(schemas["Salinity"]["required"])
    assert {"/healthz", "/readyz", "/metrics"} <= set(COMMITTED["paths"])
    problem = COMMITTED["components"]["responses"]["DEFAULT_ERROR"]["content"]
    example = problem["application/problem+json"]["example"]
    jsonschema.validate(example, schema_of("Problem"))
    assert "PaginationMetadata" not in schemas


@pytest.mark.parametrize("asset", ["swagger-ui-bundle.js", "swagger-ui.css", "index.css"])
def test_the_assets_of_the_page_are_served_here(client, asset):
    with client.get(f"/docs/{asset}") as response:
        assert response.status_code == 200


def test_every_operation_has_a_name_of_its_own():
    names = [
        operation["operationId"]
        for path in COMMITTED["paths"].values()
        for operation in path.values()
        if "responses" in operation
    ]
    assert len(names) == len(set(names)) >= 10


@pytest.mark.parametrize("path", sorted(BODIES))
def test_every_request_has_an_example_that_fits_its_schema_and_is_answered(post, path):
    schema = BODIES[path]["schema"] | {"components": COMMITTED["components"]}
    jsonschema.validate(EXAMPLES[path], schema)
    post(path, EXAMPLES[path])


def fields(name):
    return COMMITTED["components"]["schemas"][name]["properties"]


def fits(schema, value):
    return jsonschema.Draft202012Validator(schema).is_valid(value)


NO_QUANTITY = [
    *("L", True, [], {}, {"unit": ""}, {"unit": "%"}, {"value": 1, "unit": ""}),
    *({"value": 1, "unit": " "}, {"value": 1, "unit": "L", "more": 1}, -1e9, 1e12, "1" * 101),
]


@pytest.mark.parametrize("value", NO_QUANTITY, ids=repr)
@pytest.mark.parametrize(
    ("schema", "name"),
    [
        ("Container", "volume"),
        ("Container", "count"),
        ("Container", "relative_water_content"),
        ("Medium", "ec"),
        ("Medium", "ph"),
        ("Medium", "container_capacity"),
        ("Ions", "sodium"),
    ],
)
def test_what_cannot_be_read_is_refused_by_the_schema_too(refuse, schema, name, value):
    assert not fits(fields(schema)[name], value)
    request = {"medium": {"ec": 1}, "containers": [{"volume": 1}]}
    given = {"Container": request["containers"][0], "Medium": request["medium"]}
    given.get(schema, request["medium"].setdefault("ions", {}))[name] = value
    refuse("/v1/assessments", request)


QUANTITIES = [
    *("1.8", "1,8", "< 0.5", "1.6-2.0", " 2300 µS/cm ", "1.8e3 uS/cm", "1.8dS/m", 1.8),
    *({"value": "1.8"}, {"value": 1.8, "unit": "dS/m"}),
]


@pytest.mark.parametrize("value", QUANTITIES, ids=repr)
def test_what_can_be_read_fits_the_schema(post, value):
    assert fits(fields("Medium")["ec"], value)
    post("/v1/assessments", {"medium": {"ec": value}})


@pytest.mark.parametrize("value", ["55 %", "0.55", " 55% ", {"value": 55, "unit": "%"}, 0.55])
def test_a_share_that_can_be_read_fits_the_schema(post, value):
    assert fits(fields("Medium")["container_capacity"], value)
    post("/v1/assessments", {"medium": {"ec": 1, "container_capacity": value}})


BLANK = {"type": "string", "maxLength": 0}
NONE = ("string", "null")
"""Types of the forms that tell of no value: an empty text, and null."""


def test_the_canonical_form_of_a_figure_stands_first():
    volume, count, moisture = (
        fields("Container")[name]["anyOf"] for name in ("volume", "count", "relative_water_content")
    )
    assert [form["type"] for form in volume] == ["object", "number", "string", *NONE]
    assert [form["type"] for form in count] == ["integer", "string", *NONE]
    assert [form["type"] for form in moisture] == ["number", "string", "object", *NONE]


def test_what_a_request_may_leave_to_be_meant_stands_after_its_own_form():
    water, crops = (fields("AssessmentRequest")[name]["anyOf"] for name in ("water", "crops"))
    assert [form.get("$ref", form.get("type")) for form in water] == [
        "#/components/schemas/Solution",
        ["number", "string"],
        *NONE,
    ]
    assert [form.get("$ref", form.get("type")) for form in crops] == [
        "array",
        "#/components/schemas/Planting",
        ["number", "string"],
        *NONE,
    ]
    needed = fields("FlushPlanRequest")["medium"]["anyOf"]
    assert BLANK not in needed
    assert {"type": "null"} not in needed


def test_what_is_left_out_may_be_told_as_blank_or_null(post):
    for name, field in fields("AssessmentRequest").items():
        if name != "medium":
            assert field["anyOf"][-2:] == [BLANK, {"type": "null"}], name
            post("/v1/assessments", {"medium": {"ec": 1}, name: ""})


@pytest.mark.parametrize("value", ["", None])
def test_the_figure_of_a_quantity_that_may_be_left_out_may_be_blank_too(client, value):
    none = {"value": value}
    asked = {"extraction": "press", "to": "pour_through"}
    for name, status in (("temperature", 200), ("ec", 422)):
        assert fits(fields("ConversionRequest")[name], none) is (status == 200), name
        sent = {"ec": 1.0, **asked, name: none}
        assert client.post("/v1/conductivity/convert", json=sent).status_code == status


@pytest.mark.parametrize(
    ("name", "most"), [("water_content", 0.98), ("temperature", 60.0), ("ec", 100.0)]
)
def test_a_number_is_held_to_its_bound_to_the_last_digit(client, name, most):
    asked = {"extraction": "press", "to": "pour_through", "ec": 1.0}
    for number, status in ((most, 200), (math.nextafter(most, 1e9), 422)):
        assert fits(fields("ConversionRequest")[name], number) is (status == 200)
        sent = asked | {name: number}
        assert client.post("/v1/conductivity/convert", json=sent).status_code == status


def test_no_request_takes_one_of_several_forms_at_once():
    assert "oneOf" not in json.dumps([body["schema"] for body in BODIES.values()])
    assert "oneOf" not in json.dumps(COMMITTED["components"]["schemas"])


@pytest.mark.parametrize(
    ("schema", "name"),
    [
        ("Medium", "extraction"),
        ("Medium", "substrate"),
        ("Medium", "slow_release"),
        ("Micronutrients", "extract"),
        ("Container", "drainage"),
        ("Planting", "stage"),
        ("ConversionRequest", "to"),
        ("RankingRequest", "group"),
        ("RankingRequest", "rating"),
        ("AssessmentRequest", "language"),
    ],
)
def test_a_closed_set_of_ids_is_listed(schema, name):
    declared = fields(schema)[name]
    assert declared.get("anyOf", [declared])[0]["enum"]


def test_the_ranking_is_no_crop(client):
    assert set(client.options("/v1/crops/ranking").allow) == {"OPTIONS", "POST"}
    assert client.get("/v1/crops/ranking").status_code == 405
    assert set(client.options("/v1/crops/lettuce").allow) == {"OPTIONS", "GET", "HEAD"}
    assert client.get("/v1/crops/rankings").status_code == 404


@pytest.mark.parametrize("query", ["group=herb&group=vegetable", "group=herb&group=herb"])
def test_a_query_parameter_is_given_once(client, query):
    refused = client.get(f"/v1/crops?{query}")
    assert refused.status_code == 422
    (fault,) = refused.json["errors"]
    assert fault["pointer"] == "/group"
