"""A healthy medium with a figure at the end of its range is told nothing of it."""

import copy

import pytest

TOMATO = {
    "medium": {
        "extraction": "SME",
        "ec": 3.2,
        "ph": 5.9,
        "ions": {"nitrate_n": 200, "potassium": 300, "calcium": 220, "sodium": 40, "chloride": 60},
    },
    "water": {"ec": 0.4},
    "containers": [{"volume": "15 L", "drainage": "open"}],
    "crops": [{"crop": "tomato", "stage": "established"}],
}
SLAB = {
    "medium": {
        "extraction": "press",
        "ec": "2.7 mS/cm",
        "substrate": "coir_fibrous",
        "ph": 5.9,
        "ions": {
            "nitrate_n": "15 mmol/L",
            "potassium": "8 mmol/L",
            "calcium": "6 mmol/L",
            "magnesium": "2.5 mmol/L",
        },
    },
    "water": {"ec": 0.2},
    "containers": [{"volume": "12 L", "drainage": "open", "height": "10 cm"}],
    "crops": [{"crop": "cucumber", "stage": "established"}],
}
PEAT = {
    "medium": {"extraction": "one_to_five", "ec": "22 mS/m", "substrate": "sphagnum_peat"},
    "crops": [{"crop": "tomato", "stage": "seedling"}],
    "containers": [{"volume": "0.2 L", "drainage": "open"}],
}


def _verdicts(answer):
    return {each["cause"]: each["verdict"] for each in answer["causes"]["ranked"]}


@pytest.mark.parametrize("request_", [TOMATO, SLAB, PEAT])
def test_a_healthy_medium_is_left_alone(post, request_):
    answer = post("/v1/assessments", request_)
    assert "points to" not in answer["summary"]["leading_cause"]["sentence"]
    assert answer["summary"]["leading_cause"]["verdict"] == "unlikely"
    assert "feed weaker" not in str(answer["nutrients"]).lower()


def test_a_figure_past_the_end_is_told(post):
    more = copy.deepcopy(TOMATO)
    more["medium"]["ions"]["nitrate_n"] = 215
    assert "feed weaker" in str(post("/v1/assessments", more)["nutrients"]).lower()


def test_potassium_far_above_magnesium_is_told(post):
    crowded = copy.deepcopy(SLAB)
    crowded["medium"]["ions"]["magnesium"] = "2 mmol/L"
    assert _verdicts(post("/v1/assessments", crowded))["cation_imbalance"] == "possible"


def test_little_air_is_told_where_the_height_is_known_or_it_was_seen(post):
    known = copy.deepcopy(PEAT)
    known["containers"][0]["height"] = "6 cm"
    assert _verdicts(post("/v1/assessments", known)).get("lack_of_air") == "possible"
    seen = {**PEAT, "observations": ["stays_wet"]}
    assert _verdicts(post("/v1/assessments", seen))["lack_of_air"] == "supported"
