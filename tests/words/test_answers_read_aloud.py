"""Whole answers as a grower hears them: their length, what they must say, and what they must not.

The requests and their figures are invented.
"""

import json
from pathlib import Path

import pytest

from saltcalc.words.catalogue import words
from saltcalc.words.text import as_text, short
from tests.words.test_short import within_limits

REQUESTS = json.loads((Path(__file__).parent / "ten_requests.json").read_text(encoding="utf-8"))

SAYS = {
    "healthy": (
        ["No figure is out of range. Nothing to correct now.", "limit 2.2 dS/m"],
        ["Today", "Do not", "cause"],
    ),
    "salt": (
        ["The medium is too salty (strong evidence).", "6.3 times the limit", "0.3 dS/m or less"],
        ["Salt is not", "fails", "in all:"],
    ),
    "chloride": (
        ["Mostly sodium chloride", "up to 160", "up to 280", "First take another water"],
        ["Salt is not the problem", "nitrogen shortage"],
    ),
    "sodic water": (
        ["All salts together are not too much.", "yours brings sodium", "calcium", "rain water"],
        ["Salt is not the problem", "mmol_c"],
    ),
    "ammonium": (
        ["ammonium toxicity (strong evidence)", "let it cure in air"],
        ["12-0-0", "urea is", "Ammonium-N is 60"],
    ),
    "pH": (["Salt is not the problem.", "Aim: pH 5.4 to 6.2."], ["lime;", "Pour"]),
    "sealed tub": (
        ["Mix 10 % of this medium", "flush a container that cannot drain"],
        ["Pour 67 L"],
    ),
    "plug tray": (
        ["Pour 40 mm on the trays", "1 L on a square metre", "not proven"],
        ["each container"],
    ),
    "mineral soil": (
        ["cause: pH too high", "just above the limit of red beet"],
        ["Sodium is 644", "sodium toxicity"],
    ),
    "only signs": (["The medium stays wet for days.", "Water less often"], ["leach", "Pour"]),
}
IN_GERMAN = {
    "salt": ["Das Substrat ist zu salzig (starke Belege).", "Heute"],
    "sodic water": ["Alle Salze zusammen sind nicht zu viel.", "Ihres bringt Natrium"],
    "plug tray": ["40 mm auf die Platten von oben"],
}


def _aloud(post, name, language):
    request = REQUESTS[name] | ({} if language == "en" else {"language": language})
    told = short(post("/v1/assessments", request), request, words(language))
    return " ".join(as_text(told).split()), told, as_text(told)


@pytest.mark.parametrize("name", SAYS)
def test_it_is_short_and_says_what_it_must(post, name):
    said, told, text = _aloud(post, name, "en")
    within_limits(text, told, 25, 250)
    must, must_not = SAYS[name]
    assert [each for each in must if each not in said] == []
    assert [each for each in must_not if each in said] == []


@pytest.mark.parametrize("name", SAYS)
def test_no_sentence_is_said_twice(post, name):
    _, told, _ = _aloud(post, name, "en")
    sentences = [each for part in told.parts for said in part.said for each in said.split(". ")]
    assert len(sentences) == len({*sentences})


@pytest.mark.parametrize("name", IN_GERMAN)
def test_in_german(post, name):
    said, told, text = _aloud(post, name, "de")
    within_limits(text, told, 29, 290)
    assert [each for each in IN_GERMAN[name] if each not in said] == []
    for english in ("Today", "the medium", " or ", "Out of range"):
        assert english not in said
