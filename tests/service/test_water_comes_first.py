"""A water that holds more than the crop tolerates is told first, whatever the medium reads."""

import pytest

LETTUCE = {
    "medium": {"extraction": "saturated_media_extract", "ec": 0.9, "ph": 6},
    "containers": [{"volume": "5 L", "drainage": "open"}],
    "crops": [{"crop": "lettuce", "stage": "seedling"}],
}
SOIL = {"substrate": "loam", "extraction": "saturated_paste", "ec": 0.8}


def first_line(post, request):
    return post("/v1/assessments", request)["summary"]["leading_cause"]["sentence"]


@pytest.mark.parametrize(
    ("request_", "expected"),
    [
        (LETTUCE | {"water": {"ec": 3.0}}, "salt for lettuce"),
        (
            LETTUCE
            | {
                "water": {"ec": 2.5},
                "medium": {"extraction": "saturated_media_extract", "ec": 0.8},
            },
            "salt for lettuce",
        ),
        (
            {
                "medium": SOIL,
                "water": {"ec": 0.5, "ions": {"boron": "1.5 mg/L"}},
                "crops": ["strawberry"],
            },
            "boron for strawberry",
        ),
    ],
)
def test_a_medium_in_range_with_such_a_water(post, request_, expected):
    said = first_line(post, request_)
    assert said.startswith(f"The water holds too much {expected}.")
    assert "Nothing to correct" not in said
    assert "Salt is not the problem" not in said


def test_a_water_that_no_use_stands_is_told_first_though_the_crop_is_hardy(post):
    said = first_line(post, {"medium": SOIL, "water": {"ec": 3.5}, "crops": ["asparagus"]})
    assert said.startswith("The EC of the water, 3.5 dS/m, restricts its use severely")


@pytest.mark.parametrize("water", [{"ec": 0.5}, {"ec": 0.5, "ions": {"boron": "0.2 mg/L"}}])
def test_a_medium_in_range_with_a_good_water_is_told_so(post, water):
    assert first_line(post, LETTUCE | {"water": water}).startswith("No figure is out of range.")


@pytest.mark.parametrize(
    ("crop", "ec", "boron"), [("lemon", 0.5, 2), ("blackberry", 0.9, 2.5), ("onion", 0.5, 0.6)]
)
def test_a_water_alone_is_judged_by_what_the_crop_tolerates(post, client, crop, ec, boron):
    request = {"water": {"ec": ec, "ions": {"boron": f"{boron} mg/L"}}, "crops": [crop]}
    assert f"too much boron for {crop}" in first_line(post, request)
    text = client.post("/v1/assessments", json=request, headers={"Accept": "text/plain"}).text
    assert any("water: boron" in line and "high" in line for line in text.splitlines())


def test_a_water_alone_is_judged_by_its_worst_figure(post):
    boron = {"water": {"ec": 0.5, "ions": {"boron": "2 mg/L"}}}
    assert "for its boron it can be used with some care" in first_line(post, boron)
    little = {"water": {"ec": 0.5, "ions": {"boron": "0.2 mg/L"}}}
    assert "does not restrict its use" in first_line(post, little)
