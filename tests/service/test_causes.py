import pytest

from saltcalc.data.causes import causes, next_measurements

SCENARIO = {
    "medium": {
        "extraction": "saturated_media_extract",
        "ec": 5.4,
        "ph": 6.2,
        "ions": {"nitrate_n": 390, "sodium": 140, "potassium": 420, "calcium": 310},
        "substrate": "green_waste_compost",
    },
    "containers": [{"volume": "8 L", "height": "20 cm", "drainage": "open"}],
    "crops": [
        {"crop": "lettuce", "stage": "seedling"},
        {"crop": "squash_zucchini", "stage": "seedling"},
    ],
    "thriving_crops": ["squash_zucchini"],
    "plant_age": "18 days",
    "observations": ["white_crust_when_dry", "died_at_first_true_leaves"],
}


ALL = "/v1/assessments?causes=all"


def check(answer, check_id):
    """Return a check by its id, wherever in the causes it is told."""
    causes = answer["causes"]
    checks = [causes["next_check"], *causes.get("other_checks", [])]
    return next(each for each in checks if each and each["id"] == check_id)


def weighed(answer):
    return {row["cause"]: row for row in answer["causes"]["ranked"]}


def supported(answer):
    return {row["cause"] for row in answer["causes"]["ranked"] if row["verdict"] == "supported"}


def medium(ec, **members):
    return {"medium": {"extraction": "saturated_media_extract", "ec": ec} | members}


def test_a_fed_compost_that_kills_lettuce_and_feeds_squash(post):
    answer = post(ALL, SCENARIO)
    first, *_ = answer["causes"]["ranked"]
    by_id = weighed(answer)
    assert first["cause"] == "total_salts"
    assert first["verdict"] == "supported"
    assert "tied_with" not in first
    sentences = " ".join(row["sentence"] for row in first["evidence_for"])
    assert "Nitrate-N is 390 mg/L" in sentences
    assert by_id["nitrogen_shortage"]["verdict"] == "unlikely"
    for to_rule_out, how in (
        ("ammonium_toxicity", "ammonium_strip"),
        ("damping_off", "look_at_stem_base"),
    ):
        assert by_id[to_rule_out]["verdict"] in {"possible", "undetermined"}
        assert by_id[to_rule_out]["evidence_for"]
        assert by_id[to_rule_out]["settled_by"]["check"] == how
    lettuce, squash = answer["crops"]
    assert lettuce["relative_yield"]["value"] < 50 < squash["relative_yield"]["value"]
    assert len(answer["causes"]["next_check"]["separates"]) == 2
    assert answer["causes"]["next_check"]["separates"][0] == "total_salts"


def test_the_other_crop_is_taken_from_the_crops_where_none_is_named(post):
    request = {name: part for name, part in SCENARIO.items() if name != "thriving_crops"}
    request["observations"] = [*request["observations"], "another_crop_thrives"]
    answer = post(ALL, request)
    assumed = {row["id"]: row["value"] for row in answer["assumptions"]}
    assert assumed["stalled_crop"] == "lettuce"
    assert assumed["thriving_crop"] == "squash_zucchini"
    assert answer["causes"]["ranked"][0]["cause"] == "total_salts"


def test_crops_that_the_tables_hardly_tell_apart_are_not_told_apart(post):
    request = medium(5.2) | {
        "crops": [{"crop": "spinach"}, {"crop": "tomato"}],
        "observations": ["another_crop_thrives", "stalled_at_first_leaves"],
    }
    answer = post(ALL, request)
    assert "thriving_crop" not in {row["id"] for row in answer["assumptions"]}


def test_a_starved_medium_is_not_salty(post):
    request = medium(0.5, ph=5.8, ions={"nitrate_n": 9, "ammonium_n": 2}) | {
        "crops": [{"crop": "tomato"}],
        "observations": ["yellow_older_leaves", "pale_whole_plant", "white_crust_when_dry"],
        "plant_age": "5 weeks",
    }
    answer = post(ALL, request)
    by_id = weighed(answer)
    assert by_id["total_salts"]["verdict"] == "unlikely"
    assert answer["causes"]["ranked"][0]["cause"] == "nitrogen_shortage"
    assert supported(answer) == {"nitrogen_shortage"}
    assert "salt_is_unlikely" in {row["id"] for row in answer["warnings"]}
    assert "35 days" in " ".join(
        row["sentence"] for row in by_id["nitrogen_shortage"]["evidence_for"]
    )


def test_an_acid_medium_short_of_magnesium_points_at_dolomitic_lime(post):
    request = medium(1.2, ph=5.2, ions={"magnesium": 12, "calcium": 95, "nitrate_n": 65}) | {
        "crops": [{"crop": "lettuce"}],
        "observations": ["yellow_between_veins_older_leaves"],
    }
    answer = post(ALL, request)
    by_id = weighed(answer)
    assert supported(answer) == {"ph_too_low", "magnesium_shortage"}
    for cause in ("ph_too_low", "magnesium_shortage"):
        assert "dolomitic lime" in by_id[cause]["usual_remedy"].lower()
    assert by_id["total_salts"]["verdict"] == "unlikely"


def test_a_good_medium_comes_out_clean(post):
    ions = {
        "nitrate_n": 75,
        "ammonium_n": 3,
        "phosphorus": 8,
        "potassium": 130,
        "calcium": 130,
        "magnesium": 50,
        "sodium": 25,
        "chloride": 30,
        "boron": 0.3,
    }
    request = medium(1.3, ph=5.8, ions=ions, substrate="peat_perlite") | {
        "containers": [{"volume": "3 L", "height": "15 cm", "drainage": "open"}],
        "crops": [{"crop": "tomato", "stage": "seedling"}],
        "root_zone_temperature": "20 °C",
    }
    answer = post(ALL, request)
    assert supported(answer) == set()
    assert {row["verdict"] for row in answer["causes"]["ranked"]} <= {"unlikely", "undetermined"}
    assert answer["causes"]["next_check"] is None


def test_a_meter_reading_by_volume_is_judged_by_its_own_classes(post):
    request = {
        "medium": {"extraction": "one_to_two", "ec": "2500 µS/cm"},
        "observations": ["marginal_burn"],
    }
    assert supported(post(ALL, request)) == {"total_salts"}
    request["medium"]["ec"] = "0.7 mS/cm"
    answer = post(ALL, request)
    assert weighed(answer)["total_salts"]["verdict"] == "unlikely"


@pytest.mark.parametrize(
    ("changes", "cause"),
    [
        ({"observations": ["stem_collapse_at_soil_line", "died_at_cotyledons"]}, "damping_off"),
        (
            {
                "medium": {"ec": 1.2, "substrate": "green_waste_compost"},
                "observations": ["twisted_new_growth"],
            },
            "herbicide_residue",
        ),
        ({"observations": ["repels_water_after_drying"]}, "water_repellence"),
        ({"observations": ["stays_wet"]}, "lack_of_air"),
        ({"observations": ["medium_warms_itself", "poor_emergence"]}, "immature_compost"),
        ({"crops": [{"crop": "bean"}], "root_zone_temperature": "55 °F"}, "cold_root_zone"),
        ({"medium": {"ec": 1.2, "ions": {"ammonium_n": "80 ppm"}}}, "ammonium_toxicity"),
        ({"medium": {"ec": 1.2, "ph": 7.6}}, "ph_too_high"),
        ({"medium": {"ec": 1.2, "ph": 6.8, "micronutrients": {"iron": 0.2}}}, "ph_too_high"),
        (
            {"medium": {"ec": 1.2, "ions": {"boron": 1.9}}, "observations": ["marginal_burn"]},
            "boron_toxicity",
        ),
        (
            {
                "medium": {
                    "ec": 1.9,
                    "ions": {"sodium": 330, "calcium": 15, "magnesium": 6},
                    "substrate": "clay_loam",
                },
                "observations": ["surface_seals"],
            },
            "sodic_structure",
        ),
    ],
)
def test_a_cause_other_than_salt_is_found(post, changes, cause):
    answer = post(ALL, medium(1.2) | changes)
    assert cause in supported(answer)
    assert weighed(answer)["total_salts"]["verdict"] != "supported"


def test_a_test_result_is_reported_by_the_signs_it_names_and_changes_the_verdict(post):
    request = medium(1.2, substrate="green_waste_compost") | {
        "observations": ["twisted_new_growth", "no_better_after_rinsing"]
    }
    answer = post(ALL, request)
    settled_by = weighed(answer)["herbicide_residue"]["settled_by"]
    assert settled_by["check"] == "peas_two_ways"
    assert set(check(answer, "peas_two_ways")["signs_to_report"]) == {
        "test_peas_twisted",
        "test_peas_normal",
    }
    request["observations"].append("test_peas_normal")
    assert weighed(post(ALL, request))["herbicide_residue"]["verdict"] == "unlikely"


def test_what_was_looked_for_in_vain_is_evidence_against(post):
    request = medium(2.6) | {
        "observations": ["stalled_at_first_leaves"],
        "not_seen": ["white_crust_when_dry", "ammonia_smell"],
    }
    salts = weighed(post(ALL, request))["total_salts"]
    assert ["white_crust_when_dry"] in [
        row.get("signs_not_seen") for row in salts["evidence_against"]
    ]


def test_a_sign_cannot_be_both_seen_and_not_seen(refuse):
    request = medium(1.2) | {
        "observations": ["sour_smell"],
        "not_seen": ["ammonia_smell", "sour_smell"],
    }
    problem = refuse("/v1/assessments", request)
    assert problem["errors"][0]["pointer"] == "/not_seen/1"


def test_an_incomplete_report_is_asked_for_what_it_lacks(post):
    request = medium(1.2, ph=6.0, ions={"nitrate_n": 80, "ammonium_n": 4, "potassium": 120})
    answer = post(ALL, request)
    assert weighed(answer)["boron_toxicity"]["settled_by"]["check"] == "lab_ions"
    lab = check(answer, "lab_ions")
    lacking = ["phosphorus", "calcium", "magnesium", "sulfate sulfur", "sodium", "chloride"]
    assert lab["figures_to_report"] == [*lacking, "boron"]
    assert f"ask for {', '.join(lacking)} and boron." in lab["how"]


def test_a_loam_at_ph_7_2_is_held_to_limits_of_soil(post):
    request = {
        "medium": {
            "extraction": "saturated_paste",
            "ec": 0.6,
            "ph": 7.2,
            "substrate": "loam",
            "ions": {"nitrate_n": 8, "sodium": 90, "chloride": 300, "magnesium": 12, "boron": 0.6},
        },
        "crops": [{"crop": "bean"}],
    }
    answer = post(ALL, request)
    assert supported(answer) == set()
    for row in answer["causes"]["ranked"]:
        for evidence in row.get("evidence_for", []) + row.get("evidence_against", []):
            assert "soilless" not in evidence["sentence"]
            assert "substrate" not in evidence["sentence"]
            assert not {"nitrate_n", "magnesium", "boron", "chloride", "sodium"} & {
                figure["measure"] for figure in evidence.get("figures", [])
            }


def test_a_flush_is_not_called_useless_where_it_would_carry_the_cause_away(post):
    ions = {"boron": 1.9, "nitrate_n": 60}
    request = medium(1.2, ions=ions) | {"observations": ["marginal_burn"]}
    answer = post(ALL, request)
    assert weighed(answer)["total_salts"]["verdict"] == "unlikely"
    assert "salt_is_unlikely" not in {row["id"] for row in answer["warnings"]}


def test_gypsum_makes_an_ec_count_for_less(post):
    ions = {"calcium": 640, "sulfate_s": 480, "magnesium": 40, "sodium": 60}
    answer = post(ALL, medium(3.6, ph=7.0, ions=ions))
    salts = weighed(answer)["total_salts"]
    assert salts["verdict"] != "supported"
    assert any("gypsum" in row["sentence"] for row in salts["evidence_against"])


def test_ions_without_an_ec_set_a_floor_to_the_salts(post):
    ions = {"nitrate_n": 420, "potassium": 450, "calcium": 320, "sodium": 130}
    request = {
        "medium": {"extraction": "saturated_media_extract", "ions": ions},
        "crops": [{"crop": "lettuce"}],
        "observations": ["white_crust_when_dry"],
    }
    salts = weighed(post(ALL, request))["total_salts"]
    assert salts["verdict"] == "supported"
    assert "at least" in salts["evidence_for"][0]["sentence"]


def test_a_report_that_no_water_can_have_is_still_answered(post):
    ions = {"calcium": 300, "magnesium": 300, "phosphorus": 300, "bicarbonate": 0.001}
    assert post(ALL, medium(0.3, ph=7.5, ions=ions))["causes"]


def test_no_reading_of_ec_asks_for_one(post):
    request = {
        "medium": {"extraction": "saturated_media_extract", "ions": {"boron": 0.2}},
        "observations": ["white_crust_when_dry"],
    }
    answer = post(ALL, request)
    assert weighed(answer)["total_salts"]["verdict"] == "possible"
    assert answer["causes"]["next_check"]["id"] == "ec_reading"


def test_every_cause_is_weighed_with_resolved_sources(post, demo_request):
    answer = post(ALL, demo_request)
    assert {row["cause"] for row in answer["causes"]["ranked"]} == set(causes())
    ranks = [row["rank"] for row in answer["causes"]["ranked"]]
    assert ranks == sorted(ranks)
    for row in answer["causes"]["ranked"]:
        assert set(row["sources"]) <= set(answer["sources"])
        for evidence in row.get("evidence_for", []) + row.get("evidence_against", []):
            assert evidence["sources"]
            assert set(evidence["sources"]) <= set(answer["sources"])
            assert "{" not in evidence["sentence"]
        for tie in row.get("tied_with", []):
            assert weighed(answer)[tie]["rank"] == row["rank"]


def test_a_measurement_already_made_is_not_asked_for(post):
    request = SCENARIO | {
        "observations": [*SCENARIO["observations"], "sound_stem_base", "firm_white_roots"]
    }
    answer = post(ALL, request)
    made = {"look_at_stem_base", "ec_reading", "ph_reading"}
    asked = {
        row["settled_by"]["check"] for row in answer["causes"]["ranked"] if "settled_by" in row
    }
    assert not made & (asked | {answer["causes"]["next_check"]["id"]})
    assert asked <= set(next_measurements())


@pytest.mark.parametrize(
    ("member", "value", "pointer"),
    [
        ("plant_age", "3 kg", "/plant_age"),
        ("plant_age", -1, "/plant_age"),
        ("root_zone_temperature", "900 °C", "/root_zone_temperature"),
        ("thriving_crops", ["endive"], "/thriving_crops/0"),
    ],
)
def test_what_makes_no_sense_is_refused(refuse, member, value, pointer):
    problem = refuse("/v1/assessments", SCENARIO | {member: value})
    assert [error["pointer"] for error in problem["errors"]] == [pointer]


def test_signs_alone_are_weighed(post):
    request = {
        "medium": {},
        "observations": ["stalled_at_first_leaves", "white_crust_when_dry", "stays_wet"],
        "crops": [{"crop": "bean", "stage": "seedling"}],
        "containers": [{"volume": "8 L"}],
    }
    answer = post(ALL, request)
    for part in ("salinity", "leaching", "flush_plan", "upkeep", "crops", "nutrients"):
        assert answer[part] is None
    missing = {row["part"]: row["missing"] for row in answer["not_computed"]}
    assert missing["salinity"] == ["/medium/ec", "/medium/ions"]
    assert missing["flush_plan"] == ["/medium/ec"]
    assert answer["causes"]["ranked"][0]["cause"] == "lack_of_air"
    salts = weighed(answer)["total_salts"]
    assert salts["verdict"] == "possible"
    assert salts["evidence_for"]
    # A look costs nothing, and would show the cause that the signs support.
    assert answer["causes"]["next_check"]["id"] == "look_at_roots"


def test_a_ph_alone_is_weighed(post):
    answer = post(ALL, {"medium": {"ph": 4.6}})
    assert supported(answer) == {"ph_too_low"}
    assert answer["salinity"] is None
    assert answer["causes"]["next_check"]["id"] == "ec_reading"
    assert answer["nutrients"]["elements"][0]["status"] == "low"


def test_media_without_an_ec_can_be_compared_and_have_no_plan(post):
    media = [{"medium": {"ph": 4.6}}, {"medium": {}, "observations": ["stays_wet"]}]
    shared = {"containers": [{"volume": "8 L"}], "crops": [{"crop": "bean"}]}
    answer = post("/v1/comparisons", {"media": media} | shared)
    rows = answer["comparison"]["matrix"]
    assert [row["ec_25c"] for row in rows] == [None, None]
    assert [row["main_cause"]["cause"] for row in rows] == [
        "ph_too_low",
        "lack_of_air",
    ]
    assert "/media/0/medium/ec" in answer["not_computed"][0]["missing"]
    plan = post("/v1/flush-plans", {"medium": {"ph": 4.6}} | shared)
    assert plan["flush_plan"] is None
    assert plan["not_computed"][0]["missing"] == ["/medium/ec"]


@pytest.mark.parametrize(
    ("path", "request_"),
    [
        ("/v1/assessments", {"medium": {}}),
        ("/v1/assessments", {"medium": {"substrate": "green_waste_compost"}, "observations": []}),
        ("/v1/flush-plans", {"medium": {}, "containers": [{"volume": 8}], "observations": []}),
        ("/v1/comparisons", {"media": [{"medium": {"ec": 2}}, {"medium": {}}]}),
    ],
)
def test_nothing_at_all_is_refused(client, path, request_):
    reply = client.post(path, json=request_)
    assert reply.status_code == 422
    assert reply.json["errors"][0]["pointer"].endswith("/medium/ec")


@pytest.mark.parametrize(
    ("crop", "ec", "verdict"),
    [("bean", 1.6, "possible"), ("bean", 1.1, "unlikely"), ("beetroot", 1.9, "unlikely")],
)
def test_no_soil_class_says_that_salt_does_no_harm_above_the_limit_of_the_crop(
    crop, ec, verdict, post
):
    """Bean: 1.0 dS/m, beetroot 4.0 (Maas & Hoffman 1977)."""
    request = {
        "medium": {"extraction": "saturated_paste", "ec": ec, "substrate": "loam"},
        "crops": [{"crop": crop, "stage": "seedling"}],
    }
    answer = post("/v1/assessments?causes=all", request)
    ranked = {each["cause"]: each["verdict"] for each in answer["causes"]["ranked"]}
    assert ranked["total_salts"] == verdict
    said = answer["summary"]["leading_cause"]["sentence"]
    assert ("Salt is not the problem" in said) <= (verdict == "unlikely")


@pytest.mark.parametrize(
    ("sodium", "first"), [("15 meq/L", "sodic_structure"), ("2 meq/L", "lack_of_air")]
)
def test_a_soil_that_sodium_sealed_is_wet_for_the_sodium(sodium, first, post):
    ions = {"sodium": sodium, "calcium": "0.9 meq/L", "magnesium": "0.6 meq/L"}
    medium = {"extraction": "saturated_paste", "ec": 1.6, "ph": 8.2, "ions": ions}
    request = {
        "medium": medium | {"substrate": "clay"},
        "containers": [{"volume": 15, "height": "25 cm", "drainage": "open"}],
        "observations": ["stays_wet", "surface_seals"],
    }
    answer = post("/v1/assessments", request)
    assert answer["summary"]["leading_cause"]["cause"] == first
