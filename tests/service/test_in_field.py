"""Soil of which no container was told lies in a field: gypsum and water by depth, and no pots."""

import re

import pytest

SALTS = {"chloride": "50 meq/L", "sulfate_s": "24 meq/L"}
SODIC = {"sodium": "70 meq/L", "calcium": "7 meq/L", "magnesium": "4 meq/L"} | SALTS
SALINE = {"sodium": "25 meq/L", "calcium": "30 meq/L", "magnesium": "20 meq/L"} | SALTS
OF_POTS = re.compile(r"container|repot|\bpots?\b|half the pots", re.IGNORECASE)


def request_of(ions, ec=8.0, substrate="clay", water=0.6, **rest):
    medium = {"extraction": "saturated_paste", "ec": ec, "substrate": substrate, "ions": ions}
    return {"medium": medium, "water": {"ec": water}, "crops": [{"crop": "onion"}]} | rest


def first_action(post, request):
    return post("/v1/assessments", request)["summary"]["actions"][0]["sentence"]


def test_a_sodic_field_is_given_gypsum_before_water(post):
    told = first_action(post, request_of(SODIC))
    assert told.startswith("Calcium first")
    # Handbook 60: the gypsum of a clay with 30 cmol/kg, from an ESP of 30 to 10, some 20 t/ha.
    [gypsum] = re.findall(r"about ([\d,]+) g of gypsum", told)
    assert 1500 < float(gypsum.replace(",", "")) < 3000
    [depth] = re.findall(r"about ([\d,]+) mm", told)
    assert float(depth.replace(",", "")) >= float(gypsum.replace(",", "")) / 2.4 * 0.9
    assert "field drains come first" in told
    assert not OF_POTS.search(told)


def test_a_saline_field_is_leached_by_depth_and_without_gypsum(post):
    told = first_action(post, request_of(SALINE))
    assert "gypsum" not in told
    assert re.search(r"about [\d,]+ mm of good water for each 30 cm", told)
    assert not OF_POTS.search(told)


def test_sand_takes_less_water_than_clay(post):
    """Hoffman (1980): a third as much of sandy loam as of clay loam."""
    depths = [
        float(re.findall(r"about ([\d,]+) mm", first_action(post, each))[0].replace(",", ""))
        for each in (request_of(SALINE, substrate="sandy_loam"), request_of(SALINE))
    ]
    assert depths[0] < depths[1] / 2


def test_no_field_is_leached_with_a_water_as_salty_as_its_limit(post):
    told = first_action(post, request_of(SALINE, water=2.5))
    assert told.startswith("Do not leach with this water")


@pytest.mark.parametrize(
    "medium", [{"substrate": "clay", "containers": [{"volume": "600 L"}]}, {"substrate": "coir"}]
)
def test_a_bed_and_a_mix_are_no_field(post, medium):
    containers = {"containers": medium["containers"]} if "containers" in medium else {}
    substrate = {"coir": "coir_dust"}.get(medium["substrate"], medium["substrate"])
    answer = post("/v1/assessments", request_of(SODIC, substrate=substrate, **containers))
    assert "in_field" not in {each["id"] for each in answer["assumptions"]}


def test_a_healthy_field_is_told_nothing_to_do(post):
    sound = {"sodium": "3 meq/L", "calcium": "5 meq/L", "magnesium": "2 meq/L"}
    answer = post("/v1/assessments", request_of(sound, ec=1.0, substrate="loam"))
    assert not answer["summary"]["actions"]


def test_nothing_is_tried_in_pots_in_a_field(post):
    request = {
        "medium": {"extraction": "saturated_paste", "ec": 1.0, "ph": 6.5, "substrate": "loam"},
        "crops": [{"crop": "lettuce", "stage": "seedling"}],
        "observations": ["pale_whole_plant", "stalled_at_first_leaves"],
    }
    checks = []
    for containers in ({}, {"containers": [{"volume": 2, "drainage": "open"}]}):
        answer = post("/v1/assessments?causes=all", request | containers)
        rows = answer["causes"]["ranked"]
        settled = {each["settled_by"]["check"] for each in rows if each.get("settled_by")}
        checks.append(settled | {(answer["causes"]["next_check"] or {"id": ""})["id"]})
    assert not {"feed_half_the_pots", "warm_half_the_pots"} & checks[0]
    assert {"feed_half_the_pots", "warm_half_the_pots"} & checks[1]
