"""A check reads no more pots than there are, and allows for it."""

import pytest


def check_of(post, **more):
    request = {
        "medium": {"extraction": "saturated_media_extract", "ec": 5, "substrate": "sphagnum_peat"},
        "target_ec": 2.5,
        "water": {"ec": 0.5},
        "containers": [{"volume": 10, "height": 20, **more}],
    }
    return post("/v1/flush-plans", request)["flush_plan"][0]["rested_check"]


@pytest.mark.parametrize(("count", "read"), [(1, 1), (2, 2), (3, 3), (20, 3)])
def test_no_more_pots_are_read_than_there_are(post, count, read):
    assert check_of(post, count=count)["pots_read"] == read


def test_fewer_readings_need_a_lower_figure(post):
    one, many = (check_of(post, count=count)["own_method"]["value"] for count in (1, 20))
    assert one < many


def test_where_the_number_was_not_told_three_are_read(post):
    assert check_of(post)["pots_read"] == 3
