"""Long answers are compressed for those who take gzip, and for them alone."""

import gzip
import json

import pytest

LONG, SHORT = "/v1/crops", "/healthz"


def test_a_long_answer_is_compressed(client):
    plain = client.get(LONG)
    packed = client.get(LONG, headers={"Accept-Encoding": "gzip, br, zstd"})
    assert packed.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(packed.data) == plain.data
    assert packed.content_length == len(packed.data) < len(plain.data) / 4


@pytest.mark.parametrize("accepted", ["", "identity", "br", "gzip;q=0", "*;q=0"])
def test_who_does_not_take_gzip_gets_none(client, accepted):
    answer = client.get(LONG, headers={"Accept-Encoding": accepted})
    assert "Content-Encoding" not in answer.headers
    assert answer.vary.as_set() == {"accept-encoding", "accept-language"}
    assert json.loads(answer.data)


def test_a_short_answer_stays(client):
    answer = client.get(SHORT, headers={"Accept-Encoding": "gzip"})
    assert "Content-Encoding" not in answer.headers


def test_a_computed_answer_is_compressed_and_a_long_problem_is_not_lost(client, demo_request):
    taken = {"Accept-Encoding": "gzip"}
    answer = client.post("/v1/assessments", json=demo_request, headers=taken)
    assert answer.headers["Content-Encoding"] == "gzip"
    assert answer.vary.as_set() == {"accept", "accept-encoding", "accept-language"}
    assert json.loads(gzip.decompress(answer.data))["salinity"]
    many = {"medium": {"ec": 1}, "crops": [{"crop": "Allium cepa"}] * 50}
    refused = client.post("/v1/assessments", json=many, headers=taken)
    data = refused.data
    if refused.headers.get("Content-Encoding") == "gzip":
        data = gzip.decompress(data)
    assert json.loads(data)["status"] == 422


@pytest.mark.parametrize("path", [LONG, "/openapi.json"])
@pytest.mark.parametrize("accepted", ["identity", "gzip"])
def test_what_is_kept_is_asked_for_once(client, path, accepted):
    headers = {"Accept-Encoding": accepted}
    first = client.get(path, headers=headers)
    again = client.get(path, headers=headers | {"If-None-Match": first.headers["ETag"]})
    assert again.status_code == 304
    assert again.data == b""


def test_the_two_forms_of_an_answer_are_told_apart(client):
    plain, packed = (
        client.get("/openapi.json", headers={"Accept-Encoding": accepted}).headers["ETag"]
        for accepted in ("identity", "gzip")
    )
    assert plain != packed
