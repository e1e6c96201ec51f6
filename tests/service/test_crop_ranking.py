import pytest

from saltcalc.data.crops import catalogue

MEDIUM = {
    "ec": 4.0,
    "extraction": "saturated_media_extract",
    "substrate": "coir_green_compost",
    "ions": {"sodium": 8, "calcium": 10, "magnesium": 5, "chloride": "10 mmol/L", "boron": 0.5},
}
ORDER = ["tolerant", "caution", "reduced", "fails", "undetermined"]


def rank(post, medium=MEDIUM, stage="seedling", **more):
    return post("/v1/crops/ranking", {"medium": medium, "stage": stage, **more})


def test_every_crop_is_ranked_from_the_best(post):
    answer = rank(post)
    rows = answer["ranking"]
    assert len(rows) == len(catalogue().crops)
    assert [row["rank"] for row in rows] == list(range(1, len(rows) + 1))
    places = [ORDER.index(row["verdict"]) for row in rows]
    assert places == sorted(places)
    assert sum(count["count"] for count in answer["counts"]) == len(rows)
    assert set(rows[0]["sources"]) <= set(answer["sources"])


def test_the_ranking_agrees_with_the_assessment(post):
    ranked = {row["crop"]: row for row in rank(post)["ranking"]}
    names = ["bean", "lettuce", "tomato", "beet_red", "swiss_chard", "rose", "kale"]
    request = {"medium": MEDIUM, "crops": [{"crop": n, "stage": "seedling"} for n in names]}
    for crop in post("/v1/assessments", request)["crops"]:
        for member in (
            "verdict",
            "verdict_range",
            "governing_limit",
            "relative_yield",
            "max_tolerated_ec",
        ):
            assert ranked[crop["crop"]].get(member) == crop.get(member)


def test_tolerant_crops_come_before_sensitive_ones(post):
    places = {row["crop"]: row["rank"] for row in rank(post)["ranking"]}
    order = ["swiss_chard", "beet_red", "tomato", "lettuce", "bean"]
    assert sorted(order, key=places.get) == order


def test_ions_count(post):
    salted = MEDIUM | {"ec": 1.0, "ions": {"chloride": "45 mmol/L"}}
    ranked = {row["crop"]: row for row in rank(post, salted, "established")["ranking"]}
    assert ranked["bean"]["governing_limit"] == "chloride"
    assert ranked["beet_red"]["verdict"] == "tolerant"


def test_filters(post):
    rows = rank(post, group="vegetable", rating="S")["ranking"]
    assert {row["group"] for row in rows} == {"vegetable"}
    assert {row["rating"] for row in rows} == {"S"}
    assert rows[0]["rank"] == 1


@pytest.mark.parametrize("stage", ["germination", "seedling", "established"])
@pytest.mark.parametrize("ec", [0, 0.2, 30])
def test_any_stage_and_ec(post, stage, ec):
    assert rank(post, {"ec": ec, "extraction": "one_to_five"}, stage)["ranking"]


def test_a_good_medium_is_stood_by_nearly_all(post):
    counts = {
        c["verdict"]: c["count"] for c in rank(post, MEDIUM | {"ec": 0.9, "ions": {}})["counts"]
    }
    assert counts["fails"] == 0
    unknown = sum(crop.unknown for crop in catalogue().crops.values())
    assert counts["undetermined"] == unknown
    # Jerusalem artichoke has a threshold of 0.4 dS/m.
    assert counts["tolerant"] == len(catalogue().crops) - unknown - 1


@pytest.mark.parametrize(
    ("request_", "pointer"),
    [
        ({"medium": MEDIUM}, "/stage"),
        ({"stage": "seedling"}, "/medium"),
        ({"medium": MEDIUM, "stage": "seedling", "group": "weeds"}, "/group"),
        ({"medium": MEDIUM | {"ec": -1}, "stage": "seedling"}, "/medium/ec"),
    ],
)
def test_bad_requests(refuse, request_, pointer):
    assert refuse("/v1/crops/ranking", request_)["errors"][0]["pointer"] == pointer


def test_of_crops_that_all_stand_it_the_hardiest_comes_first(post):
    rows = rank(post, MEDIUM | {"ec": 1.0}, "established", group="field")["ranking"]
    places = {row["crop"]: row["rank"] for row in rows}
    order = ["rye", "barley", "cotton", "soybean"]
    assert sorted(order, key=places.get) == order


def test_only_what_the_ranking_rests_on_is_listed_as_assumed(post):
    answer = rank(post, {"ec": 3.0})
    assert {each["field"].split("/")[1] for each in answer["assumptions"]} == {"medium"}


def test_ions_alone_rank_by_their_floor(post):
    answer = rank(post, {"ions": {"nitrate_n": 300}, "extraction": "saturated_media_extract"})
    assert answer["ec_saturated_extract"]["value"] > 2
    assert "medium_ec_lower_bound" in {each["id"] for each in answer["assumptions"]}


@pytest.mark.parametrize(
    ("crop", "instead"),
    [("bean", {"Soybean", "Cowpea"}), ("chrysanthemum", set()), ("strawberry", set())],
)
def test_what_to_sow_in_a_sealed_tub_is_of_the_same_use(crop, instead, post):
    request = {
        "medium": {"extraction": "one_to_two", "ec": 1.6},
        "containers": [{"volume": 70, "drainage": "sealed"}],
        "crops": [{"crop": crop, "stage": "seedling"}],
    }
    options = post("/v1/assessments", request)["flush_plan"][0]["options"]
    found = next(each for each in options if each["id"] == "tolerant_crop")
    assert {*found["tolerant_crops"]} == instead
    assert ("No crop of the same use" in found["sentence"]) == (not instead)
