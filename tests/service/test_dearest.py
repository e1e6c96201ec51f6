"""The dearest requests that a search found (``python -m benchmarks.dearest``) stay cheap."""

import pytest

from benchmarks.dearest import MOST_MEGABYTES, MOST_SECONDS, cost, dearest, endpoints, served


@pytest.mark.parametrize("found", dearest(), ids=lambda each: each["path"].partition("?")[0])
def test_the_dearest_request_found_is_within_its_bounds(found):
    client = served()
    client.get("/readyz")
    response, seconds, megabytes = cost(lambda: client.post(found["path"], json=found["request"]))
    assert response.status_code == 200
    assert seconds < MOST_SECONDS
    assert megabytes < MOST_MEGABYTES


def test_every_endpoint_was_searched():
    searched = {each["path"].partition("?")[0] for each in dearest()}
    assert searched == set(endpoints(served()))
