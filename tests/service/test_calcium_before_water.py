"""Where sodium may hold the medium, no call tells litres without telling of calcium first."""

import json

import pytest

SODIC = {"sodium": 900, "calcium": 30, "magnesium": 10, "chloride": 900}
HEALTHY = {"sodium": 60, "calcium": 180, "magnesium": 60, "chloride": 90}


def request_of(ions, ec=5, water=0.1):
    return {
        "medium": {
            "extraction": "saturated_paste", "ec": ec, "substrate": "clay_loam", "ions": ions,
        },
        "water": {"ec": water},
        "containers": [{"volume": 10, "height": 20}],
        "crops": [{"crop": "lettuce"}],
    }  # fmt: skip


def without(ions, *left_out):
    return {ion: amount for ion, amount in ions.items() if ion not in left_out}


@pytest.mark.parametrize("left_out", [["magnesium"], ["calcium"], ["calcium", "magnesium"]])
@pytest.mark.parametrize("path", ["/v1/flush-plans", "/v1/assessments"])
def test_an_ion_that_was_not_reported_does_not_make_sodium_harmless(post, path, left_out):
    answer = post(path, request_of(without(SODIC, *left_out)))
    plan = answer["flush_plan"][0]
    assert plan["calcium_first"]["way"] == "gypsum"
    assert plan["calcium_first"]["gypsum_mass"]["value"] > 0
    assert plan["sentence"].startswith(plan["calcium_first"]["sentence"])
    [found] = [each for each in answer["warnings"] if each["id"] == "calcium_before_flush"]
    assert "at least" in found["sentence"]


@pytest.mark.parametrize(
    ("ions", "ec"),
    [
        (without(HEALTHY, "magnesium"), 5),
        (without(HEALTHY, "calcium", "magnesium"), 4),
        ({"chloride": 900}, 5),
        # Much sodium in a salt that leaves room for as much calcium.
        (without(SODIC, "calcium", "magnesium") | {"sodium": 500}, 6),
    ],
)
def test_where_the_ec_leaves_room_for_calcium_nothing_is_said(post, ions, ec):
    answer = post("/v1/flush-plans", request_of(ions, ec))
    assert "calcium_first" not in answer["flush_plan"][0]
    assert "calcium_before_flush" not in {each["id"] for each in answer["warnings"]}


def test_what_was_reported_governs(post):
    """The EC bounds only what was left out."""
    answer = post("/v1/flush-plans", request_of(SODIC | {"calcium": 500}))
    assert "calcium_first" not in answer["flush_plan"][0]


@pytest.mark.parametrize(
    ("ions", "way"),
    [(SODIC, "gypsum"), (without(SODIC, "magnesium"), "gypsum"), (HEALTHY, None)],
)
def test_a_row_of_many_tells_how_calcium_is_brought_in(client, ions, way):
    lines = json.dumps(request_of(ions))
    got = client.post("/v1/assessments/batch", data=lines, content_type="application/x-ndjson")
    row = json.loads(got.text.splitlines()[0])
    assert row.get("calcium_by") == way
    assert way is None or row["water_per_container [L]"] > 0


def test_media_side_by_side_tell_it_beside_the_litres(post):
    healthy = request_of(HEALTHY, ec=1.0)
    media = [
        {"name": "a", "medium": request_of(SODIC)["medium"]},
        {"name": "b", "medium": healthy["medium"]},
    ]
    shared = {key: part for key, part in healthy.items() if key != "medium"}
    answer = post("/v1/comparisons", {"media": media, **shared})
    compared = answer["comparison"]
    first, second = (row["flush"][0] for row in compared["matrix"])
    assert first["calcium_by"] == "gypsum"
    assert "calcium_by" not in second
    told = [each["sentence"] for each in compared["differences"]]
    assert any("calcium first, then 10 L" in sentence for sentence in told)
