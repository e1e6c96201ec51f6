"""A grown crop in substrate, within its limit of soil and above what trials in substrate found.

Sonneveld & van der Burg (1991): tomato, cucumber and sweet pepper lost yield from 2.3 to 3.5 on.
"""

import pytest


def request_of(ec, signs=("marginal_burn",), crop="tomato", stage="established", **rest):
    return {
        "medium": {"extraction": "pore_water_sensor", "ec": ec, "substrate": "coir_fibrous"},
        "containers": [{"volume": 12, "height": 10, "drainage": "open"}],
        "crops": [{"crop": crop, "stage": stage}],
        "observations": list(signs),
    } | rest


@pytest.mark.parametrize("rest", [{}, {"feed_ec": 2.6, "water": {"ec": 0.3}}])
def test_burnt_margins_in_a_strong_slab_are_fed_more_weakly(post, client, rest):
    request = request_of(6.5, **rest)
    [action] = post("/v1/assessments", request)["summary"]["actions"]
    assert action["id"] == "feed_weaker"
    assert "6.5 dS/m" in action["sentence"]
    page = client.post("/v1/assessments", json=request, headers={"Accept": "text/plain"})
    assert "No flush: the medium is at its target" not in page.get_data(as_text=True)


@pytest.mark.parametrize(
    "request_",
    [
        request_of(6.5, signs=()),  # held on purpose, and the plants are well
        request_of(3.0),  # below what costs yield
        request_of(6.5, crop="beet_red"),  # without such trials
    ],
)
def test_else_nothing_is_said_of_a_weaker_feed(post, request_):
    actions = post("/v1/assessments", request_)["summary"]["actions"]
    assert "feed_weaker" not in {each["id"] for each in actions}
