import pytest


@pytest.fixture
def salty(demo_request):
    return demo_request["medium"]


@pytest.fixture
def fresh(salty):
    few = {"sodium": 40, "chloride": 50, "potassium": 60, "calcium": 120, "magnesium": 30}
    return salty | {"ec": 1.4, "ions": salty["ions"] | few | {"nitrate_n": 60}}


@pytest.fixture
def compare(post, demo_request):
    shared = {name: demo_request[name] for name in ("water", "containers", "crops")}

    def send(media, **more):
        return post("/v1/comparisons", shared | more | {"media": media})

    return send


def test_the_matrix_has_a_row_a_medium_that_agrees_with_its_assessment(
    compare, post, demo_request, salty, fresh
):
    answer = compare([{"name": "tub", "medium": salty}, {"medium": fresh}])
    tub, second = answer["comparison"]["matrix"]
    assert (tub["name"], second["name"]) == ("tub", "medium 2")
    alone = post("/v1/assessments", demo_request | {"observations": [], "thriving_crops": []})
    assert tub["ec_25c"] == alone["salinity"]["ec_25c"]
    assert tub["sar"] == alone["sodicity"]["medium"]["sar"]
    assert [crop["verdict"] for crop in tub["crops"]] == [
        crop["verdict"] for crop in alone["crops"]
    ]
    assert [plan["water_per_container"] for plan in tub["flush"]] == [
        plan.get("water_per_container") for plan in alone["flush_plan"]
    ]
    assert tub["nitrogen_status"] == "high"
    assert tub["ph"] == {"value": 6.4, "unit": "1"}
    assert tub["salt_type"] == "nutrient"
    assert tub["main_cause"]["cause"] == alone["causes"]["ranked"][0]["cause"]


def test_what_matters_most_comes_first(compare, salty, fresh):
    answer = compare([{"name": "tub", "medium": salty}, {"name": "fresh", "medium": fresh}])
    first = answer["comparison"]["differences"][0]
    assert first["id"] == "crop_verdict"
    assert first["sentence"] == "Bean (seedling) fails in tub; is held back in fresh."
    assert {"finding": "fails", "media": ["tub"]} in first["groups"]
    ids = [difference["id"] for difference in answer["comparison"]["differences"]]
    assert {"ec", "nitrogen"} <= set(ids)
    assert "ph" in answer["comparison"]["alike"]


def test_water_to_flush_with_is_told_where_one_medium_needs_none(compare, salty, fresh):
    media = [{"name": "tub", "medium": salty}, {"name": "new", "medium": fresh | {"ec": 0.6}}]
    told = [
        each
        for each in compare(media)["comparison"]["differences"]
        if each["id"] == "litres_to_flush"
    ]
    assert told
    assert "tub" in told[0]["sentence"]


def test_one_medium_twice_has_no_differences(compare, salty):
    answer = compare([{"name": "left", "medium": salty}, {"name": "right", "medium": salty}])
    assert answer["comparison"]["differences"] == []
    assert "crop_verdict" in answer["comparison"]["alike"]


def test_an_ec_within_the_uncertainty_of_the_other_is_no_difference(compare):
    media = [
        {"medium": {"ec": 0.9, "extraction": "one_to_two"}},
        {"medium": {"ec": 2.5, "extraction": "saturated_media_extract"}},
    ]
    assert "ec" in compare(media)["comparison"]["alike"]


def test_records_name_the_medium_they_belong_to(compare, fresh):
    answer = compare([{"medium": fresh}, {"medium": {"ec": 2.0}}])
    fields = {record["field"] for record in answer["assumptions"] if "field" in record}
    assert "/media/1/medium/extraction" in fields
    assert "/media/0/medium/extraction" not in fields
    assert not any(field.startswith("/medium") for field in fields)


def test_a_medium_without_ec_keeps_its_place(compare, fresh, salty):
    ions_only = {"extraction": "saturated_media_extract", "ions": {"nitrate_n": 300}}
    answer = compare([{"medium": ions_only}, {"medium": fresh}, {"medium": salty}])
    assert len(answer["comparison"]["matrix"]) == 3
    assert answer["comparison"]["matrix"][0]["nitrogen_status"] == "high"


def test_media_alone_can_be_compared(post, fresh, salty):
    answer = post("/v1/comparisons", {"media": [{"medium": fresh}, {"medium": salty}]})
    assert answer["comparison"]["matrix"][0]["crops"] == []
    assert {"ec"} <= {difference["id"] for difference in answer["comparison"]["differences"]}


@pytest.mark.parametrize(
    ("media", "pointer"),
    [
        ([{"medium": {"ec": 1}}], "/media"),
        ([{"medium": {"ec": 1}}] * 51, "/media"),
        ([{"medium": {"ec": 1}}, {"medium": {"ec": -1}}], "/media/1/medium/ec"),
        ([{"name": "a", "medium": {"ec": 1}}, {"name": "a", "medium": {"ec": 2}}], "/media/1/name"),
        ([{"medium": {"ec": 1}}, {}], "/media/1/medium"),
    ],
)
def test_bad_requests_name_the_field(refuse, media, pointer):
    assert refuse("/v1/comparisons", {"media": media})["errors"][0]["pointer"] == pointer


def test_a_single_medium_is_refused_where_many_are_meant(refuse):
    problem = refuse("/v1/comparisons", {"medium": {"ec": 1}})
    assert {error["pointer"] for error in problem["errors"]} >= {"/media", "/medium"}


def test_parts_choose_what_is_shown(post, fresh, salty):
    media = {"media": [{"medium": fresh}, {"medium": salty}]}
    whole = post("/v1/comparisons", media)
    for part in ("comparison", "assumptions", "warnings", "sources"):
        chosen = post(f"/v1/comparisons?parts={part}", media)
        assert chosen[part] == whole[part]
        beside = {"intervals"} if part == "assumptions" else set()
        assert chosen.keys() == {part, "not_computed", "trace", *beside}
    assert "sources" not in post("/v1/comparisons?sources=none", media)


def test_a_part_of_another_answer_is_refused_with_the_list(client, fresh, salty):
    media = {"media": [{"medium": fresh}, {"medium": salty}]}
    reply = client.post("/v1/comparisons?parts=flush_plan", json=media)
    assert reply.status_code == 422
    assert "comparison" in reply.json["errors"][0]["accepted"]


@pytest.mark.parametrize(
    ("media", "language", "names"),
    [
        ([{"sample_id": "A7"}, {"sample_id": "B1"}, {}], "en", ["A7", "B1", "medium 3"]),
        ([{"sample_id": "A"}, {"sample_id": "A"}], "de", ["Substrat 1", "Substrat 2"]),
        ([{"sample_id": "A"}, {"name": "A"}], "en", ["medium 1", "A"]),
        ([{"sample_id": "A", "name": "bark"}, {"sample_id": "A"}], "en", ["bark", "A"]),
    ],
)
def test_a_medium_without_a_name_goes_by_its_sample_or_its_place(post, media, language, names):
    media = [
        {"medium": {"extraction": "one_to_two", "ec": 0.5 + place}} | each
        for place, each in enumerate(media)
    ]
    answer = post("/v1/comparisons", {"media": media, "crops": ["lettuce"], "language": language})
    assert [each["name"] for each in answer["comparison"]["matrix"]] == names


def _salty(drainage=None, ec=1.8):
    """A salty medium, with a container of its own that drains or does not."""
    medium = {"medium": {"extraction": "one_to_two", "ec": ec}}
    return medium | ({"containers": [{"volume": "30 L", "drainage": drainage}]} if drainage else {})


def _at(request, pointer):
    for name in pointer.split("/")[1:]:
        request = request[int(name) if isinstance(request, list) else name]
    return request


def test_a_warning_names_its_medium_and_points_into_the_request(post):
    request = {"media": [{"name": "a", **_salty(ec=1.4)}, {"name": "b", **_salty(ec=0.4)}]}
    (unlikely,) = post("/v1/comparisons", request)["warnings"]
    assert unlikely["sentence"].startswith("b: Salt is unlikely")
    assert unlikely["field"] == "/media/1/medium"


def test_a_container_that_cannot_be_flushed_differs_from_one_that_can(post):
    request = {
        "media": [{"name": "a", **_salty("sealed")}, {"name": "b", **_salty("open")}],
        "crops": [{"crop": "pepper", "stage": "established"}],
        "water": {"ec": 0.5},
    }
    answer = post("/v1/comparisons", request)
    compared = answer["comparison"]
    assert "litres_to_flush" not in compared["alike"]
    (litres,) = (e for e in compared["differences"] if e["id"] == "litres_to_flush")
    assert "a: cannot be flushed, as its container cannot drain; b: 24 L" in litres["sentence"]
    (sealed,), (opened,) = (row["flush"] for row in compared["matrix"])
    assert sealed["possible"] is False
    assert "possible" not in opened
    (stop,) = (each for each in answer["warnings"] if each["severity"] == "stop")
    assert stop["field"] == "/media/0/containers/0/drainage"
    assert stop["sentence"].startswith("a: Do not flush")
    for each in answer["warnings"]:
        assert each["sentence"][:3] in ("a: ", "b: ")
        assert _at(request, each["field"])
    for record in answer["assumptions"]:
        assert not record.get("field", "").startswith("/containers")


def test_containers_that_all_cannot_drain_are_alike(post):
    request = {"media": [_salty(), _salty(ec=1.9)], "containers": _salty("sealed")["containers"]}
    answer = post("/v1/comparisons", request)
    assert "litres_to_flush" in answer["comparison"]["alike"]
    (stop,) = (each for each in answer["warnings"] if each["severity"] == "stop")
    # It is about every medium, and their one container.
    assert stop["sentence"].startswith("Do not flush")
    assert stop["field"] == "/containers/0/drainage"


def test_media_that_need_no_flush_are_alike_whether_they_drain_or_not(post):
    request = {"media": [_salty("sealed", 0.2), _salty("open", 0.2)], "water": {"ec": 0.5}}
    answer = post("/v1/comparisons", request)
    assert "litres_to_flush" in answer["comparison"]["alike"]
    assert all("possible" not in row["flush"][0] for row in answer["comparison"]["matrix"])


def test_media_with_unlike_counts_of_containers_are_not_called_alike(post):
    twice = _salty("open") | {"containers": _salty("open")["containers"] * 2}
    answer = post("/v1/comparisons", {"media": [_salty("open"), twice]})
    assert "litres_to_flush" not in answer["comparison"]["alike"]
    assert all(e["id"] != "litres_to_flush" for e in answer["comparison"]["differences"])


def test_water_that_is_too_salty_for_one_medium_is_no_want_of_water(post):
    request = {
        "media": [{"name": "a", **_salty(ec=0.2)}, {"name": "b", **_salty(ec=1.8)}],
        "containers": _salty("open")["containers"],
        "crops": [{"crop": "lettuce", "stage": "seedling"}],
        "water": {"ec": 4},
    }
    answer = post("/v1/comparisons", request)
    (litres,) = (e for e in answer["comparison"]["differences"] if e["id"] == "litres_to_flush")
    assert "a: none; b: no flush with this water gets it there" in litres["sentence"]


def test_nothing_is_said_of_stalled_plants_where_every_crop_grew(post):
    media = [
        {**_salty(ec=ec), "outcomes": [{"crop": "lettuce", "outcome": "thrived"}]}
        for ec in (0.4, 0.45)
    ]
    answer = post("/v1/comparisons", {"media": media})
    assert all(each["id"] != "salt_is_unlikely" for each in answer["warnings"])


def test_containers_without_names_are_told_by_their_place(post):
    kinds = [{"volume": "30 L", "drainage": "open"}, {"volume": "5 L", "drainage": "open"}]
    request = {"media": [_salty(ec=0.2), _salty(ec=1.8)], "containers": kinds}
    found = post("/v1/comparisons", request)["comparison"]["differences"]
    told = [each["sentence"] for each in found if each["id"] == "litres_to_flush"]
    assert len(told) == 2
    assert told[0] != told[1]
