"""What an answer rests on is said where it is said; the requests and their figures are invented."""

import json

import pytest

POT = [{"volume": 10, "drainage": "open"}]
BARE = {"medium": {"ec": 2.2}, "containers": POT, "crops": ["pepper"]}


def summary_of(post, request):
    return post("/v1/assessments?parts=summary", request)["summary"]


def test_a_method_that_decides_is_asked_before_anything_is_poured(client, post):
    first, *others = summary_of(post, BARE)["actions"]
    assert first["id"] == "ask_method"
    assert "saturated media extract" in first["sentence"]
    assert others
    batch = client.post(
        "/v1/assessments/batch", data=json.dumps(BARE), content_type="application/x-ndjson"
    )
    assert "water_per_container [L]" not in json.loads(batch.get_data(as_text=True).split("\n")[0])


def test_a_method_that_is_given_is_not_asked(post):
    request = BARE | {"medium": {"ec": 2.2, "extraction": "saturated_media_extract"}}
    actions = summary_of(post, request)["actions"]
    assert [each["id"] for each in actions] == ["flush"]


@pytest.mark.parametrize("stage", [None, "seedling"])
def test_a_stage_that_was_not_given_is_told_beside_the_crop(stage, post):
    crop = {"crop": "lettuce"} | ({"stage": stage} if stage else {})
    medium = {"extraction": "one_to_two", "ec": 1.8}
    told = summary_of(post, {"medium": medium, "containers": POT, "crops": [crop]})
    assert ("(seedling, stage not given)" in told["worst_crop"]["sentence"]) == (stage is None)


def test_of_crops_that_fail_alike_the_most_sensitive_is_named(post):
    request = {
        "medium": {"extraction": "saturated_media_extract", "ec": 9.0},
        "containers": POT,
        "crops": [{"crop": name, "stage": "established"} for name in ("tomato", "bean")],
    }
    answer = post("/v1/assessments", request)
    verdicts = {each["crop"]: each["verdict"] for each in answer["crops"]}
    assert len(set(verdicts.values())) == 1
    assert answer["summary"]["worst_crop"]["crop"].startswith("bean")


def test_a_trace_does_not_lead_a_side_of_which_most_is_not_reported(post):
    medium = {"extraction": "saturated_media_extract", "ec": 3.6, "ph": 6.4}
    ions = {"nitrate_n": 175, "ammonium_n": 5}
    request = {"medium": medium | {"ions": ions}, "containers": POT, "crops": ["lettuce"]}
    told = summary_of(post, request)["salt"]["sentence"]
    assert "nitrate" in told
    assert "ammonium" not in told


@pytest.mark.parametrize("grown", [{"crops": ["lettuce"]}, {}])
def test_nothing_is_leached_where_all_that_is_known_is_that_a_crop_thrives(grown, post):
    medium = {"extraction": "one_to_two", "ec": 1.8}
    request = {"medium": medium, "containers": POT, "thriving_crops": ["lettuce"]} | grown
    told = summary_of(post, request)
    assert told["leading_cause"]["verdict"] == "possible"
    assert "yet it thrives" in told["leading_cause"]["evidence"]
    assert told["actions"] == []


def test_a_sign_of_harm_beside_a_thriving_crop_is_acted_on(post):
    medium = {"extraction": "one_to_two", "ec": 1.8}
    request = {
        "medium": medium,
        "containers": POT,
        "thriving_crops": ["beetroot"],
        "observations": ["stalled_at_first_leaves", "white_crust_when_dry"],
    }
    assert "flush" in {each["id"] for each in summary_of(post, request)["actions"]}


def test_sea_water_is_believed_and_replaced(post):
    """Sea water of salinity 35: 10.8 g Na, 19.4 g Cl, EC 53 (from memory), thinned a little."""
    ions = {"sodium": 8600, "chloride": 15500, "magnesium": 1040, "calcium": 330}
    ions |= {"sulfate_s": 720, "potassium": 310}
    medium = {"extraction": "saturated_media_extract", "ec": 43, "ph": 8.0, "ions": ions}
    answer = post("/v1/assessments", {"medium": medium, "containers": POT, "crops": ["lettuce"]})
    assert "unusual_ec" not in {each["id"] for each in answer["warnings"]}
    summary = answer["summary"]
    assert "contradiction" not in summary
    assert "sodium chloride" in summary["salt"]["sentence"]
    assert summary["actions"][0]["id"] == "replace"


@pytest.mark.parametrize("name", ["moonflower vine", "trumpet vine"])
def test_how_a_plant_grows_names_no_crop(name, post):
    medium = {"extraction": "one_to_two", "ec": 1.1}
    answer = post("/v1/assessments", {"medium": medium, "containers": POT, "crops": [name]})
    assert "crop_not_in_tables" in {each["id"] for each in answer["warnings"]}
    assert "Grape" not in answer["crops"][0]["name"]


def test_the_crop_whose_ph_range_it_is_is_named_among_several(client):
    request = {
        "medium": {"ec": 0.15, "ph": 5.6, "extraction": "one_to_five", "substrate": "loam"},
        "crops": ["potato", "carrot", "onion"],
    }
    told = client.post("/v1/assessments", json=request, headers={"Accept": "text/plain"})
    (line,) = [each for each in told.get_data(as_text=True).splitlines() if each.startswith("pH  ")]
    assert "(onion" in line
