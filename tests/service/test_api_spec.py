import json

import jsonschema
import pytest
from openapi_spec_validator import validate

from tests.conftest import ROOT

COMMITTED = json.loads((ROOT / "api_spec" / "openapi.json").read_text(encoding="utf-8"))


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
    assert {"salinity", "warnings", "not_computed"} <= set(schemas["Assessment"]["required"])
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
