"""The short words: within their limits, with what a grower needs, and nothing that is lost."""

import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from saltcalc.parts import telling
from saltcalc.words.text import as_markdown, as_text, short
from tests.sentences import sentences

SME = "saturated_media_extract"
REPORT = {
    "nitrate_n": 80, "ammonium_n": 4, "phosphorus": 6, "potassium": 150, "calcium": 120,
    "magnesium": 45, "sodium": 30, "chloride": 40, "sulfate_s": 60,
}  # fmt: skip
HEALTHY = {
    "medium": {"extraction": SME, "ec": 1.6, "ph": 6.0, "ions": REPORT},
    "water": {"ec": 0.3},
    "containers": [{"volume": "3 L", "height": "15 cm", "drainage": "open"}],
    "crops": [{"crop": "tomato", "stage": "seedling"}],
}
SEALED = {
    "medium": {"extraction": "one_to_two", "ec": "2400 µS/cm"},
    "water": {"ec": 0.4},
    "containers": [{"volume": "20 L", "drainage": "sealed"}],
    "crops": [{"crop": "pepper", "stage": "seedling"}],
}
BORON = {
    "medium": {"extraction": SME, "ec": 1.6, "ph": 6.2, "ions": {"boron": 2.5}},
    "water": {"ec": 0.5, "ions": {"boron": 1.2}},
    "containers": [{"volume": "3 L"}],
    "crops": [{"crop": "bean"}],
    "observations": ["marginal_burn"],
}
ACID = {
    "medium": {"extraction": SME, "ec": 1.2, "ph": 4.6},
    "containers": [{"volume": "1 L"}],
    "crops": [{"crop": "marigold"}],
    "observations": ["yellow_between_veins_young_leaves"],
}
TEN_TIMES = {
    "medium": {
        "extraction": SME, "ec": 22, "ph": 6.2, "ions": {**REPORT, "bicarbonate": "1 mmol/L"},
    },
    "crops": [{"crop": "tomato"}],
}  # fmt: skip
OF_ONE_KIND = {
    "healthy": HEALTHY,
    "sealed": SEALED,
    "boron": BORON,
    "too acid": ACID,
    "ten times": TEN_TIMES,
    "floor": {
        "medium": {"extraction": SME, "ions": {"nitrate_n": 300, "potassium": 500}},
        "containers": [{"volume": "10 L"}],
        "crops": [{"crop": "lettuce", "stage": "seedling"}],
    },
    "chloride": {
        "medium": {
            "extraction": SME, "ec": 3, "ph": 6.5,
            "ions": {"chloride": 500, "sodium": 250, "calcium": 100},
        },
        "water": {"ec": 1.2, "ions": {"chloride": 250, "sodium": 160}},
        "containers": [{"volume": "5 L"}],
        "crops": [{"crop": "strawberry", "stage": "established"}],
        "observations": ["marginal_burn"],
    },
    "re-test": {
        "medium": {"extraction": "one_to_two", "ec": 0.9},
        "previous": {"extraction": "one_to_two", "ec": 2.1, "applied": "20 L"},
        "water": {"ec": 0.3},
        "containers": [{"volume": "10 L"}],
        "crops": [{"crop": "lettuce", "stage": "seedling"}],
    },
    "unknown crop": {
        "medium": {"extraction": SME, "ec": 2.6},
        "containers": [{"volume": "2 L"}],
        "crops": [{"crop": "gerbera", "stage": "seedling"}],
    },
    "bare": {
        "medium": {"ec": 1.8},
        "containers": [{"volume": "3 gal"}],
        "crops": [{"crop": "lettuce", "stage": "seedling"}],
    },
    "ammonium": {
        "medium": {
            "extraction": SME, "ec": 2.2, "ph": 7.6, "ions": {"ammonium_n": 60, "nitrate_n": 10},
        },
        "containers": [{"volume": "2 L"}],
        "crops": [{"crop": "tomato", "stage": "seedling"}],
        "observations": ["ammonia_smell"],
    },
    "hungry": {
        "medium": {
            "extraction": SME, "ec": 0.4, "ph": 5.8,
            "ions": {"nitrate_n": 4, "phosphorus": 0.5, "potassium": 20},
        },
        "containers": [{"volume": "2 L"}],
        "crops": [{"crop": "lettuce"}],
        "observations": ["yellow_older_leaves"],
    },
    "sodic": {
        "medium": {
            "extraction": "saturated_paste", "ec": 3, "ph": 8.3,
            "ions": {
                "sodium": 550, "calcium": 40, "magnesium": 15, "chloride": 400,
                "bicarbonate": "8 mmol/L",
            },
        },
        "water": {"ec": 0.9},
        "containers": [{"volume": "10 L"}],
        "crops": [{"crop": "tomato", "stage": "established"}],
    },
    "water and signs": {
        "medium": {},
        "water": {"ec": 2.2, "ph": 7.9, "ions": {"sodium": 300, "chloride": 420}},
        "crops": [{"crop": "bean"}],
        "observations": ["marginal_burn"],
    },
    "signs": {"medium": {}, "observations": ["marginal_burn", "white_crust_when_dry"]},
}  # fmt: skip
SEVERAL = {
    "medium": {"extraction": SME, "ec": "4,5 mS/cm"},
    "water": {"ec": 0.5},
    "containers": [
        {"name": "pot", "volume": "1 L"},
        {"name": "tub", "volume": "30 L"},
        {"name": "box", "volume": "15 L", "drainage": "sealed"},
        {"name": "bed", "volume": "80 L"},
        {"name": "tray", "volume": "3 L"},
    ],
    "crops": [{"crop": "bean", "stage": "seedling"}],
}


def within_limits(text, sheet, most_lines, most_words):
    """Hold what stands beside the results to the limits: labels, blank lines and all."""
    lines = text.splitlines()
    results = len(sheet.results) and len(sheet.results) + 1
    wrapped = [line for line in lines if sheet.others and line.startswith("  ") and line[2] != " "]
    beside = len(lines) - results - len(sheet.others) - len(wrapped)
    said = [each for part in sheet.parts for each in (part.label, *part.said)]
    said.append(sheet.trace)
    assert max(map(len, lines)) <= 100
    assert beside <= most_lines, text
    assert sum(len(each.split()) for each in said) <= most_words, text
    assert not re.search(r"\b(nan|inf|None|null|see the options)\b|[{}]|_", text), text


@pytest.fixture
def sheet(post):
    """Post a request and return its answer in short words."""
    return lambda request, query="": short(post(f"/v1/assessments{query}", request), request)


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("request_", OF_ONE_KIND.values(), ids=OF_ONE_KIND)
def test_it_is_short(request_, units, sheet):
    told = sheet(request_, f"?units={units}")
    within_limits(as_text(told), told, 25, 250)


def test_it_is_short_for_containers_of_several_kinds(demo_request, sheet):
    for request in (demo_request, SEVERAL):
        told = sheet(request)
        within_limits(as_text(told), told, 40, 350)


ANY = st.fixed_dictionaries(
    {
        "medium": st.fixed_dictionaries(
            {"ec": st.floats(0.05, 15).map(lambda ec: float(f"{ec:.2g}"))},
            optional={
                "extraction": st.sampled_from([SME, "one_to_two", "pour_through", "press"]),
                "ph": st.sampled_from([4.2, 5.8, 6.4, 8.1]),
                "ions": st.dictionaries(
                    st.sampled_from(sorted(REPORT)), st.sampled_from([2, 60, 400]), max_size=9
                ),
            },
        ),
        "crops": st.lists(
            st.fixed_dictionaries(
                {
                    "crop": st.sampled_from(["lettuce", "tomato", "strawberry", "gerbera"]),
                    "stage": st.sampled_from(["germination", "seedling", "established"]),
                }
            ),
            max_size=2,
            unique_by=lambda crop: crop["crop"],
        ),
        "containers": st.lists(
            st.fixed_dictionaries(
                {
                    "volume": st.sampled_from([0.03, 1, 12, 80]),
                    "drainage": st.sampled_from(["open", "sealed"]),
                }
            ),
            max_size=1,
        ),
        "observations": st.lists(
            st.sampled_from(
                ["marginal_burn", "stays_wet", "repels_water_after_drying", "ammonia_smell"]
            ),
            max_size=2,
            unique=True,
        ),
    },
    optional={"water": st.fixed_dictionaries({"ec": st.sampled_from([0.1, 0.8, 2.5])})},
)


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(request=ANY)
def test_whatever_is_asked_it_is_short(request, sheet):
    told = sheet(request)
    within_limits(as_text(told), told, 25, 250)


def _said(sheet, label):
    return " ".join(said for part in sheet.parts if part.label == label for said in part.said)


def test_a_healthy_medium_gets_little_more_than_that_it_is(sheet):
    told = sheet(HEALTHY)
    assert [part.label for part in told.parts] == [""]
    assert told.parts[0].said[0] == "No figure is out of range. Nothing to correct now."
    assert not told.results
    for figure in ("EC, SME 1.6 dS/m", "pH 6", "nitrate nitrogen 80", "chloride 40 mg/L"):
        assert figure in told.others[0]


def test_the_demo_says_what_to_do_and_what_not(demo_request, sheet):
    told = sheet(demo_request)
    for label, words in (
        ("Today", ("dripper", "87 L", "0.77 dS/m or less", "tub with a liner", "wet it through")),
        ("Today", ("mix 13 %", "low-salt")),
        ("This week", ("39 %", "assumed: 15 % drains now")),
        ("Do not", ("cannot drain", "nitrate nitrogen", "local rules", "feed until")),
        ("To be sure", ("root-zone medium of several", "cress", "only in the rinsed medium")),
        ("Assumed", ("carries salt off", "things in all")),
    ):
        for word in words:
            assert word in _said(told, label), (label, word)


def test_results_stand_in_the_units_of_the_report(sheet):
    ions = {"nitrate_n": "1200 mg/L NO3", "sodium": {"value": 2, "unit": "mmol/L"}, "chloride": 90}
    medium = {"extraction": SME, "ec": "2600 µS/cm", "ions": ions}
    told = sheet({"medium": medium, "crops": [{"crop": "lettuce", "stage": "seedling"}]})
    rows = {row.name: row for row in told.results}
    assert rows["EC, SME"].found == "2,600 µS/cm"
    assert rows["EC, SME"].range.startswith("up to 1,300 ")
    # 40 to 199 mg/L as nitrogen, by the masses of NO3 and N (62.005 and 14.007).
    assert rows["nitrate nitrogen"].cells[1:] == ("1,200 mg/L NO3", "180 to 880", "high")
    assert "sodium 2 mmol/L" in told.others[0]


def test_the_range_is_of_the_method_of_the_report(sheet):
    medium = {"extraction": "one_to_two", "ec": 1.0, "ions": {"nitrate_n": 4}}
    row = next(row for row in sheet({"medium": medium}).results if row.name == "nitrate nitrogen")
    assert row.mark == "low"
    assert row.range.startswith("about ")
    assert float(row.range.split()[1]) < 40


def test_a_reading_at_another_temperature_says_at_which_it_is_told(sheet):
    medium = {"extraction": SME, "ec": "3900 µS/cm", "temperature": 15}
    told = sheet({"medium": medium, "crops": [{"crop": "bean"}]})
    assert told.results[0].found.endswith("µS/cm at 25 °C")


def test_a_report_in_doubt_is_to_be_checked_first(sheet):
    told = sheet(TEN_TIMES)
    assert "contradict" in told.parts[0].said[0]
    assert _said(told, "Today").startswith("Check the report")


def test_figures_that_contradict_each_other_are_in_range_only_if_they_are_right(sheet):
    ions = {"nitrate_n": 90, "potassium": 120, "calcium": 150, "magnesium": 60, "sodium": 30}
    ions |= {"chloride": 40, "phosphorus": 6, "sulfate_s": 60, "ammonium_n": 4}
    medium = {"extraction": "SME", "ec": 1.2, "ph": 5.9, "ions": ions}
    told = sheet({"medium": medium, "crops": [{"crop": "tomato", "stage": "seedling"}]})
    text = " ".join(as_text(told).split())
    assert "If the figures are right, none of them is out of range." in text
    assert "Nothing to correct" not in text


def test_how_much_to_pour_at_once_follows_how_much_to_pour(sheet):
    medium = {"extraction": "SME", "ec": 2.1, "ph": 5.9, "ions": {"ammonium_n": 60, "nitrate_n": 8}}
    told = sheet(
        {
            "medium": medium,
            "crops": [{"crop": "lettuce", "stage": "seedling"}],
            "containers": [{"volume": "5 L", "height": "8 cm"}],
        }
    )
    today = _said(told, "Today")
    assert today.index("Pour") < today.index("at a time")


def test_a_sealed_tub_is_not_flushed_and_nitrate_is_caught(sheet):
    assert _said(sheet(SEALED), "Today").startswith("Mix 14 % of this medium")
    told = sheet(SEALED | {"medium": SEALED["medium"] | {"ec": "1900 µS/cm"}})
    assert "over a tray, and leach by dripper" in _said(told, "Today")
    assert "flush a container that cannot drain" in _said(told, "Do not")
    assert "drains, wells or watercourses" in _said(told, "Do not")


def test_the_correction_belongs_to_the_cause(sheet):
    told = sheet(ACID)
    assert "pH too low" in told.parts[0].said[0]
    assert "limestone" in _said(told, "Today")
    assert "g/L" in _said(told, "Next crop")
    assert _said(told, "Do not").startswith("flush:")


def test_what_moves_the_answer_most_is_said(sheet):
    told = sheet({"medium": {"ec": 1.8}, "crops": [{"crop": "lettuce"}]})
    assert _said(told, "Assumed").startswith("the method is saturated media extract (SME); ")


@pytest.mark.parametrize("assumption", ["leaching_efficiency", *telling._may_be()])
def test_whatever_may_move_the_answer_has_its_words(assumption):
    assert f"supposed.{assumption}" in sentences()


def test_markdown_holds_the_same(demo_request, sheet):
    told = sheet(demo_request)
    text = as_markdown(told)
    assert text.startswith("**The medium is too salty")
    assert "| nitrate nitrogen | 270 mg/L | 40 to 200 | high |" in text
    for part in told.parts[1:]:
        assert f"## {part.label}" in text
        for said in part.said:
            assert f"- {said}" in text


def test_containers_without_names_are_told_apart(sheet):
    pots = [{"volume": "#3", "count": 200}, {"volume": "5 gal", "count": 40}]
    told = sheet(
        {
            "medium": {"extraction": "pour_through", "ec": 6.5, "substrate": "bark"},
            "crops": [{"crop": "azalea"}],
            "containers": pots,
        }
    )
    today = _said(told, "Today")
    assert "(container 1 of 11 L)" in today
    assert "(container 2 of 19 L)" in today


def test_a_figure_that_no_range_is_known_of_is_not_told_to_be_in_range(sheet):
    ions = {"nitrate_n": "30 ppm", "potassium": "900 ppm"}
    told = sheet(
        {
            "medium": {"extraction": "1:2", "ec": 0.55, "ph": 5.8, "ions": ions},
            "crops": [{"crop": "pansy", "stage": "seedling"}],
        }
    )
    assert [said.partition(":")[0] for said in told.others] == ["In range", "No range known"]
    assert "nitrate nitrogen 30" in told.others[0]
    assert told.others[1] == "No range known: potassium 900 ppm."


def test_an_ec_that_is_only_the_least_is_never_in_range(sheet):
    ions = {"nitrate_n": 130, "potassium": 180, "phosphorus": 9}
    told = sheet(
        {
            "medium": {"extraction": "SME", "ph": 6.1, "ions": ions},
            "crops": [{"crop": "lettuce", "stage": "seedling"}],
        }
    )
    assert "at least 1.2 dS/m" in " ".join(told.parts[0].said)
    assert "nitrate nitrogen 130" in told.others[0]
    assert "EC" not in told.others[0]
