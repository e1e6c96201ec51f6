"""The dearest requests that a search found (``python -m benchmarks.dearest``) stay cheap.

The bound of seconds is for a machine that answers the README's request in 20 ms of CPU, which is
measured beside it: another machine, or a busy one, takes longer for both.
"""

import re
from functools import partial

import pytest

from benchmarks.dearest import (
    JSON,
    MOST_MEGABYTES,
    MOST_SECONDS,
    cost,
    dearest,
    name_of,
    post,
    served,
    targets,
)
from benchmarks.endpoints import README

README_SECONDS = 0.02


def most_seconds(client):
    """Return the bound on this machine as it is now."""
    send = partial(post, client, "/v1/assessments", README, JSON)
    took = sorted(cost(send)[1] for _ in range(5))[2]
    return MOST_SECONDS * max(took / README_SECONDS, 1.0)


def kept():
    """The first of each kind always; the others when the long tests run."""
    seen = set()
    for each in dearest():
        name = name_of(each)
        yield pytest.param(each, marks=pytest.mark.long if name in seen else ())
        seen.add(name)


@pytest.mark.parametrize("found", list(kept()), ids=name_of)
def test_the_dearest_request_found_is_within_its_bounds(found):
    client = served()
    client.get("/readyz")
    accept = found.get("accept", JSON)
    # What draws and what prints is loaded once in the life of a process.
    post(client, "/v1/assessments", {"medium": {"ec": 3}, "containers": [5]}, accept)
    response, seconds, megabytes = cost(
        lambda: post(client, found["path"], found["request"], accept)
    )
    assert response.status_code == 200
    assert seconds < most_seconds(client)
    assert megabytes < MOST_MEGABYTES


def test_every_target_was_searched():
    assert {*map(name_of, dearest())} == set(targets(served()))


def page_of(client, containers):
    request = {"medium": {"extraction": "one_to_two", "ec": 3}, "containers": containers}
    answer, seconds, _ = cost(lambda: post(client, "/v1/assessments", request, "text/html"))
    assert seconds < most_seconds(client)
    return answer.text


def drawn(page, kind):
    return re.findall(rf'id="({kind}-\d+)-title"', page)


def test_a_page_draws_a_few_unlike_containers_and_tells_the_rest(client):
    pots = [{"name": f"pot {place:03}", "volume": 5 + place / 10} for place in range(100)]
    page = page_of(client, pots)
    for kind in ("washout", "weeks"):
        assert drawn(page, kind) == [f"{kind}-{place}" for place in range(3)]
    for each in pots:  # each stands in the words below a picture, or in its place
        assert f"{each['name']}: from " in page


def test_a_page_draws_like_containers_once_with_all_their_names(client):
    page = page_of(client, [{"name": f"tub {each}", "volume": 3} for each in "abcd"])
    assert drawn(page, "washout") == ["washout-0"]
    assert drawn(page, "weeks") == ["weeks-0"]
    assert "tub a; tub b; tub c; tub d: from " in page


def test_a_page_of_media_that_read_zero_is_shown_without_a_picture(client):
    media = [{"name": name, "medium": {"ec": 0}} for name in "AB"]
    answer = post(client, "/v1/comparisons", {"media": media}, "text/html")
    assert answer.status_code == 200
    assert "<figure>" not in answer.text
