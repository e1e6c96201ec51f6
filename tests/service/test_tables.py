"""The tables over HTTP: filtered, and kept by clients until they change."""

import pytest

from tests.conftest import fits_the_contract


@pytest.mark.parametrize(
    "path",
    [
        "/v1/crops",
        "/v1/stage-limits",
        "/v1/substrates",
        "/v1/extraction-methods",
        "/v1/observations",
        "/v1/sources",
    ],
)
def test_a_table_fits_the_contract(client, path):
    fits_the_contract(path, client.get(path).json, "get")


def test_stage_limits_are_filtered_by_stage_and_extraction(client):
    every = client.get("/v1/stage-limits").json
    some = client.get("/v1/stage-limits?stage=seedling&extraction=press").json
    assert some == [row for row in every if row["stage"] == "any" and row["extraction"] == "press"]
    assert some
    seedling = client.get("/v1/stage-limits?stage=seedling").json
    assert {row["stage"] for row in seedling} == {"seedling", "any"}


@pytest.mark.parametrize("query", ["stage=old", "extraction=teabag"])
def test_a_filter_that_is_not_known_is_refused(client, query):
    assert client.get(f"/v1/stage-limits?{query}").status_code == 422


def test_a_table_that_has_not_changed_is_not_sent_again(client):
    first = client.get("/v1/substrates")
    assert first.headers["Cache-Control"] == "no-cache"
    again = client.get("/v1/substrates", headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")
    assert "ETag" not in client.get("/healthz").headers


@pytest.mark.parametrize(
    "asked",
    [
        "/v1/crops?group=null",
        "/v1/crops?group=",
        "/v1/crops?rating=NaN",
        "/v1/crops?name=",
        "/v1/stage-limits?stage=n.d.",
    ],
)
def test_a_filter_without_a_value_is_refused_as_any_other_parameter_is(client, asked):
    found = client.get(asked)
    assert found.status_code == 422
    error = found.json["errors"][0]
    assert error["pointer"] == "/" + asked.partition("?")[2].partition("=")[0]
    assert error["accepted"]


@pytest.mark.parametrize("name", ["🥬", "-", "%00", "生菜"])
def test_a_name_that_no_table_can_hold_finds_no_crop(client, name):
    found = client.get(f"/v1/crops?name={name}")
    assert (found.status_code, found.json) == (200, [])
