"""The tables over HTTP: filtered, and kept by clients until they change."""

import pytest

from tests.conftest import CONTRACT, fits_the_contract


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
    ("asked", "without"),
    [
        ("/v1/crops?group=null", "/v1/crops"),
        ("/v1/crops?rating=NaN", "/v1/crops"),
        ("/v1/stage-limits?stage=n.d.", "/v1/stage-limits"),
    ],
)
def test_a_filter_that_says_that_there_is_none_chooses_nothing(client, asked, without):
    found = client.get(asked)
    assert found.status_code == 200
    assert found.get_json() == client.get(without).get_json()


def test_the_contract_tells_that_a_filter_may_say_that_there_is_none():
    told = [
        each["schema"]["anyOf"][-2:]
        for path in ("/v1/crops", "/v1/stage-limits")
        for each in CONTRACT["paths"][path]["get"]["parameters"]
    ]
    assert told == 5 * [[{"type": "string", "maxLength": 0}, {"type": "null"}]]
