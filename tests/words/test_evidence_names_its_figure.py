"""The sentence of each piece of evidence names what it looks at: no two can be exchanged."""

from pathlib import Path

import pytest
from babel.messages.pofile import read_po

from saltcalc.data.causes import causes, diagnostic_measures, evidence_rules
from saltcalc.data.reported_ions import reported_ions

ENGLISH = Path(__file__).parents[2] / "saltcalc/words/locale/en/LC_MESSAGES/cause_evidence.po"
with ENGLISH.open("rb") as file:
    SAID = {str(each.id): str(each.string) for each in read_po(file)}
OTHER_WORDS = {
    "ammonium_n": ("ammonium", "ammonia"),
    "nitrate_n": ("nitrate", "nitrogen"),
    "sulfate_s": ("sulfur", "sulfate"),
    "phosphorus": ("phosphorus", "phosphate"),
    "ph": ("ph",),
}


def ions_of(rule):
    """Return the ions that the first measure of a rule is about."""
    first = next((each.measure for each in rule.conditions if each.measure), "")
    known = diagnostic_measures().get(first)
    named = known.nutrient if known and known.nutrient else first
    return [ion for ion in (*reported_ions(), "ph") if named == ion]


RULES = {
    rule.id: (rule, ions)
    for rule in evidence_rules().values()
    if (ions := ions_of(rule)) and not any(each.observation for each in rule.conditions)
}


@pytest.mark.parametrize("id_", RULES)
def test_a_figure_is_named_by_its_sentence(id_):
    _, ions = RULES[id_]
    told = SAID[f"cause_evidence.sentence.{id_}"].lower()
    for ion in ions:
        assert any(word in told for word in OTHER_WORDS.get(ion, (ion,))), told


MEASURES = ENGLISH.with_name("diagnostic_measures.po")
with MEASURES.open("rb") as file:
    NAMED = {str(each.id): str(each.string) for each in read_po(file)}
WORDS = ("water", "alkalinity", "gypsum", "compost", "temperature", "age", "sar", "ammonia", "air")


TOLD = [each for each in diagnostic_measures() if f"diagnostic_measures.name.{each}" in NAMED]


@pytest.mark.parametrize("id_", TOLD)
def test_a_measure_is_named_for_what_it_is(id_):
    name = NAMED[f"diagnostic_measures.name.{id_}"].lower()
    for word in (*WORDS, *reported_ions()):
        if word in id_.split("_") or (word in reported_ions() and word in id_):
            known = OTHER_WORDS.get(word, (word, "sodium adsorption") if word == "sar" else (word,))
            assert any(each in name for each in known), name


CAUSES = ENGLISH.with_name("causes.po")
with CAUSES.open("rb") as file:
    OF_CAUSES = {str(each.id): str(each.string) for each in read_po(file)}
OF_ONE = [each for each in causes() if each.endswith(("_shortage", "_toxicity"))]


@pytest.mark.parametrize("cause", OF_ONE)
@pytest.mark.parametrize("what", ["name", "mechanism"])
def test_what_is_said_of_a_cause_is_of_its_nutrient(cause, what):
    told = OF_CAUSES[f"causes.{what}.{cause}"].lower()
    assert cause.rpartition("_")[0] in told, told


def test_there_are_many():
    assert len(RULES) > 60
