"""What is told to do and what not to do go together, in every language; no second cause is lost."""

import pytest

SODIC = {
    "medium": {
        "substrate": "clay",
        "extraction": "saturated_paste",
        "ec": 1.5,
        "ph": 8.8,
        "ions": {"sodium": "14 meq/L", "calcium": "0.8 meq/L", "magnesium": "0.5 meq/L"},
    },
    "crops": [{"crop": "tomato", "stage": "established"}],
    "observations": ["surface_seals"],
}
CAT = {"nitrate_n": "180 mg/L", "potassium": "250 mg/L", "magnesium": "120 mg/L"}
WET = {
    "medium": {"extraction": "pour_through", "ec": 4.5},
    "crops": ["geranium"],
    "observations": ["stays_wet", "rotted_roots", "sour_smell"],
}
MANURE = {
    "medium": {
        "substrate": "manure_compost",
        "extraction": "one_to_five",
        "ec": 2.5,
        "ph": 8.2,
        "ions": {"ammonium_n": "60 mg/L"},
    },
    "crops": [{"crop": "spinach", "stage": "seedling"}],
    "observations": ["died_at_cotyledons", "ammonia_smell"],
    "containers": [{"volume": "20 L", "height": "18 cm", "drainage": "sealed"}],
    "water": {"ec": 0.4},
}


@pytest.fixture
def words(client):
    def ask(request, language="en"):
        headers = {"Accept": "text/plain", "Accept-Language": language}
        return " ".join(client.post("/v1/assessments", json=request, headers=headers).text.split())

    return ask


@pytest.mark.parametrize("containers", [[], [{"volume": "10 L", "drainage": "open"}]])
def test_a_sodic_soil_is_not_told_to_leach_and_not_to_flush(words, containers):
    said = words(SODIC | ({"containers": containers} if containers else {}))
    assert "Supply calcium" in said or "Calcium first" in said
    assert "flush: it would wash out feed" not in said


def test_a_medium_above_the_limit_of_its_crop_is_not_cleared_by_its_guide_values(words):
    medium = {"extraction": "one_to_five", "ec": 0.6, "cat": CAT}
    said = words({"medium": medium, "crops": ["petunia"]})
    assert "flush: it would wash out feed" not in said


def test_a_medium_within_all_its_limits_is_not_flushed(words):
    medium = {"extraction": "one_to_five", "ec": 0.3, "ph": 7.5, "cat": CAT}
    assert "flush: it would wash out feed" in words({"medium": medium, "crops": ["petunia"]})


@pytest.mark.parametrize(
    ("language", "also", "salt"),
    [
        ("en", "Also found: ", "too much salt in total"),
        ("de", "Außerdem gefunden: ", "Gesamtsalzgehalt zu hoch"),
        ("fr", "Également constaté", "sel"),
        ("es", "También se ha detectado", "sal"),
    ],
)
def test_second_causes_are_told_in_every_language(words, language, also, salt):
    said = words(MANURE, language)
    assert also in said
    assert salt in said.partition(also)[2][:120]


def test_a_wet_and_salty_medium_is_not_dried_out_or_fed(words):
    said = words(WET | {"medium": {"extraction": "pour_through", "ec": 7}})
    assert "do not let it dry out" in said
    assert "do not feed" in said.lower()


def test_a_wet_medium_that_is_not_salty_hears_nothing_of_salt(words):
    said = words(WET | {"medium": {"extraction": "pour_through", "ec": 1.5}})
    assert "Water less often" in said
    assert "while the EC is high" not in said
