"""What the page of an answer shows: its parts in the order of a reader, in words already."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from typing import Any

from saltcalc.message import say
from saltcalc.quantities import Measured
from saltcalc.service.pages.nutrient_figures import as_found, usual_told
from saltcalc.service.pages.pictures import Pictures
from saltcalc.words.catalogue import Words
from saltcalc.words.figures import figure as number
from saltcalc.words.figures import lower_first, upper_first
from saltcalc.words.rendering import Json
from saltcalc.words.text import figure, name_of_assumption, taken

Rows = list[dict[str, Any]]

_OF_BOTH = ("ions", "sodicity")
"""Parts that tell the same of the medium and of the water."""


def report_of(answer: Json, words: Words, loaded: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the page of an answer shows.

    Parameters
    ----------
    answer : dict
        As the interface gives it, whole, with every pass, its flush plans as advised.
    words : Words
        Of the language of the answer.
    loaded : dict
        The request that it answers.
    """
    summary, below = answer["summary"], _told_as_below(loaded)
    assumptions, telling = _most_telling_first(answer)
    return {
        "sample": " · ".join(_sample(answer, words)),
        "contradiction": _sentence(summary.get("contradiction")),
        "lead": summary["leading_cause"]["sentence"],
        "more": [
            each["sentence"]
            for each in (
                summary.get("retest"),
                summary.get("salt"),
                summary.get("worst_crop"),
                summary.get("caveat"),
            )
            if each and each.get("sentence")
        ],
        "actions": list(_actions(summary["actions"], words)),
        "next": _sentence(summary.get("next_check")),
        "readings": list(_readings(answer["salinity"], words)),
        "results": list(_results(answer["nutrients"], words, below)),
        "remedies": [each["sentence"] for each in (answer["nutrients"] or {}).get("remedies", [])],
        "crops": [
            {
                "name": f"{row['name']} ({words.tell('stage.' + row['stage'])})",
                "verdict": words.tell(f"crop_verdict.{row['verdict']}"),
                "note": row["note"],
            }
            for row in answer["crops"] or []
        ],
        "causes": list(_causes(answer["causes"], words)),
        "plans": [_plan(row, words) for row in answer["flush_plan"] or []],
        "upkeep": [
            {"container": row["container"], "sentence": row["sentence"]}
            for row in answer["upkeep"] or []
        ],
        "sodium": [
            part["sentence"]
            for part in (answer["sodicity"] or {}).values()
            if isinstance(part, Mapping) and part.get("sentence")
        ],
        "warnings": [
            each
            for severity in ("stop", "caution")
            for each in answer["warnings"]
            if each["severity"] == severity
        ],
        "notes": [each for each in answer["warnings"] if each["severity"] == "note"],
        "assumptions": assumptions_of(assumptions),
        "telling": telling,
        "gaps": list(dict.fromkeys(_gaps(answer["not_computed"], words))),
        "intervals": answer["intervals"],
        "sources": [each["citation"] for each in answer["sources"].values()],
        "pictures": Pictures(answer, words, below).all(),
    }


def _gaps(gaps: Rows, words: Words) -> Iterator[str]:
    """Yield what could not be worked out; of two solutions, of which of them."""
    titles = {"medium": "page.label.medium", "water": "page.water"}
    for each in gaps:
        part, _, of_it = each["part"].partition("/")
        owner = of_it.partition("/")[0]
        if part in _OF_BOTH and owner in titles:
            yield words.labelled(words.tell(titles[owner]), lower_first(each["sentence"]))
        else:
            yield each["sentence"]


def _most_telling_first(answer: Json) -> tuple[Rows, int]:
    """Return the assumptions, those first that move the litres most, and how many these are."""
    first = {(each["id"], each.get("field")) for each in answer["summary"]["most_telling"]}

    def is_late(row: dict[str, Any]) -> bool:
        return (row["id"], row.get("field")) not in first

    rows = sorted(answer["assumptions"], key=is_late)
    return rows, len(rows) - sum(map(is_late, rows))


def _sentence(part: Json | None) -> str:
    return part["sentence"] if part else ""


def _sample(answer: Json, words: Words) -> Iterator[str]:
    if sample := answer.get("sample_id"):
        yield sample
    if day := answer.get("sampled_on"):
        yield words.day(datetime.date.fromisoformat(day))


def _actions(actions: Rows, words: Words) -> Iterator[dict[str, Any]]:
    for each in actions:
        told = {
            name: words.say(say(f"report.{name}", figure=figure(each[name])))
            for name in ("amount", "done_at")
            if each.get(name)
        }
        yield {"where": each.get("container"), "sentence": each["sentence"], **told}


def _readings(part: Json | None, words: Words) -> Iterator[tuple[str, str]]:
    if not part:
        return
    method = words.say(say(f"extraction_methods.name.{part['method']}"))
    read = words.say(say("report.as_read", method=lower_first(method)))
    yield read, figure(part["ec_25c"])
    for name in ("ec_saturated_extract", "ec_pore_water", "osmotic_potential"):
        if part.get(name):
            yield words.say(say(f"report.{name}")), figure(part[name])
    if part.get("class"):
        class_ = words.tell(f"ec_class.{part['class']}")
        yield words.say(say("report.class")), words.labelled(class_, part["meaning"])


def _told_as_below(loaded: Mapping[str, Any]) -> frozenset[str]:
    """Return what the report of the medium tells as below a figure, and no more of."""
    medium = loaded.get("medium", {})
    reported = {**medium.get("micronutrients", {}), **medium.get("ions", {})}
    return frozenset(
        name
        for name, found in reported.items()
        if isinstance(found, Measured) and found.low == 0 < found.high
    )


def _results(part: Json | None, words: Words, below: frozenset[str]) -> Iterator[dict[str, Any]]:
    for row in (part or {}).get("elements", []):
        usual = usual_told(row, words) if row.get("range") else ""
        status = words.say(say(f"report.status.{row['status']}")) if row.get("status") else ""
        yield {
            "name": row["name"],
            "figure": as_found(row, below),
            "usual": usual,
            "status": status,
            "outside": row.get("status") in ("low", "high"),
        }


def _causes(part: Json, words: Words) -> Iterator[dict[str, Any]]:
    for row in part["ranked"]:
        yield {
            "name": row["name"],
            "verdict": words.tell(f"cause_verdict.{row['verdict']}"),
            "mechanism": row.get("mechanism", ""),
            "for": [each["sentence"] for each in row.get("evidence_for", [])],
            "against": [each["sentence"] for each in row.get("evidence_against", [])],
            "remedy": row.get("usual_remedy", "") if row["verdict"] == "supported" else "",
            "corrections": [each["sentence"] for each in row.get("corrections", [])],
        }


def _plan(row: Json, words: Words) -> dict[str, Any]:
    plan: dict[str, Any] = {
        "steps": row.get("step_by_step", []),
        "lasts": row.get("goes_further", ""),
        "container": row["container"] or words.say(say("report.container")),
        "in_short": row.get("in_short", ""),
        "sentence": row["sentence"],
        "options": [each["sentence"] for each in row.get("options", [])],
        "feed": _sentence(row.get("costs", {}).get("feed")),
        "rebound": _sentence(row.get("rebound")),
        "reuse": [
            said
            for name in ("returned_drainage", "drainage_as_feed")
            if (said := _sentence(row.get(name)))
        ],
        "passes": [],
    }
    if row.get("held_back"):
        return plan | {"feed": "", "rebound": "", "reuse": []}
    if passes := row.get("pass_by_pass"):
        each = row["applied_each"]
        plan["passes"] = [
            {
                "number": count,
                "poured": figure({"value": count * each["value"], "unit": each["unit"]}, 3),
                "drainage": number(drains) if drains is not None else "–",
            }
            for count, drains in zip(
                passes["pass_numbers"], passes["drainage_ec"]["values"], strict=True
            )
        ]
        plan["each"] = figure(each, 3)
    return plan


def assumptions_of(part: Rows) -> Rows:
    """Return what was taken for granted, each with its name, what was taken, and why."""
    return [
        {
            "id": row["id"],
            "name": upper_first(name_of_assumption(row)),
            "taken": taken(row),
            "unit": _unit_of(row["value"]),
            "reason": row["reason"],
            "field": row.get("field", ""),
        }
        for row in part
    ]


def _unit_of(value: Any) -> str:
    unit = value["unit"] if isinstance(value, dict) else ""
    return "" if unit == "1" else str(unit)
