"""Media of a trial too low in EC to feed, their nitrogen not measured; every figure is invented."""

import pytest

PALE, THROVE = {"outcome": "pale", "from_week": 3}, {"outcome": "thrived"}
DIED = {"outcome": "died", "died_at": "first_true_leaves"}


def _bag(name, ec, crops, ph=5.9, **more):
    """A bag with how each crop fared in it."""
    medium = {"extraction": "SME", "ec": ec, "ph": ph, "substrate": "sphagnum_peat", **more}
    fared = [{"crop": crop, **outcome} for crop, outcome in crops.items()]
    return {"name": name, "medium": medium, "outcomes": fared}


@pytest.fixture
def tell(post):
    def told(*media, **more):
        trial = {"weeks": 5, "moisture": "alike"}
        request = {"media": list(media), "trial": trial, "crops": ["tomato"], **more}
        return post("/v1/comparisons", request)

    return told


def _of(answer, name):
    return next(each for each in answer["trial"]["tried"] if each["name"] == name)


def _done(answer, name):
    return [each["id"] for each in _of(answer, name)["actions"]]


def test_a_low_ec_that_goes_with_pale_plants_is_fed(tell):
    answer = tell(
        _bag("B", 0.3, {"tomato": PALE}, ph=5.8), _bag("C", 1.2, {"tomato": THROVE}, ph=6.0)
    )
    told = _of(answer, "B")
    assert (told["cause"], told["verdict"]) == ("nitrogen_shortage", "likely")
    assert "No nitrogen was measured." in told["explanation"]
    assert "strong evidence" not in told["explanation"]
    assert "Borne out by C: low EC." in told["explanation"]
    assert _done(answer, "B") == ["feed_nitrogen"]
    (ec,) = (e for e in answer["trial"]["different"] if e["sentence"].startswith("EC:"))
    assert ec["sentence"] == "EC: 0.3 dS/m (B) to 1.2 dS/m (C); fits tomato in B."
    assert [each["tracking"] for each in ec["crops"]] == ["consistent"]
    (tomato,) = answer["trial"]["ranking"]
    assert tomato["sentence"].endswith("once mended in B (nitrogen, by the low EC).")
    assert answer["comparison"]["matrix"][0]["main_cause"]["verdict"] == "likely"
    assert "turn green" in answer["trial"]["next_measurement"]


def test_a_hungry_and_acid_medium_is_fed_first_and_limed(tell):
    fared = {"tomato": PALE, "lettuce": PALE}
    answer = tell(
        _bag("B", 0.3, fared, ph=5.0), _bag("C", 1.2, dict.fromkeys(fared, THROVE), ph=6.0)
    )
    told = _of(answer, "B")
    # What was measured comes before what an EC stands for.
    assert (told["cause"], told["verdict"]) == ("ph_too_low", "supported")
    assert "Nitrogen shortage (likely)" in told["explanation"]
    assert _done(answer, "B")[0] == "feed_nitrogen"
    assert "calcitic_lime" in _done(answer, "B")
    assert "in B (nitrogen, pH)" in answer["trial"]["ranking"][0]["sentence"]


def test_nitrogen_that_was_measured_speaks_for_itself(tell):
    answer = tell(
        _bag("B", 0.5, {"tomato": PALE}, ions={"nitrate_n": 8, "ammonium_n": 1}),
        _bag("C", 1.2, {"tomato": THROVE}, ions={"nitrate_n": 90, "ammonium_n": 1}),
    )
    told = _of(answer, "B")
    assert (told["cause"], told["verdict"]) == ("nitrogen_shortage", "supported")
    assert "No nitrogen was measured" not in told["explanation"]
    assert "low EC" not in told["explanation"]
    assert "(nitrogen)" in answer["trial"]["ranking"][0]["sentence"]


@pytest.mark.parametrize("bad", [0.9, 1.3])
def test_an_ec_that_feeds_stands_for_no_want(tell, bad):
    answer = tell(_bag("B", bad, {"tomato": PALE}), _bag("C", 1.9, {"tomato": THROVE}))
    assert _of(answer, "B").get("verdict") not in {"likely", "supported"}
    assert "low EC" not in _of(answer, "B")["explanation"]
    assert "feed_nitrogen" not in _done(answer, "B")


def test_a_low_ec_is_no_fault_of_media_in_which_all_thrive(tell):
    answer = tell(*(_bag(name, ec, {"tomato": THROVE}) for name, ec in (("B", 0.4), ("C", 0.5))))
    assert all(_done(answer, name) in ([], ["nothing"]) for name in "BC")
    assert all("cause" not in each for each in answer["trial"]["tried"])
    assert "EC" not in answer["trial"]["alike_in_short"].partition("Low in all")[2]
    assert all(not each["crops"] for each in answer["trial"]["different"])


def test_a_crop_that_throve_as_low_refutes_the_want(tell):
    answer = tell(_bag("B", 0.3, {"tomato": PALE}), _bag("C", 0.28, {"tomato": THROVE}))
    (found,) = (e for e in answer["trial"]["contradictions"] if e["cause"] == "nitrogen_shortage")
    assert "it thrived in C, as low in EC or lower" in found["sentence"]
    assert "feed_nitrogen" not in _done(answer, "B")


def test_a_seed_that_never_came_up_starved_of_nothing(tell):
    died = {"outcome": "died", "died_at": "emergence"}
    answer = tell(_bag("B", 0.3, {"tomato": died}), _bag("C", 1.2, {"tomato": THROVE}))
    assert _of(answer, "B").get("cause") != "nitrogen_shortage"
    assert "feed_nitrogen" not in _done(answer, "B")


def test_what_is_done_to_every_medium_is_why_each_is_mended(tell):
    answer = tell(_bag("x", 5.5, {"bean": DIED}), _bag("y", 5.4, {"bean": DIED}), crops=["bean"])
    assert [each["id"] for each in answer["trial"]["for_all"]] == ["leach"]
    (bean,) = answer["trial"]["ranking"]
    assert bean["sentence"] == "Bean: once mended in y and x (salt)."


def test_a_supported_cause_has_an_action_or_a_remedy(tell):
    # Dead plants are fed no more; the next ones are.
    answer = tell(
        _bag("B", 0.3, {"tomato": {"outcome": "died", "died_at": "later"}}) | {
            "observations": ["pale_whole_plant"]
        },
        _bag("C", 1.2, {"tomato": THROVE}),
    )  # fmt: skip
    told = _of(answer, "B")
    assert told["cause"] == "nitrogen_shortage"
    (remedy,) = told["actions"]
    assert (remedy["id"], remedy["when"]) == ("usual_remedy", "before_sowing")
    assert "not known" not in answer["trial"]["ranking"][0]["sentence"]
    assert "turn green" not in answer["trial"].get("next_measurement", "")
