"""Purple leaves in the cold: cold roots are the first reading, phosphorus the second.

Common practice, no source; the requests are invented.
"""

import pytest


@pytest.mark.parametrize(
    ("crop", "temperature", "first"),
    [
        ("tomato", 12, "cold_root_zone"),
        ("tomato", 22, "phosphorus_shortage"),
        ("tomato", None, "phosphorus_shortage"),
    ],
)
def test_purple_leaves_in_the_cold_are_laid_to_cold_roots_first(crop, temperature, first, post):
    request = {
        "medium": {"extraction": "saturated_media_extract", "ec": 1.2, "ph": 6.0},
        "crops": [{"crop": crop, "stage": "seedling"}],
        "observations": ["purple_leaves"],
    }
    if temperature:
        request["root_zone_temperature"] = temperature
    answer = post("/v1/assessments", request)
    assert answer["summary"]["leading_cause"]["cause"] == first
    named = {each["cause"] for each in answer["causes"]["ranked"]}
    assert "phosphorus_shortage" in named
    assert ("cold_root_zone" in named) == (temperature == 12)
