"""What comes after the question mark: filters of tables, parts and forms of an answer."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

import marshmallow as ma
from webargs.fields import DelimitedList

from saltcalc.data.crops import GROUPS, RATINGS
from saltcalc.data.extraction import method_codes
from saltcalc.data.stage_limits import stage_limits
from saltcalc.parts.answer import BESIDE, Wanted
from saltcalc.service.catalogues import method_labels
from saltcalc.service.fields import Choice
from saltcalc.service.schemas.answer_form import AnswerFormSchema


class CropFilterSchema(ma.Schema):
    """Which crops to list."""

    name = ma.fields.String(
        validate=ma.validate.Length(1, 100),
        metadata={
            "description": "Part of an id, common name, synonym or botanical name. If none has it, "
            "crops of a like name come, marked `near_match`."
        },
    )
    group = Choice(GROUPS, "Group of crops.", of="group")
    rating = Choice(RATINGS, "Salt tolerance rating.", of="rating")


class StageLimitFilterSchema(ma.Schema):
    """Which ranges to list."""

    stage = Choice(
        dict.fromkeys(limit.stage for limit in stage_limits() if limit.stage != "any"),
        "Age of the plants; ranges for plants of any age come with it.",
    )
    extraction = Choice(
        method_codes(), "Extraction method that the ranges are read by.", labels=method_labels()
    )


@cache
def wanted_schema(offered: tuple[str, ...]) -> type[ma.Schema]:
    """Return the schema of the query by which parts of an answer are chosen.

    Parameters
    ----------
    offered : tuple of str
        The parts that this endpoint has.
    """
    parts = DelimitedList(
        Choice((*offered, *BESIDE), "A part of the answer."),
        validate=ma.validate.Length(1, 20),
        metadata={
            "description": "The parts to show, separated by commas; all but `workings` if left out."
        },
    )
    fields: dict[str, Any] = {
        "parts": parts,
        "sources": Choice(("none",), "'none' leaves the sources out; their keys stay."),
    }
    if "causes" in offered:
        fields["causes"] = Choice(("all",), "'all' ranks the unlikely causes too.")
    if "flush_plan" in offered:
        fields["passes"] = Choice(
            ("all",), "'all' tells what each pass of a flush does, and the layers of water."
        )
    if "upkeep" in offered:
        fields["flush"] = Choice(
            ("advised",),
            "'advised' tells each flush plan as far as the summary advises, so that it lasts, and "
            "not just to the limit.",
        )
    return AnswerFormSchema.from_dict(fields, name="WantedSchema")


def wanted_of(query: Mapping[str, Any]) -> Wanted:
    """Return what of an answer a loaded query wants."""
    return Wanted(
        tuple(query.get("parts", ())),
        "sources" not in query,
        "causes" in query,
        "passes" in query,
        "flush" in query,
    )
