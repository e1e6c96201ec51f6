"""What a trial says of the nitrogen of its media; figures are invented."""

import re

import pytest


def _medium(name, ec, ph, nitrate, ammonium=None, signs=(), **outcomes):
    ions = {"nitrate_n": nitrate} | ({} if ammonium is None else {"ammonium_n": ammonium})
    return {
        "name": name,
        "medium": {"extraction": "SME", "ec": ec, "ph": ph, "ions": ions},
        "outcomes": [{"crop": crop, "outcome": fared} for crop, fared in outcomes.items()],
        "observations": list(signs),
    }


@pytest.fixture
def told(post):
    def tried(*media, volume="9 L"):
        request = {
            "media": list(media),
            "containers": [{"volume": volume, "drainage": "open"}],
            "trial": {"weeks": 4, "moisture": "alike"},
        }
        trial = post("/v1/comparisons", request)["trial"]
        every = " ".join(each["sentence"] for each in trial["for_all"])
        return {
            each["name"]: " ".join(
                [
                    each["explanation"],
                    *(one["sentence"] for one in each["actions"]),
                    every,
                    each.get("saving", {}).get("sentence", ""),
                ]
            )
            for each in trial["tried"]
        }

    return tried


BARK = _medium("bark", 0.4, 5.7, 3, 1, zucchini="pale", pea="thrived")
PEAT = _medium("peat", 1.0, 5.8, 75, zucchini="thrived", pea="thrived")


def test_where_a_shortage_is_found_nothing_lasts_weeks(told):
    said = told(BARK, PEAT)
    assert "Nitrogen shortage (strong evidence)" in said["bark"]
    assert "lasts" not in said["bark"]
    now, most = map(
        float, re.search(r"Feed about (\d+) mg .*\((\d+) mg or more", said["bark"]).groups()
    )
    # 9 L hold about 5 L of water, which wants 36 mg/L more (judgement).
    assert 120 <= now <= 300
    assert most >= now
    assert "lasts" in said["peat"]


def test_after_leaching_the_feed_is_that_which_is_wanted_then(told):
    said = told(
        _medium("salty", 3.2, 7.5, 38, strawberry="stunted", beetroot="thrived"),
        _medium("rain", 1.2, 6.3, 90, strawberry="thrived", beetroot="thrived"),
        volume="5 L",
    )["salty"]
    assert "Then feed" in said
    assert "lasts about" not in said
    assert said.count("feed ") + said.count("Feed ") <= 1 + said.count("coated")


def test_ammonium_that_a_flush_carries_off_is_told(told):
    manure = _medium("manure", 3.1, 5.9, 3, 230, cress="died")
    said = told(manure, _medium("peat", 1.0, 5.9, 70, 5, cress="thrived"))
    lost = re.search(
        r"with (\d+) mg of nitrate nitrogen and ([\d.]+) g of ammonium", said["manure"]
    )
    assert lost
    assert float(lost[2]) * 1000 > 10 * float(lost[1])
    other = _medium("salty", 3.1, 6.2, 230, 3, cress="died")
    said = told(other, _medium("peat", 1.0, 5.9, 70, 5, cress="thrived"))["salty"]
    assert "of nitrate nitrogen" in said
    assert "ammonium nitrogen" not in said


MIXED = _medium("half", 4.3, 6.3, 260, 30, lettuce="stunted", tomato="thrived")
THIRD = _medium("third", 2.6, 6.2, 150, 15, lettuce="thrived", tomato="thrived")


def test_ammonium_that_rises_with_the_ec_is_no_cause_of_its_own(told):
    said = told(MIXED, THIRD)["half"]
    assert "Too much salt in total (strong evidence)" in said
    assert "ammonium toxicity" not in said.split("(strong evidence)")[0].lower()
    assert "cannot be told apart" in said


def test_ammonium_without_more_salt_is_told_as_before(told):
    rich = _medium("rich", 2.0, 6.9, 20, 160, lettuce="stunted", tomato="thrived")
    other = _medium("other", 2.0, 6.2, 150, 15, lettuce="thrived", tomato="thrived")
    assert "cannot be told apart" not in told(rich, other)["rich"]


def test_a_crop_slow_above_its_limit_may_be_held_back_by_salt(told):
    rinsed = _medium("rinsed", 2.6, 6.5, 60, onion="slow")
    said = told(rinsed, _medium("loam", 1.0, 6.5, 90, onion="thrived"))
    assert "Salt may be what holds onion" in said["rinsed"]
    bore = told(rinsed, _medium("loam", 2.7, 6.5, 90, onion="thrived"))
    assert "Salt may be" not in bore["rinsed"]
    sound = told(_medium("rinsed", 1.0, 6.5, 60, onion="slow"), PEAT)
    assert "Salt may be" not in sound["rinsed"]
