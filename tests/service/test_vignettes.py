"""Invented cases as an adviser meets them, each with the cause written down before it ran.

Healthy media first; with figures and signs, with figures only, with signs only; by six methods.
"""

import pytest

SME = "saturated_media_extract"


def read(ec, method=SME, ph=None, **ions):
    medium = {"extraction": method, "ec": ec}
    return medium | ({"ph": ph} if ph else {}) | ({"ions": ions} if ions else {})


def by_cat(ph, nitrogen, phosphate, potash, magnesium):
    cat = {"phosphorus": f"{phosphate} mg/L P2O5", "potassium": f"{potash} mg/L K2O"}
    return {"ph_in_cacl2": ph, "cat": cat | {"mineral_n": nitrogen, "magnesium": magnesium}}


HEALTHY = {
    "blueberry_in_peat": (
        "blueberry",
        "established",
        read(1.1, ph=4.7, nitrate_n=45, ammonium_n=8, phosphorus=6, potassium=60, magnesium=30),
    ),
    "petunia_plug": ("petunia", "seedling", read(0.55, "one_to_two", 5.8)),
    "geranium_on_liquid_feed": (
        "geranium",
        "established",
        read(2.6, "pour_through", 6.2, nitrate_n=90),
    ),
    "orchid_in_bark": ("phalaenopsis", "established", read(0.9, "pour_through", 5.8)),
    "tomato_transplant": (
        "tomato",
        "seedling",
        read(1.6, ph=6.1, nitrate_n=80, ammonium_n=4, phosphorus=7, potassium=110, magnesium=45),
    ),
    "strawberry_in_coir": ("strawberry", "established", read(0.9, "one_to_one_and_half", 5.7)),
    "lettuce_by_one_to_five": ("lettuce", "seedling", read(0.35, "one_to_five", 6.0)),
    "poinsettia_by_cat": ("poinsettia", "established", by_cat(5.5, 100, 100, 150, 80)),
    "bean": (
        "bean",
        "seedling",
        read(0.9, ph=6.2, nitrate_n=50, ammonium_n=3, phosphorus=5, potassium=70, magnesium=30),
    ),
}

SICK = {
    "bean_on_brackish_water": (
        ("total_salts", "chloride_toxicity", "sodium_toxicity"),
        ("bean", "seedling", read(3.4, ph=6.4, nitrate_n=30, sodium=320, chloride=480)),
        ("stalled_at_first_leaves", "marginal_burn"),
    ),
    "petunia_yellow_at_6_9": (
        ("iron_shortage", "ph_too_high"),
        ("petunia", "established", read(0.7, "one_to_two", 6.9)),
        ("yellow_between_veins_young_leaves",),
    ),
    "geranium_specked_at_5_4": (
        ("manganese_toxicity", "iron_toxicity", "ph_too_low"),
        ("geranium", "established", read(2.2, "pour_through", 5.4)),
        ("speckled_older_leaves",),
    ),
    "tomato_on_young_compost": (
        ("ammonium_toxicity",),
        ("tomato", "seedling", read(2.0, ph=7.6, nitrate_n=20, ammonium_n=110)),
        ("brown_root_tips", "died_at_first_true_leaves"),
    ),
    "strawberry_burnt": (
        ("total_salts",),
        ("strawberry", "established", read(2.6, "one_to_one_and_half", 5.8)),
        ("marginal_burn", "wilting_while_wet"),
    ),
    "lettuce_starved": (
        ("nitrogen_shortage",),
        ("lettuce", "established", read(0.5, ph=6.2, nitrate_n=4, ammonium_n=1)),
        ("yellow_older_leaves", "pale_whole_plant"),
    ),
    "blueberry_yellow_at_6_4": (
        ("iron_shortage", "ph_too_high"),
        ("blueberry", "established", read(1.0, ph=6.4)),
        ("yellow_between_veins_young_leaves",),
    ),
    "poinsettia_by_cat_without_magnesium": (
        ("magnesium_shortage",),
        ("poinsettia", "established", by_cat(5.6, 120, 90, 180, 20)),
        ("yellow_between_veins_older_leaves",),
    ),
    "cyclamen_by_cat_without_nitrogen": (
        ("nitrogen_shortage",),
        ("cyclamen", "established", by_cat(5.5, 10, 80, 120, 70)),
        ("pale_whole_plant",),
    ),
    "orchid_salty": (
        ("total_salts",),
        ("phalaenopsis", "established", read(3.2, "pour_through", 5.6)),
        ("brown_root_tips", "white_crust_when_dry"),
    ),
    "lettuce_fallen_over": (
        ("damping_off",),
        ("lettuce", "seedling", read(1.0, ph=6.0)),
        ("stem_collapse_at_soil_line", "stays_wet"),
    ),
    "tomato_purple": (
        ("phosphorus_shortage",),
        ("tomato", "seedling", read(1.2, ph=6.1, nitrate_n=80, phosphorus=0.6, potassium=90)),
        ("purple_leaves",),
    ),
    "pansy_without_boron": (
        ("boron_shortage",),
        ("pansy", "established", read(1.2, ph=6.7, nitrate_n=60, calcium=180, boron=0.02)),
        ("thick_strap_like_leaves", "dead_growing_tips"),
    ),
    "bean_salty": (("total_salts",), ("bean", "seedling", read(4.1, ph=6.2)), ()),
    "tomato_much_ammonium": (
        ("ammonium_toxicity",),
        ("tomato", "seedling", read(1.9, ph=6.6, nitrate_n=25, ammonium_n=80)),
        (),
    ),
    "lettuce_without_feed": (
        ("nitrogen_shortage",),
        ("lettuce", "established", read(0.1, "one_to_five", 6.0, nitrate_n=1)),
        (),
    ),
    "tomato_at_4_3": (("ph_too_low",), ("tomato", "seedling", read(1.4, ph=4.3)), ()),
    "poinsettia_by_cat_much_potash": (
        ("cation_imbalance", "magnesium_shortage"),
        ("poinsettia", "established", by_cat(5.6, 110, 100, 700, 30)),
        (),
    ),
    "stem_fallen_over": (
        ("damping_off",),
        ("tomato", "seedling", {}),
        ("stem_collapse_at_soil_line",),
    ),
    "scorched": (("cold_injury",), ("bean", "seedling", {}), ("scorched_after_a_cold_night",)),
    "nitrite": (("nitrite_toxicity",), ("tomato", "seedling", {}), ("nitrite_found",)),
    "pale_young_leaves": (
        ("sulfur_shortage",),
        ("tomato", "established", {}),
        ("pale_young_leaves",),
    ),
}

_FED = {"nitrate_n": 80, "ammonium_n": 5, "phosphorus": 8, "potassium": 140}
_FED |= {"calcium": 130, "magnesium": 45}

HEALTHY_WITH_A_SIGN = {
    "crust_of_hard_water": (
        ("tomato", "established", read(1.9, ph=6.4, **_FED)),
        ["white_crust_when_dry"],
    ),
    "algae": (("lettuce", "seedling", read(1.2, ph=6.0, **_FED)), ["algae_or_fungus_gnats"]),
    "cold_nights": (("lettuce", "seedling", read(1.2, ph=6.0, **_FED)), ["cold_nights"]),
    "compost_at_7_2": (
        (
            "tomato",
            "established",
            {"substrate": "green_waste_compost", **read(2.3, ph=7.2, **_FED)},
        ),
        ["firm_white_roots"],
    ),
    "asparagus_at_3_8": (("asparagus", "established", read(3.8, ph=6.9, **_FED)), []),
    "beetroot_on_brackish_water": (
        ("red beet", "established", read(3.6, ph=6.7, **_FED, sodium=250, chloride=350)),
        ["firm_white_roots"],
    ),
    "azalea_fed_ammonium": (
        ("azalea", "established", read(1.2, ph=4.9, nitrate_n=15, ammonium_n=35, phosphorus=6)),
        [],
    ),
}


def ranked(client, crop, stage, medium, signs):
    request = {"medium": medium, "crops": [{"crop": crop, "stage": stage}]}
    signs_seen = {"observations": list(signs)}
    answer = client.post("/v1/assessments?causes=all", json=request | signs_seen)
    assert answer.status_code == 200, answer.json
    return answer.json["causes"]["ranked"]


@pytest.mark.parametrize("case", HEALTHY)
def test_a_healthy_medium_has_no_supported_cause(client, case):
    causes = ranked(client, *HEALTHY[case], ())
    assert not [each["cause"] for each in causes if each["verdict"] == "supported"]


@pytest.mark.parametrize("case", HEALTHY_WITH_A_SIGN)
def test_a_healthy_medium_with_a_sign_has_no_supported_cause(client, case):
    asked, signs = HEALTHY_WITH_A_SIGN[case]
    causes = ranked(client, *asked, signs)
    assert not [each["cause"] for each in causes if each["verdict"] == "supported"]


@pytest.mark.parametrize("case", SICK)
def test_the_cause_that_an_adviser_would_sign_comes_first(client, case):
    expected, (crop, stage, medium), signs = SICK[case]
    first = [
        each["cause"]
        for each in ranked(client, crop, stage, medium, signs)
        if each["rank"] == 1 and each["verdict"] in ("supported", "possible")
    ]
    assert len(first) <= 2
    assert set(first) & set(expected), first
