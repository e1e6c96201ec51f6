"""Schemas that follow from what parts show."""

from typing import ClassVar

from saltcalc.message import say
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import part, shown, source_keys
from saltcalc.service.contract import schema_of
from saltcalc.words.catalogue import words
from saltcalc.words.rendering import as_json


@part
class Way:
    shown_as: ClassVar[str] = "Way"

    id: str = shown()


@part
class ByRoad(Way):
    lanes: int = shown()
    sources: list[str] = source_keys()


@part
class ByRail(Way):
    gauge: float = shown("Between the rails.", "m")
    sources: list[str] = source_keys()


@part
class Journey:
    ways: list[ByRoad | ByRail] = shown()


def test_one_of_several_kinds_has_one_schema_where_what_not_all_show_is_optional():
    schema = schema_of(Journey)().fields["ways"].inner.schema
    assert type(schema).__name__ == "WaySchema"
    assert list(schema.fields) == ["id", "lanes", "gauge", "sources"]
    assert [name for name, field in schema.fields.items() if field.required] == ["id", "sources"]


def test_each_kind_goes_out_with_its_own_members_only():
    journey = Journey([ByRoad("road", 2, []), ByRail("rail", float("nan"), [])])
    shown_members = schema_of(Journey)().dump(as_json(journey, words()))
    assert shown_members == {
        "ways": [
            {"id": "road", "lanes": 2, "sources": []},
            {"id": "rail", "gauge": None, "sources": []},
        ]
    }


def test_findings_that_read_alike_are_said_once_and_others_each():
    notes = Notes()
    for litres in (2.001, 2.002, 3.0):
        notes.warn("many_passes", "note", say("flush.litres", litres=litres), "flush_plan")
    said = as_json(notes.close(Journey([])), words())["warnings"]
    assert [each["sentence"] for each in said] == ["2 L", "3 L"]
