"""Spellings of one quantity get one answer, to the digits that are shown, over HTTP."""

import math

import pytest

BASE = {
    "medium": {
        "extraction": "one_to_two",
        "ec": 1.5,
        "temperature": 20,
        "ions": {"sodium": 100, "calcium": 120, "magnesium": 40},
    },
    "water": {"ec": 0.4},
    "containers": [{"volume": 11.356235352, "height": 22.86, "drainage": "open"}],
    "crops": [{"crop": "lettuce", "stage": "seedling"}],
}


def numbers(node, path=""):
    """Yield every number of an answer with its path."""
    if isinstance(node, dict):
        for name, member in node.items():
            yield from numbers(member, f"{path}/{name}")
    elif isinstance(node, list):
        for place, member in enumerate(node):
            yield from numbers(member, f"{path}/{place}")
    elif isinstance(node, int | float) and not isinstance(node, bool):
        yield path, node


def changed(pointer, value):
    def copy(node, steps):
        if not steps:
            return value
        step = int(steps[0]) if isinstance(node, list) else steps[0]
        twin = list(node) if isinstance(node, list) else dict(node)
        twin[step] = copy(node[step], steps[1:])
        return twin

    return copy(BASE, pointer.split("/")[1:])


@pytest.mark.parametrize(
    ("pointer", "spelling"),
    [
        ("/medium/ec", "1500 µS/cm"),
        ("/medium/ec", "1.5 mS/cm"),
        ("/medium/ec", "1.5 mmho/cm"),
        ("/medium/ec", "0.15 S/m"),
        ("/medium/ec", {"value": 1500, "unit": "uS/cm"}),
        ("/medium/temperature", "68 °F"),
        ("/medium/temperature", "293.15 K"),
        ("/medium/ions/sodium", "100 ppm"),
        ("/medium/ions/sodium", "4.34976092113 meq/L"),
        ("/medium/ions/calcium", "2.994161385 mmol/L"),
        ("/medium/ions/magnesium", {"value": 0.04, "unit": "g/L"}),
        ("/containers/0/volume", "3 US gal"),
        ("/containers/0/volume", "12 US quarts"),
        ("/containers/0/volume", "11356.235352 mL"),
        ("/containers/0/height", "9 inches"),
        ("/containers/0/height", "0.75 ft"),
        ("/water/ec", "400 µS/cm"),
    ],
)
def test_spellings_agree(pointer, spelling, post):
    expected = dict(numbers(post("/v1/assessments", BASE)))
    found = dict(numbers(post("/v1/assessments", changed(pointer, spelling))))
    expected = {path: value for path, value in expected.items() if "assumption" not in path}
    for path, value in expected.items():
        assert math.isclose(found[path], value, rel_tol=1.1e-4), path  # a step of the fifth digit


def test_gallons_of_two_kinds_are_told_apart(post):
    def held(unit):
        answer = post("/v1/assessments", changed("/containers/0/volume", f"3 {unit}"))
        return answer["flush_plan"][0]["water_held"]["value"]

    # NIST Special Publication 811, Appendix B: 4.54609 L and 3.785412 L.
    expected = pytest.approx(4.54609 / 3.785412, rel=5e-5)
    assert held("imperial gal") / held("US gal") == expected


@pytest.mark.parametrize(
    ("pointer", "spelling", "word"),
    [("/containers/0/volume", "3 gal", "US measure"), ("/medium/ions/sodium", "100 ppm", "mg/L")],
)
def test_what_a_text_left_open_is_listed_with_its_field(pointer, spelling, word, post):
    answer = post("/v1/assessments", changed(pointer, spelling))
    read = next(each for each in answer["assumptions"] if each["field"] == pointer)
    assert word in read["value"]


@pytest.mark.parametrize(
    ("extraction", "limit"),
    [("one_to_two", 2.3), ("one_to_two", 1.3), ("pour_through", 4.6), ("saturated_paste", 8)],
)
def test_spellings_of_a_class_limit_fall_in_one_class(extraction, limit, post):
    spellings = [limit, f"{limit} mS/cm", f"{limit * 1000:g} µS/cm", f"{limit / 10:g} S/m"]
    found = {
        post("/v1/assessments", {"medium": {"extraction": extraction, "ec": spelling}})["salinity"][
            "class"
        ]
        for spelling in spellings
    }
    assert len(found) == 1


def test_numbers_without_a_dimension_are_read_from_text(post):
    said = {
        "medium": {"ec": 1.5, "ph": "6.5", "container_capacity": "55 %"},
        "containers": [{"volume": 10, "count": "12", "relative_water_content": "60 %"}],
        "leaching_efficiency": {"value": 80, "unit": "%"},
    }
    plain = {
        "medium": {"ec": 1.5, "ph": 6.5, "container_capacity": 0.55},
        "containers": [{"volume": 10, "count": 12, "relative_water_content": 0.6}],
        "leaching_efficiency": 0.8,
    }
    read, same = (post("/v1/assessments", request) for request in (said, plain))
    assert read.pop("trace")["request"] != same.pop("trace")["request"]
    assert read == same


@pytest.mark.parametrize(
    ("written", "method"),
    [
        ("SME", "saturated_media_extract"),
        ("Saturated paste extract", "saturated_paste"),
        ("1:2", "one_to_two"),
        ("1:1.5 by volume", "one_to_one_and_half"),
        ("Pour through", "pour_through"),
        ("squeeze", "press"),
    ],
)
def test_a_method_is_known_by_its_name_too(post, written, method):
    answer = post("/v1/assessments", {"medium": {"ec": 2, "extraction": written}})
    assert answer["salinity"]["method"] == method


def test_the_case_of_a_choice_does_not_matter(post):
    request = {
        "medium": {"ec": 2, "substrate": "Coir green compost"},
        "containers": [{"volume": 10, "drainage": "Sealed"}],
        "crops": [{"crop": "lettuce", "stage": "Established"}],
    }
    answer = post("/v1/assessments", request)
    assert answer["flush_plan"][0]["drainage"] == "sealed"
    assert answer["crops"][0]["stage"] == "established"


def test_a_mass_of_nitrate_is_taken_as_nitrogen_and_the_answer_says_so(post):
    answer = post("/v1/ions", {"medium": {"ec": 1.5, "ions": {"nitrate_n": "200 mg/L NO3"}}})
    (told,) = [each for each in answer["assumptions"] if "NO3" in str(each["value"])]
    assert told["field"] == "/medium/ions/nitrate_n"
