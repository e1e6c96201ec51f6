"""Media of a trial whose EC is not known: what a floor may say; every figure here is invented."""

import copy
import itertools
import json

import pytest
from click.testing import CliRunner

from saltcalc.cli import main

MICRONUTRIENTS = {"iron": 0.2, "manganese": 0.15, "zinc": 0.1, "copper": 0.03, "boron": 0.05}
THROVE, SLOW = {"outcome": "thrived"}, {"outcome": "slow"}
DIED = {"outcome": "died", "died_at": "first_true_leaves", "resown": 2}
PALE = {"outcome": "pale", "from_week": 3}
STUNTED = {"outcome": "stunted", "from_week": 2}


def _bag(name, nitrogen, ph, ions, bean, beet):
    phosphorus, potassium, calcium, magnesium = ions
    return {
        "name": name,
        "medium": {
            "ph": ph,
            "mineral_n": nitrogen,
            "ions": {
                "phosphorus": phosphorus,
                "potassium": potassium,
                "calcium": calcium,
                "magnesium": magnesium,
            },
            "micronutrients": MICRONUTRIENTS,
        },
        "outcomes": [{"crop": "French bean", **bean}, {"crop": "beetroot", **beet}],
    }


@pytest.fixture
def five():
    return {
        "plant_age": "5 weeks",
        "trial": {"moisture": "alike"},
        "crops": [
            {"crop": "French bean", "stage": "seedling", "plants": 2},
            {"crop": "beetroot", "stage": "seedling", "plants": 4},
        ],
        "containers": [{"name": "tub", "volume": "15 L", "height": "26 cm", "drainage": "open"}],
        "media": [
            _bag("reused coir", 215, 6.2, (18, 260, 180, 55), DIED, THROVE),
            _bag("green waste", 265, 6.4, (22, 230, 210, 65), THROVE, THROVE),
            _bag("dark peat", 50, 4.6, (9, 110, 55, 20), STUNTED, SLOW),
            _bag("bark fines", 14, 5.8, (7, 85, 95, 38), PALE, PALE),
            _bag("loam mix", 95, 6.5, (15, 170, 150, 50), SLOW, THROVE),
        ],
    }


def _of(answer, name):
    return next(each for each in answer["trial"]["tried"] if each["name"] == name)


@pytest.mark.parametrize("nitrogen", ["mineral_n", "nitrate_n"])
def test_what_is_known_of_a_medium_is_refuted_and_what_may_be_there_is_not(post, five, nitrogen):
    if nitrogen == "nitrate_n":
        for each in five["media"]:
            each["medium"]["ions"]["nitrate_n"] = each["medium"].pop("mineral_n")
    answer = post("/v1/comparisons", five)
    (first,) = answer["trial"]["contradictions"]
    assert (first["cause"], first["certain"]) == ("total_salts", False)
    assert (first["media"], first["refuted_by"]) == (["reused coir"], ["green waste"])
    assert first["decide_by"] == "salts"
    assert {"salts", "chloride"} <= {*first["not_known"]}
    assert "mineral nitrogen 215 mg/L against 265 mg/L" in first["sentence"]
    told = _of(answer, "reused coir")
    assert told.get("cause") != "total_salts"
    assert [each["id"] for each in told["actions"]] == ["find_out"]
    assert answer["comparison"]["matrix"][0]["flush"] == []


def test_the_form_of_nitrogen_is_asked_for_where_it_is_open(post, five):
    asked = "which part of the nitrogen is ammonium"
    assert asked in post("/v1/comparisons", five)["trial"]["contradictions"][0]["sentence"]
    for each in five["media"]:
        each["medium"]["ions"]["nitrate_n"] = each["medium"].pop("mineral_n")
        each["medium"]["ions"]["ammonium_n"] = 2
    assert asked not in json.dumps(post("/v1/comparisons", five)["trial"])


def test_with_the_ec_of_both_the_cause_is_settled_either_way(post, five):
    five["media"][0]["medium"] |= {"ec": 2.3, "extraction": "SME"}
    five["media"][1]["medium"] |= {"ec": 2.6, "extraction": "SME"}
    first = post("/v1/comparisons", five)["trial"]["contradictions"][0]
    assert (first["cause"], first["certain"]) == ("total_salts", True)
    five["media"][0]["medium"]["ec"] = 5.5
    answer = post("/v1/comparisons", five)
    assert all(each["cause"] != "total_salts" for each in answer["trial"]["contradictions"])
    assert _of(answer, "reused coir")["cause"] == "total_salts"


def test_twins_of_unlike_outcome_are_not_told_apart_by_salt(post, five):
    one, other = five["media"][:2]
    other["medium"] = copy.deepcopy(one["medium"])
    answer = post("/v1/comparisons", five | {"media": [one, other]})
    assert _of(answer, "reused coir").get("verdict") != "supported"
    assert "leach" not in json.dumps(_of(answer, "reused coir")["actions"])
    (found,) = answer["trial"]["contradictions"]
    assert found["still_differ"] == []


def test_what_is_done_to_every_medium_stands_once(post, five):
    trial = post("/v1/comparisons", five)["trial"]
    (mix,) = trial["for_all"]
    assert (mix["id"], mix["when"]) == ("micronutrient_mix", "before_sowing")
    assert all(each["id"] != mix["id"] for one in trial["tried"] for each in one["actions"])


def test_a_supported_cause_is_never_left_without_an_action(post, five):
    for each in five["media"]:
        for one in each["outcomes"]:
            one["outcome"] = "thrived"
            for more in ("died_at", "from_week", "resown"):
                one.pop(more, None)
    short = five["media"][4]
    short["medium"]["ions"]["potassium"] = 8
    short["outcomes"] = [{"crop": "beetroot", "outcome": "stunted", "from_week": 3}]
    told = _of(post("/v1/comparisons", five), "loam mix")
    assert (told["cause"], told["verdict"]) == ("potassium_shortage", "supported")
    assert "usual_remedy" in {each["id"] for each in told["actions"]}


def test_a_ranking_parts_what_throve_from_what_was_slow(post, five):
    bean, beet = post("/v1/comparisons", five)["trial"]["ranking"]
    assert bean["sow_now"] == ["green waste", "loam mix"]
    assert "slower in loam mix" in bean["sentence"]
    assert "bark fines (nitrogen)" in bean["sentence"]
    assert beet["sow_now"][-1] == "dark peat"
    assert beet["mend_first"] == ["bark fines"]


def _variants(five):
    """The usual ways in which five media are told."""
    for ec, container, form, salty in itertools.product(
        (None, 1.4), (True, False), ("mineral_n", "nitrate_n"), (False, True)
    ):
        request = copy.deepcopy(five)
        if not container:
            del request["containers"]
        for place, each in enumerate(request["media"]):
            medium = each["medium"]
            if form != "mineral_n":
                medium["ions"][form] = medium.pop("mineral_n")
            if ec is not None:
                medium |= {"ec": ec * (1 + 0.2 * place) * (3 if salty else 1), "extraction": "SME"}
            elif salty:
                medium["ions"]["chloride"] = 300
        yield request


def test_five_media_are_told_in_twenty_kilobytes_and_sixty_lines(client, five, tmp_path):
    for place, request in enumerate(_variants(five)):
        assert len(client.post("/v1/comparisons", json=request).data) <= 20_000, place
        words = client.post("/v1/comparisons", json=request, headers={"Accept": "text/plain"})
        assert len(words.text.rstrip().splitlines()) <= 60, place
    file = tmp_path / "five.json"
    file.write_text(json.dumps(five), encoding="utf-8")
    told = CliRunner().invoke(main, ["assess", str(file)])
    assert told.exit_code == 0
    assert len(told.output.rstrip().splitlines()) <= 60


def test_a_warning_names_the_media_that_it_is_about(client, post, five):
    (floor,) = (
        e for e in post("/v1/comparisons", five)["warnings"] if e["id"] == "ec_is_lower_bound"
    )
    assert all(each["name"] in floor["sentence"] for each in five["media"])
    five["media"][3]["medium"]["ec"] = 0.7
    (floor,) = (
        e for e in post("/v1/comparisons", five)["warnings"] if e["id"] == "ec_is_lower_bound"
    )
    assert "bark fines" not in floor["sentence"]


def test_what_is_assumed_of_every_medium_stands_once(post, five):
    answer = post("/v1/comparisons", five)
    (method,) = (each for each in answer["assumptions"] if each["id"] == "extraction")
    assert method["field"] == "/media/0/medium/extraction"
    assert method["every_medium"] is True
    assert "more_fields" not in method
    five["media"][1]["medium"]["extraction"] = "SME"
    (method,) = (
        each for each in post("/v1/comparisons", five)["assumptions"] if each["id"] == "extraction"
    )
    assert "every_medium" not in method
    assert len(method["more_fields"]) == 3


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("coir, reused", "“coir, reused”"),
        ('"best" peat', '“"best" peat”'),
        ("“best” peat", "‘“best” peat’"),
        ("plain", "plain"),
    ],
)
def test_a_name_with_marks_of_its_own_stays_readable(post, five, name, told):
    five["media"][0]["name"] = name
    answer = post("/v1/comparisons", five)
    assert f" {told}" in answer["trial"]["contradictions"][0]["sentence"]
    del five["media"][0]["outcomes"], five["media"][1]["outcomes"]
    five["media"] = five["media"][:2]
    words = json.dumps(post("/v1/comparisons", five)["comparison"]["differences"])
    assert name == "plain" or json.dumps(told)[1:-1] in words or "media" not in words
