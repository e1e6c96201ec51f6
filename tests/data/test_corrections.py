import re

import pytest

from saltcalc.data.causes import causes
from saltcalc.data.corrections import corrections
from tests.sentences import sentences


@pytest.mark.parametrize("row", corrections().values(), ids=lambda row: row.id)
def test_a_sentence_tells_the_rate_that_its_row_has(row):
    asked = set(re.findall(r"{(\w+)", sentences()[f"corrections.sentence.{row.id}"]))
    assert asked <= {"rate", "value"}
    assert ("rate" in asked) == bool(row.unit)
    if "value" in asked:
        assert any(each.measure for each in row.wanted)


def test_every_shortage_is_corrected_in_standing_plants():
    helped = {
        cause
        for row in corrections().values()
        for cause in row.causes
        if row.use == "standing_plants"
    }
    assert {cause for cause in causes() if cause.endswith("_shortage")} <= helped
    assert {"ph_too_low", "ph_too_high", "ammonium_toxicity", "manganese_toxicity"} <= helped


def test_what_lifts_the_ph_fast_is_barred_by_ammonium():
    for row in ("flowable_lime", "potassium_bicarbonate"):
        assert "ammonium_n" in {each.measure for each in corrections()[row].barring}
    assert not corrections()["hydrated_lime"].unit


def test_nothing_that_holds_lime_is_told_for_plants_that_suffer_from_it():
    for row in corrections().values():
        told = sentences()[f"corrections.sentence.{row.id}"].lower()
        if "limestone" in told and row.use != "first":
            assert "acid_loving" in {each.measure for each in row.barring}, row.id
