"""A figure of nitrate turns no flush into a feed where the salt above the limit is no food."""

import pytest

BALLAST = {"sodium": "200 mg/L", "chloride": "300 mg/L", "calcium": "60 mg/L"}
SHORT = {"nitrate_n": "20 mg/L"}
SALTY = {
    "medium": {"extraction": "saturated_media_extract", "ec": 1.5, "ions": BALLAST | SHORT},
    "crops": [{"crop": "bean", "stage": "seedling"}],
    "containers": [{"volume": "2 L", "height": "12 cm", "drainage": "open"}],
    "water": {"ec": 0.3},
}


def of(post, crop="bean", **medium):
    crops = [{"crop": crop, "stage": "seedling"}]
    answer = post("/v1/assessments", SALTY | {"medium": SALTY["medium"] | medium, "crops": crops})
    supported = [
        each["cause"] for each in answer["causes"]["ranked"] if each["verdict"] == "supported"
    ]
    return answer, supported, [each["id"] for each in answer["summary"]["actions"]]


@pytest.mark.parametrize("ions", [BALLAST, BALLAST | SHORT])
@pytest.mark.parametrize("crop", ["bean", "lettuce"])
def test_salt_that_is_no_food_is_flushed_whether_nitrate_was_measured_or_not(post, crop, ions):
    answer, supported, actions = of(
        post, crop=crop, ions=ions, ec=1.8 if crop == "lettuce" else 1.5
    )
    assert answer["summary"]["leading_cause"]["cause"] == "total_salts"
    assert ("nitrogen_shortage" in supported) == ("nitrate_n" in ions)
    assert actions == ["flush"]
    if "nitrate_n" in ions:
        assert answer["flush_plan"][0]["costs"]["feed"]["nitrogen_per_container"]["value"] > 0


def test_salt_is_named_by_the_least_that_the_ions_make(post):
    answer, supported, actions = of(post, ec=None)
    assert answer["summary"]["leading_cause"]["cause"] == "total_salts"
    assert "nitrogen_shortage" in supported
    assert "remedy_nitrogen_shortage" not in actions


@pytest.mark.parametrize(
    ("ec", "ions"),
    [(1.05, BALLAST | SHORT), (1.2, SHORT | {"sodium": "60 mg/L"})],
)
def test_a_medium_at_its_limit_or_without_such_salt_is_fed(post, ec, ions):
    answer, _, actions = of(post, ec=ec, ions=ions)
    assert answer["summary"]["leading_cause"]["cause"] == "nitrogen_shortage"
    assert actions == ["remedy_nitrogen_shortage"]
