import re

import pytest

from saltcalc.data.causes import (
    causes,
    diagnostic_measures,
    evidence_rules,
    next_measurements,
)
from saltcalc.data.corrections import corrections
from saltcalc.data.observations import observations
from saltcalc.data.sources import bibliography
from tests.sentences import sentences

RULES = evidence_rules().values()


def test_every_cause_can_be_supported_and_ruled_out():
    for cause in causes():
        kinds = {(rule.direction, rule.strength != "weak") for rule in RULES if rule.cause == cause}
        assert ("for", True) in kinds, cause
        assert ("against", True) in kinds, cause


def test_every_cause_has_a_measurement_that_tells_it_from_a_sound_medium():
    told = {
        cause
        for measurement in next_measurements().values()
        for cause, outcome in measurement.outcomes.items()
        if outcome.id != measurement.normal_outcome
    }
    assert told == set(causes())


def test_every_measure_and_sign_is_used():
    used = {each.measure or each.observation for rule in RULES for each in rule.conditions}
    used |= {
        each.measure or each.observation
        for row in corrections().values()
        for each in row.wanted + row.barring
    }
    assert set(diagnostic_measures()) <= used
    assert set(observations()) <= used


def test_a_deciding_measure_speaks_on_its_cause_both_ways():
    for cause in causes().values():
        if cause.deciding_measure:
            ways = {
                rule.direction
                for rule in RULES
                if rule.cause == cause.id
                and cause.deciding_measure in {c.measure for c in rule.conditions}
            }
            assert ways == {"for", "against"}, cause.id


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_a_sentence_asks_only_for_figures_that_its_rule_has(rule):
    sentence = sentences()[f"cause_evidence.sentence.{rule.id}"]
    asked = set(re.findall(r"{(\w+)}", sentence))
    of_nitrogen = {condition.measure for condition in rule.conditions} & {"nitrate_n_to_low"}
    assert asked <= {"value", "threshold"} | ({"nitrogen"} if of_nitrogen else set())
    if asked:
        assert any(condition.measure for condition in rule.conditions)
    assert sentence.endswith(".")


def test_a_rule_without_source_says_so():
    for rule in RULES:
        published = bibliography()[rule.source].kind == "published"
        assert published == (rule.provenance not in {"common_practice", "judgement"}), rule.id
