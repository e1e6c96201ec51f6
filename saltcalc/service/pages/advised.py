"""The flush that is advised, where it goes further than to the limit: as the page shows it."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import zip_longest
from typing import Any

from saltcalc.case.intake import readings_of
from saltcalc.parts.answer import Wanted, answer_assessment
from saltcalc.service.body import in_words
from saltcalc.service.catalogues import with_ends
from saltcalc.service.schemas.requests import AssessmentRequestSchema
from saltcalc.words.rendering import Json

_DEEPER = Wanted(parts=("flush_plan", "upkeep", "warnings"), sources=False, all_passes=True)


def as_advised(answer: Json, loaded: Mapping[str, Any]) -> Json:
    """Return an answer whose plans go as far as is advised, and its weeks and warnings with them.

    A plan that goes further than to the limit has ``to_limit`` beside it, the plan to the limit
    alone, and ``goal``, the reading down to which the other one goes.

    Parameters
    ----------
    answer : dict
        As the interface gives it, whole, with every pass.
    loaded : dict
        The request that it answers.
    """
    plans, weeks = list(answer["flush_plan"] or []), list(answer["upkeep"] or [])
    warnings = answer["warnings"]
    for place, (plan, kept) in enumerate(zip_longest(plans, weeks)):
        lasting = (kept or {}).get("extended_flush")
        if not lasting or not plan.get("step_by_step"):
            continue
        goal = lasting["target_reading"]
        target = AssessmentRequestSchema(only=("target_ec",)).load({"target_ec": goal})
        asked = {**loaded, **target, "containers": [loaded["containers"][place]]}
        deeper = _assessed(asked)
        plans[place] = {**deeper["flush_plan"][0], "to_limit": plan, "goal": goal}
        if "build_up" in kept:
            weeks[place] = {**kept, "build_up": deeper["upkeep"][0]["build_up"]}
        warnings = [each for each in warnings if each.get("field") != f"flush_plan/{place}"]
        warnings += [each for each in deeper["warnings"] if each.get("field") == "flush_plan/0"]
    return {**answer, "flush_plan": plans, "upkeep": weeks, "warnings": warnings}


def _assessed(request: dict[str, Any]) -> Json:
    return in_words(
        request,
        b"",
        lambda: answer_assessment(with_ends(request), readings_of(request), wanted=_DEEPER),
    )
