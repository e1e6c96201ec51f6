"""The assumptions of the summary are those whose other likely values move the answer most."""

import pytest


def told(answer):
    return {each["id"]: each for each in answer["summary"]["most_telling"]}


def above(answer):
    """Return how far the EC is above what the crop tolerates."""
    crop = answer["crops"][0]
    return crop["ec_saturated_extract"]["value"] / crop["max_tolerated_ec"]["value"]


BARE = {"medium": {"ec": 1.8}, "crops": [{"crop": "lettuce"}]}


def test_the_factor_is_what_another_method_would_make_of_it(post):
    answer = post("/v1/assessments", BARE)
    first, *_ = answer["summary"]["most_telling"]
    assert (first["id"], first["field"]) == ("extraction", "/medium/extraction")
    other = post(
        "/v1/assessments", BARE | {"medium": {"ec": 1.8, "extraction": "one_to_one_and_half"}}
    )
    half = post("/v1/assessments", BARE | {"medium": {"ec": 1.8, "extraction": "one_to_two"}})
    ratios = [above(each) / above(answer) for each in (other, half)]
    assert first["factor"] == pytest.approx(max(ratios), rel=0.02)


def test_what_was_given_is_not_told(post):
    assert "extraction" not in told(
        post("/v1/assessments", BARE | {"medium": {"ec": 1.8, "extraction": "one_to_two"}})
    )
    given = {
        "medium": {
            "ec": 4.5,
            "extraction": "saturated_media_extract",
            "temperature": 25,
            "substrate": "sphagnum_peat",
        },
        "water": {"ec": 0.4, "temperature": 25},
        "containers": [
            {"volume": 10, "height": 25, "drainage": "open", "relative_water_content": 1}
        ],
        "crops": [{"crop": "lettuce", "stage": "seedling"}],
        "leaching_efficiency": 0.6,
    }
    assert not told(post("/v1/assessments", given))


def test_at_most_three_come_and_the_farthest_first(post):
    answer = post("/v1/assessments", {"medium": {"ec": 4.5}, "containers": [{"volume": 10}]})
    factors = [each["factor"] for each in answer["summary"]["most_telling"]]
    assert len(factors) == 3
    assert factors == sorted(factors, reverse=True)
    assert factors[-1] >= 1.05


def test_whether_it_drains_matters_only_where_it_is_to_be_flushed(post):
    pot = {"containers": [{"volume": 10}]}
    salty = post("/v1/assessments", {"medium": {"ec": 4.5}} | pot)
    fine = post("/v1/assessments", {"medium": {"ec": 0.4}} | pot)
    assert next(iter(told(salty))) == "container_drainage"
    assert "container_drainage" not in told(fine)


def test_salt_that_is_thinned_by_ions_alone_is_no_less_a_floor(post):
    floor = {"medium": {"ions": {"nitrate_n": 300}}, "containers": [{"volume": 10}]}
    assert "medium_ec_lower_bound" in told(post("/v1/assessments", floor))
