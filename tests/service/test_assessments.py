"""The whole answer over HTTP."""

import itertools

import pytest

from saltcalc.service.resources.assessments import EXAMPLE

PARTS = [
    "salinity",
    "sodicity",
    "ions",
    "leaching",
    "flush_plan",
    "crops",
    "causes",
    "warnings",
    "assumptions",
    "not_computed",
    "sources",
]


def walk(node):
    """Yield every object of an answer."""
    if isinstance(node, dict):
        yield node
        for member in node.values():
            yield from walk(member)
    elif isinstance(node, list):
        for member in node:
            yield from walk(member)


def warnings(answer):
    return {warning["id"]: warning for warning in answer["warnings"]}


def test_the_answer_has_every_part(post, demo_request):
    answer = post("/v1/assessments", demo_request)
    assert [part for part in PARTS if part not in answer] == []


def test_an_ec_and_a_container_are_enough(post):
    answer = post("/v1/assessments", {"medium": {"ec": 4}, "containers": [{"volume": 10}]})
    assert answer["salinity"]["class"] == "high"
    assert answer["flush_plan"][0]["passes"]
    assumed = {each["id"]: each for each in answer["assumptions"]}
    assert assumed["extraction"]["value"] == "saturated_media_extract"
    assert assumed["container_drainage"]["field"] == "/containers/0/drainage"
    assert {"substrate", "water_ec", "container_height", "container_count"} <= assumed.keys()
    missing = {each["part"]: each["missing"] for each in answer["not_computed"]}
    assert missing["crops"] == ["/crops"]
    assert missing["leaching"] == ["/crops", "/water/ec"]
    assert "/medium/ions/sodium" in missing["sodicity/medium"]


def test_what_was_given_is_not_listed_as_assumed(post, demo_request):
    answer = post("/v1/assessments", demo_request)
    assumed = {each["id"] for each in answer["assumptions"]}
    assert not assumed & {"extraction", "substrate", "water_ec", "container_height", "stage"}


def test_the_example_of_the_document_is_answered(post):
    assert post("/v1/assessments", EXAMPLE)["flush_plan"][0]["passes"]


def test_every_source_key_resolves(post, demo_request):
    answer = post("/v1/assessments", demo_request)
    for part in walk(answer):
        for key in part.get("sources", []) if isinstance(part.get("sources"), list) else []:
            assert answer["sources"][key]["citation"]


def test_a_sealed_container_is_never_flushed(post, demo_request):
    answer = post("/v1/assessments", demo_request)
    plans = {plan["container"]: plan for plan in answer["flush_plan"]}
    sealed = plans["tub with a liner"]
    assert sealed["passes"] == 0
    assert "water_per_container" not in sealed
    assert "water_total" not in sealed
    blend = next(option for option in sealed["options"] if option["id"] == "blend")
    assert 0 < blend["salty_fraction"]["value"] < 1
    assert warnings(answer)["sealed_container"]["severity"] == "stop"


def test_a_flush_comes_down_pass_by_pass_to_its_target(post, demo_request):
    plan = post("/v1/assessments?passes=all", demo_request)["flush_plan"][0]
    readings = plan["pass_by_pass"]["pore_water"]["values"]
    assert len(readings) == plan["passes"]
    assert all(later < earlier for earlier, later in itertools.pairwise(readings))
    poured = plan["passes"] * plan["applied_each"]["value"]
    assert poured == pytest.approx(plan["water_per_container"]["value"], rel=5e-5)
    assert plan["water_total"]["value"] == pytest.approx(
        12 * plan["water_per_container"]["value"], rel=5e-5
    )


def test_a_water_above_the_target_cannot_reach_it(post):
    answer = post(
        "/v1/assessments",
        {
            "medium": {"extraction": "saturated_media_extract", "ec": 4},
            "water": {"ec": 5},
            "containers": [{"volume": 10, "drainage": "open"}],
            "crops": [{"crop": "bean", "stage": "seedling"}],
        },
    )
    assert answer["flush_plan"][0]["passes"] == 0
    assert answer["leaching"][0]["requirement"] is None
    assert answer["leaching"][0]["gross_irrigation_ratio"] is None
    found = warnings(answer)
    assert found["target_below_water"]["severity"] == "stop"
    assert found["water_too_saline"]["field"] == "leaching/0/requirement"


def test_a_medium_at_its_target_is_not_flushed(post):
    answer = post(
        "/v1/assessments",
        {
            "medium": {"extraction": "saturated_media_extract", "ec": 1.0},
            "containers": [{"volume": 10, "drainage": "open"}],
        },
    )
    assert answer["flush_plan"][0]["water_per_container"]["value"] == 0
    assert answer["flush_plan"][0]["passes"] == 0
    assert "no_flush_needed" in warnings(answer)


def test_the_same_figure_is_another_class_by_another_method(post):
    # Univ. of Massachusetts Extension, greenhouse media fact sheet, Table 2: 2.6 dS/m.
    found = {
        method: post("/v1/assessments", {"medium": {"extraction": method, "ec": 2.6}})["salinity"][
            "class"
        ]
        for method in ("one_to_two", "saturated_media_extract", "pour_through")
    }
    assert found == {
        "one_to_two": "extreme",
        "saturated_media_extract": "normal",
        "pour_through": "low",
    }


@pytest.mark.parametrize("ec", [0, 1e-5, 100])
@pytest.mark.parametrize("extraction", ["pour_through", "one_to_one_and_half", "press"])
def test_readings_at_the_ends_of_the_range_are_answered(ec, extraction, post):
    post(
        "/v1/assessments",
        {
            "medium": {"extraction": extraction, "ec": ec},
            "water": {"ec": 0},
            "containers": [{"volume": 0.001}, {"volume": 1e5, "drainage": "sealed"}],
            "crops": [{"crop": "lettuce"}, {"crop": "rosemary", "stage": "germination"}],
            "target_ec": 0.01,
        },
    )


def test_all_zero_ions_are_answered(post):
    zero = dict.fromkeys(["sodium", "calcium", "magnesium", "chloride"], 0)
    answer = post(
        "/v1/assessments", {"medium": {"ec": 0, "ions": zero}, "water": {"ec": 0, "ions": zero}}
    )
    assert answer["sodicity"]["medium"]["sar"] is None


class TestSmallCalculations:
    def test_sodicity(self, post):
        # FAO 29, section 3.2: Na 7.73, Ca 2.32, Mg 1.44 mmol_c/L, SAR 5.64 (from memory).
        ions = {"sodium": "7.73 meq/L", "calcium": "2.32 meq/L", "magnesium": "1.44 meq/L"}
        answer = post("/v1/sodicity", {"water": {"ec": 1.15, "ions": ions}})
        assert answer["sodicity"]["water"]["sar"]["value"] == pytest.approx(5.64, abs=0.005)
        assert answer["sodicity"]["medium"] is None

    def test_the_medium_of_an_assessment_is_taken_alone_too(self, post, demo_request):
        whole = post("/v1/assessments", demo_request)["sodicity"]
        alone = post("/v1/sodicity", {part: demo_request[part] for part in ("medium", "water")})[
            "sodicity"
        ]
        assert alone["medium"]["sar"] == whole["medium"]["sar"]
        assert alone["water"] == whole["water"]

    def test_a_water_above_the_threshold_gets_its_requirement_with_a_caution(self, post):
        # ASCE Manual 71 example as taught at San Diego State University (CIVE 633), tomato at
        # 2.5 dS/m with water of 3 dS/m: by the Rhoades equation 3 / (12.5 - 3) = 0.32.
        answer = post(
            "/v1/leaching-requirement",
            {"water": {"ec": 3}, "crops": [{"crop": "tomato", "stage": "established"}]},
        )
        assert answer["leaching"][0]["requirement"]["value"] == pytest.approx(0.32, abs=0.005)
        assert warnings(answer)["leaching_requirement_out_of_range"]["severity"] == "caution"

    def test_leaching_requirement(self, post):
        # FAO 29, section 2.4.2, maize: by its equation 9 a water of 1.2 dS/m at 1.7 dS/m.
        answer = post(
            "/v1/leaching-requirement",
            {"water": {"ec": 1.2}, "crops": [{"crop": "corn", "stage": "established"}]},
        )
        row = answer["leaching"][0]
        assert row["requirement"]["value"] == pytest.approx(1.2 / (5 * 1.7 - 1.2), rel=5e-5)
        assert row["requirement_by_rule"]["asked_shares"]["values"][1] == pytest.approx(
            1.2 / 2 / (1.7 + 100 / 12), rel=5e-5
        )
        assert row["gross_irrigation_ratio"]["value"] == pytest.approx(
            1 / (1 - 1.2 / 7.3), rel=5e-5
        )

    def test_flush_plans_are_those_of_the_assessment(self, post, demo_request):
        whole = post("/v1/assessments", demo_request)["flush_plan"]
        alone = post(
            "/v1/flush-plans",
            {
                part: demo_request[part]
                for part in ("medium", "water", "containers", "crops", "observations")
            },
        )
        assert alone["flush_plan"] == whole

    def test_conversion_there_and_back(self, post):
        there = post(
            "/v1/conductivity/convert",
            {"extraction": "one_to_two", "ec": 1.1, "to": "pour_through"},
        )
        assert there["ec"]["low"] < there["ec"]["value"] < there["ec"]["high"]
        back = post(
            "/v1/conductivity/convert",
            {"extraction": "pour_through", "ec": there["ec"]["value"], "to": "one_to_two"},
        )
        assert back["ec"]["value"] == pytest.approx(1.1, rel=5e-5)

    def test_conversion_to_the_same_method_is_exact(self, post):
        same = post("/v1/conductivity/convert", {"extraction": "press", "ec": 3.3, "to": "press"})
        assert same["ec"] == {"value": 3.3, "unit": "dS/m"}


@pytest.mark.parametrize(
    "table", ["crops", "substrates", "extraction-methods", "observations", "sources"]
)
def test_tables_are_listed(client, table):
    rows = client.get(f"/v1/{table}").json
    assert len(rows) >= 8
    names = [row.get("id") or row["key"] for row in rows]
    assert len(names) == len(set(names))


def test_the_order_of_containers_does_not_change_the_medium(post):
    pots = [{"volume": 10, "height": 10}, {"volume": 10, "height": 60}]
    medium = {"extraction": "saturated_media_extract", "ec": 4}
    found = [
        post("/v1/assessments", {"medium": medium, "containers": order})["salinity"]
        for order in (pots, pots[::-1])
    ]
    assert found[0] == found[1]


def test_no_plan_stands_beside_the_word_that_a_flush_cures_nothing(post):
    answer = post(
        "/v1/assessments",
        {
            "medium": {"extraction": "saturated_media_extract", "ec": 1.7},
            "water": {"ec": 0.3},
            "containers": [{"volume": 3, "drainage": "open"}],
            "crops": [{"crop": "bean", "stage": "seedling"}],
        },
    )
    assert answer["flush_plan"][0]["passes"]
    note = warnings(answer).get("salt_is_unlikely", {"sentence": ""})
    assert "cure nothing" not in note["sentence"]
