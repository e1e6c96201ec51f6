"""A cause is refuted by a medium that has as much of it, and by no other; figures are invented."""

import pytest


def _medium(name, outcome, signs=(), not_seen=(), **figures):
    ions = {each: figures.pop(each) for each in list(figures) if each not in ("ec", "ph")}
    return {
        "name": name,
        "medium": {"extraction": "SME", "ions": ions, **figures},
        "outcomes": [{"crop": "onion", "outcome": outcome}],
        "observations": list(signs),
        "not_seen": list(not_seen),
    }


@pytest.fixture
def compared(post):
    def compare(*media, crop="onion"):
        for each in media:
            each["outcomes"][0]["crop"] = crop
        return post(
            "/v1/comparisons",
            {
                "media": list(media),
                "containers": [{"volume": "9 L", "drainage": "open"}],
                "trial": {"weeks": 4, "moisture": "alike"},
            },
        )

    return compare


def _refuted(answer):
    return {each["cause"]: each for each in answer["trial"]["contradictions"]}


def _said(answer):
    return " ".join(each["sentence"] for each in answer["trial"]["contradictions"])


def test_less_by_the_whole_error_refutes_nothing(compared):
    answer = compared(
        _medium("rich", "stunted", ec=3.6, ph=6.6, sodium=270, nitrate_n=70),
        _medium("rinsed", "slow", ec=2.6, ph=6.6, sodium=180, nitrate_n=70),
    )
    assert "sodium_toxicity" not in _refuted(answer)


def test_less_within_the_error_is_told_as_about_as_much(compared):
    answer = compared(
        _medium("worse", "stunted", ec=2.0, ph=6.3, nitrate_n=120),
        _medium("better", "thrived", ec=1.6, ph=6.3, nitrate_n=120),
        crop="strawberry",
    )
    assert "with about as much." in _refuted(answer)["total_salts"]["sentence"]
    assert "as much or more" not in _said(answer)


def test_more_is_told_as_such(compared):
    answer = compared(
        _medium("worse", "stunted", ec=2.0, ph=6.3, nitrate_n=120),
        _medium("better", "thrived", ec=2.2, ph=6.3, nitrate_n=120),
        crop="strawberry",
    )
    assert "with as much or more." in _refuted(answer)["total_salts"]["sentence"]


WET = ("stays_wet", "stem_collapse_at_soil_line", "deaths_in_spreading_patches")


def test_a_sign_that_was_not_told_refutes_nothing(compared):
    wet = _medium("wet", "died", WET, ec=1.0, ph=5.9, nitrate_n=85)
    new = _medium("new", "thrived", ec=1.0, ph=5.9, nitrate_n=85)
    assert "lack_of_air" not in _refuted(compared(wet, new, crop="cucumber"))


def test_a_sign_seen_in_both_refutes(compared):
    wet = _medium("wet", "died", WET, ec=1.0, ph=5.9, nitrate_n=85)
    new = _medium("new", "thrived", ("stays_wet",), ec=1.0, ph=5.9, nitrate_n=85)
    assert "lack_of_air" in _refuted(compared(wet, new, crop="cucumber"))
