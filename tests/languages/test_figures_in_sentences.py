"""Figures, ions and classes in the sentences of a language read as that language writes them."""

import re

import pytest

from saltcalc.words.catalogue import Words, languages

LEMON = {
    "medium": {"extraction": "SME", "ec": 1.5},
    "water": {"ec": 0.8, "ions": {"boron": 3.2, "chloride": "6 mmol/L"}},
    "containers": [{"volume": "20 L", "drainage": "open"}],
    "crops": [{"crop": "lemon"}, {"crop": "avocado"}],
}
OTHERS = [each for each in languages() if each != "en"]


@pytest.mark.parametrize("language", OTHERS)
def test_an_ion_of_the_water_has_its_name_in_the_language(post, language):
    answer = post("/v1/assessments", {**LEMON, "language": language})
    told = [w["sentence"] for w in answer["warnings"] if w["id"] == "water_ion_exceeds_crop"]
    assert told
    assert not [each for each in told if re.search(r"\b(boron|chloride)\b", each)]


@pytest.mark.parametrize(
    ("language", "message", "told", "wanted"),
    [
        ("fr", "corrections.sentence.rinse_with_feed", {"rate": "50 à 100 mg/L"}, "nitrates, 50"),
        ("es", "corrections.sentence.rinse_with_feed", {"rate": "50 a 100 mg/L"}, "nitrato, 50"),
        (
            "es",
            "cause_evidence.sentence.compost_young_nitrogen_perhaps",
            {"value": "1,3 %", "threshold": "20 %"},
            "Solo un 1,3 % del nitrógeno mineral es nitrato; por debajo del 20 %",
        ),
        (
            "es",
            "picture.told.yield",
            {"crop": "Fresa", "threshold": "1 dS/m", "slope": "33", "left": "27 %"},
            "aquí queda un 27 %",
        ),
        (
            "de",
            "finding.unmeasured_salts",
            {"owner": "Substrat", "unexplained": 1.5},
            "Der EC des Substrats liegt",
        ),
    ],
)
def test_figures_stand_with_the_words_that_they_want(language, message, told, wanted):
    assert wanted in Words(language).tell(message, **told)


def test_the_classes_of_a_picture_are_parted_as_french_parts_them(client):
    request = {**LEMON, "language": "fr"}
    page = client.post("/v1/assessments", json=request, headers={"Accept": "text/html"}).text
    (classes,) = re.findall(r"Classes en dS/m[^.]*\.", page)[:1]
    assert ";" in classes
    assert not re.search(r"[^\s];", classes)
