"""Media of a trial that were not kept equally moist; every figure here is invented."""

import pytest


@pytest.fixture
def tell(post):
    def told(moisture, *bags, crop="lettuce"):
        media = [
            {
                "name": name,
                "medium": {"extraction": "SME", "ec": ec, **more},
                "outcomes": [{"crop": crop, "outcome": outcome}],
            }
            for name, ec, outcome, more in bags
        ]
        trial = {"weeks": 4, **({"moisture": moisture} if moisture else {})}
        request = {"media": media, "crops": [{"crop": crop, "stage": "seedling"}], "trial": trial}
        return post("/v1/comparisons", request)

    return told


DRY, MOIST = ("dry", 3.0, "stunted", {}), ("moist", 1.0, "thrived", {})


def _of(answer, name):
    return next(each for each in answer["trial"]["tried"] if each["name"] == name)


def test_salt_is_likely_at_most_where_one_medium_was_kept_drier(tell):
    answer = tell("not_alike", DRY, MOIST)
    told = _of(answer, "dry")
    assert (told["cause"], told["verdict"]) == ("total_salts", "likely")
    assert "not kept equally moist: dryness may be part of it" in told["explanation"]
    assert "strong evidence" not in told["explanation"]
    assert [each["id"] for each in told["actions"]] == ["leach"]
    assert answer["comparison"]["matrix"][0]["main_cause"]["verdict"] == "likely"
    assert "keep all media equally moist" in answer["trial"]["next_measurement"]


@pytest.mark.parametrize("moisture", ["alike", None])
def test_media_kept_alike_say_nothing_of_moisture(tell, moisture):
    answer = tell(moisture, DRY, MOIST)
    told = _of(answer, "dry")
    assert (told["cause"], told["verdict"]) == ("total_salts", "supported")
    assert "equally moist" not in told["explanation"]
    assert "equally moist" not in answer["trial"]["next_measurement"]


def test_media_that_bore_every_crop_say_nothing_of_moisture(tell):
    answer = tell("not_alike", ("a", 1.0, "thrived", {}), ("b", 1.1, "thrived", {}))
    assert "moist" not in str([each["explanation"] for each in answer["trial"]["tried"]])


def test_a_measured_want_stays_as_sure_and_names_the_moisture(tell):
    low, enough = ({"ions": {"nitrate_n": n, "ammonium_n": 1}, "ph": 6.0} for n in (6, 90))
    answer = tell("not_alike", ("dry", 0.9, "pale", low), ("moist", 1.1, "thrived", enough))
    told = _of(answer, "dry")
    assert (told["cause"], told["verdict"]) == ("nitrogen_shortage", "supported")
    assert "They were not kept equally moist, which may be part of it." in told["explanation"]


@pytest.mark.parametrize(("moisture", "certain"), [("alike", True), ("not_alike", False)])
def test_a_moister_medium_refutes_the_salt_of_a_drier_one_less_surely(tell, moisture, certain):
    answer = tell(moisture, ("dry", 4.2, "died", {}), ("moist", 4.4, "thrived", {}))
    (found,) = (e for e in answer["trial"]["contradictions"] if e["cause"] == "total_salts")
    assert found["certain"] is certain


def test_a_figure_is_told_by_the_media_that_it_fits_and_by_those_that_bear_it_out(tell):
    answer = tell("alike", DRY, MOIST, ("wet", 1.1, "thrived", {}))
    assert "Borne out by moist and wet: EC." in _of(answer, "dry")["explanation"]
    (ec,) = answer["trial"]["different"]
    assert ec["sentence"] == "EC: 1 dS/m (moist) to 3 dS/m (dry); fits lettuce in dry."
    assert "pairs" not in ec["sentence"]


def test_many_media_that_a_figure_fits_are_not_all_named(tell):
    bad = [(f"bad {n}", 3.0 + n / 10, "stunted", {}) for n in range(6)]
    answer = tell("alike", *bad, MOIST)
    (ec,) = answer["trial"]["different"]
    assert ec["sentence"].endswith("fits lettuce in bad 0, bad 1, bad 2 and 3 more.")
