"""Requests as people write them: what is taken, what is asked back, and what is doubted."""

import copy

import pytest

MEANT = {
    "medium": {"extraction": "SME", "ec": 1.8},
    "water": {"ec": 0.5},
    "containers": [{"volume": 11}],
    "crops": [{"crop": "lettuce", "stage": "seedling"}],
}


def written(pointer, value):
    """Return the request with another value at a pointer."""
    request = copy.deepcopy(MEANT)
    node, (*within, last) = request, pointer.strip("/").split("/")
    if last.isdigit():
        node[within[0]] = [value]
        return request
    for step in within:
        node = node[int(step)] if step.isdigit() else node.setdefault(step, {})
    node[last] = value
    return request


def readings(answer):
    return {
        row["field"]: row["value"]
        for row in answer["assumptions"]
        if row["id"].startswith("reading_of")
    }


@pytest.fixture
def plain(post):
    return post("/v1/assessments", MEANT)["salinity"]["ec_25c"]


@pytest.mark.parametrize(
    "text",
    [
        *("1,8", "1,8 mS/cm", "EC 1.8", "ca. 1.8", "1.8 mS/cm @25C", "1.8 mS/cm @ 25 °C", "18 CF"),
        *("900 ppm500", "1260 ppm (700)", "1.800 mS/cm", {"value": "1.8"}),
        *({"value": "1,8", "unit": "mS/cm"}, "1 800 µS/cm", "1.8 mmhos/cm"),
    ],
)
def test_one_ec_in_many_spellings(post, plain, text):
    assert post("/v1/assessments", written("/medium/ec", text))["salinity"]["ec_25c"] == plain


@pytest.mark.parametrize(
    ("pointer", "value", "because"),
    [
        ("/medium/ec", "1.800 µS/cm", "1.8 or 1800"),
        ("/medium/ec", "1,800 µS/cm", "1.8 or 1800"),
        ("/medium/ec", 1800, "1800 µS/cm is 1.8 dS/m"),
        ("/medium/ec", 180, "most often µS/cm"),
        ("/medium/ec", "900 ppm", "500, 640 or 700"),
        ("/medium/ec", "1152 mg/L", "500, 640 or 700"),
        ("/medium/ec", "1.8 mS", "a meter means mS/cm"),
        ("/medium/EC", 1800, "'ec'"),
        ("/medium/natrium", 60, "'sodium'"),
        ("/medium/leitfähigkeit", 1.8, "'ec'"),
        ("/medium/conductivity", 1.8, "'ec'"),
        ("/medium/ions/K2O", 300, "'100 mg/L K2O'"),
        ("/medium/ions/nitrate", 440, "'100 mg/L NO3'"),
        ("/medium/ions/SO4", 100, "'100 mg/L SO4'"),
        ("/medium/SO4", 100, "'ions'"),
        ("/medium/ions/Na", 60, "'sodium'"),
        ("/medium/ions/HCO3", 60, "'bicarbonate'"),
        ("/medium/ions/sodium", "30 mg/kg", "by weight"),
        ("/medium/ions/sodium", "30 mg/100g", "by weight"),
        ("/medium/ions/sodium", "30 kg/ha", "rate for land"),
        ("/medium/extraction", "1:5 w/w", "by weight"),
        ("/medium/extraction", "1:6", "no published conversion"),
        ("/medium/substrate", "compost", "green_waste_compost"),
        ("/plant_age", "2025-03-12", "3 weeks"),
        ("/plant_age", "12.03.2025", "3 weeks"),
        ("/containers/0/volume", "1.000 mL", "1 or 1000"),
        ("/containers/0/volume", "10 inch", "does not fit"),
        ("/medium/temperature", 70, "at most 60 °C"),
        ("/sample_date", "2025-03-12", "'sampled_on'"),
        ("/crops", ["Brassica rapa"], "Turnip"),
        ("/crops", ["endive"], "Chicory in French"),
        ("/crops", ["lima"], "Lime in Spanish"),
        ("/observations", ["leaves look strange"], "Nearest"),
    ],
)
def test_what_is_open_or_wrong_is_asked_back(refuse, pointer, value, because):
    problem = refuse("/v1/assessments", written(pointer, value))
    assert because in " ".join(fault["detail"] for fault in problem["errors"])


@pytest.mark.parametrize(
    ("pointer", "value", "reading"),
    [
        ("/medium/extraction", "2:1", "two parts of water"),
        ("/medium/extraction", "leachate", "pour-through"),
        ("/medium/extraction", "slurry", "1:2"),
        ("/medium/substrate", "Torf", "Sphagnum peat"),
        ("/medium/substrate", "coco coir", "Coir dust"),
        ("/medium/ions/boron", "n.d.", "not given"),
        ("/medium/ions/boron", "-", "not given"),
        ("/medium/ions/boron", "<0.5", "between 0 and 0.5"),
        ("/medium/ions/nitrate_n", "440 mg/L NO3", "mass of NO3"),
        ("/medium/ions/potassium", "300 mg/L K2O", "mass of K2O"),
        ("/medium/ph", "6,4", "6.4"),
        ("/containers/0/volume", "3 gal", "US measure"),
        ("/containers/0/volume", "#3", "trade size"),
        ("/crops/0/crop", "letuce", "lettuce"),
        ("/crops/0/stage", "plug", "seedling"),
        ("/crops/0/stage", "young plant", "seedling"),
        ("/observations/0", "white crust", "White crust when dry"),
        ("/language", "it", "in English"),
    ],
)
def test_what_was_read_into_a_text_is_listed(post, pointer, value, reading):
    answer = post("/v1/assessments", written(pointer, value))
    assert reading in readings(answer)[pointer]


@pytest.mark.parametrize(
    ("pointer", "value"),
    [
        ("/medium/ions/boron", ""),
        ("/medium/ions/boron", None),
        ("/water/hardness", "10 gpg"),
        ("/water/hardness", "20 °fH"),
        ("/water/alkalinity", "150 mg/L CaCO3"),
        ("/medium/ions/sodium", "5 epm"),
        ("/medium/container_capacity", "55 vol%"),
        ("/leaching_efficiency", "65 %"),
        ("/medium/extraction", "1:2 v/v"),
        ("/medium/extraction", "pour thru"),
        ("/medium/extraction", "ECe"),
        ("/crops", ["lettuce"]),
        ("/crops", "lettuce"),
        ("/containers", {"volume": 11}),
        ("/containers", {"pot": "#3"}),
        ("/containers", ["3 gal"]),
        ("/containers/0/drainage", True),
        ("/containers/0/drainage", "yes"),
        ("/observations", "white crust"),
        ("/water", 0.5),
        ("/sample_id", "x"),
    ],
)
def test_what_leaves_nothing_open_is_taken(post, pointer, value):
    post("/v1/assessments", written(pointer, value))


@pytest.mark.parametrize(
    ("pointer", "value", "finding"),
    [
        ("/medium/ec", 0.0018, "unusually_low_ec"),
        ("/medium/ec", 0.04, "unusually_low_ec"),
        ("/medium/ec", 18, "unusual_ec"),
        ("/water/ec", 65, "unusual_water_ec"),
        ("/containers/0/volume", 11_000, "unusual_volume"),
        ("/containers/0", {"volume": "1 gal", "height": "6 ft"}, "unusual_height"),
        ("/containers/0", {"volume": "5 L", "height": 100}, "unusual_height"),
        ("/medium/ec", "> 1.5", "range_decides"),
        ("/medium/ions/boron", "< 2", "range_decides"),
    ],
)
def test_what_can_hardly_be_is_doubted_and_never_ends_in_an_all_clear(
    post, pointer, value, finding
):
    answer = post("/v1/assessments", written(pointer, value))
    found = {warning["id"] for warning in answer["warnings"]}
    assert finding in found
    assert "salt_is_unlikely" not in found
    assert answer["summary"]["contradiction"]["id"] in found
    assert "not the problem" not in answer["summary"]["leading_cause"]["sentence"]


@pytest.mark.parametrize(
    ("pointer", "value"),
    [
        ("/medium/ec", 1.8),
        ("/medium/ec", "1.7-1.9"),
        ("/medium/ph", "6.0-6.4"),
        ("/water/ec", 2.5),
        ("/containers/0/volume", 900),
        ("/containers/0", {"volume": "0.65 L", "height": "25 cm"}),
    ],
)
def test_an_ordinary_figure_is_not_doubted(post, pointer, value):
    answer = post("/v1/assessments", written(pointer, value))
    assert "contradiction" not in answer["summary"]


def test_a_crop_that_no_table_has_keeps_the_answer_and_is_told_first(post):
    for name in ("gerbera", "a plant of the shore"):
        answer = post("/v1/assessments", MEANT | {"crops": [name]})
        assert answer["summary"]["caveat"]["id"] == "crop_not_in_tables"
        assert answer["crops"][0]["threshold"] is None
        assert answer["crops"][0]["verdict"]


@pytest.mark.parametrize(
    ("path", "request_"),
    [
        (
            "/v1/flush-plans",
            {"medium": 1.8, "containers": "11 L", "crops": ["gerbera"]},
        ),
        ("/v1/leaching-requirement", {"water": 0.5, "crops": ["gerbera"]}),
        (
            "/v1/comparisons",
            {"media": [{"medium": 1.8}, {"medium": "2,5"}], "crops": ["gerbera"]},
        ),
    ],
)
def test_wherever_crops_are_taken_an_unknown_one_is_said(post, path, request_):
    answer = post(path, request_)
    assert "crop_not_in_tables" in {warning["id"] for warning in answer["warnings"]}


@pytest.mark.parametrize(
    ("language", "name", "crop"),
    [("fr", "endive", "chicory"), ("en", "endive", "endive_escarole"), ("es", "lima", "lime")],
)
def test_the_language_of_the_request_settles_a_name(post, language, name, crop):
    answer = post("/v1/assessments", MEANT | {"language": language, "crops": [name]})
    assert answer["crops"][0]["crop"] == crop


def test_the_volume_follows_from_the_size_up_to_the_fill_line(post):
    size = {"top_diameter": 30, "bottom_diameter": 24, "height": 25}
    answer = post("/v1/assessments", MEANT | {"containers": [size]})
    # A frustum: pi h (D² + D d + d²) / 12.
    assert "14.4 L" in readings(answer)["/containers/0/volume"]


def test_a_range_that_does_not_touch_the_first_cause_leaves_it_as_sure(post):
    trace = {"micronutrients": {"copper": "<0.05 mg/L"}}
    answer = post("/v1/assessments", MEANT | {"medium": {"extraction": "SME", "ec": 6} | trace})
    assert answer["summary"]["leading_cause"]["verdict"] == "supported"
    assert "contradiction" not in answer["summary"]
    wide = {"medium": {"extraction": "SME", "ec": "0.5-6"} | trace}
    answer = post("/v1/assessments", MEANT | wide)
    assert answer["summary"]["contradiction"]["id"] == "range_decides"
