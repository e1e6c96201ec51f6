"""What a grower needs of an answer, in a few lines: what is wrong, what to do, what not to do."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from saltcalc.words.catalogue import Words, words
from saltcalc.words.figures import figure, lower_first
from saltcalc.words.reader import ENGLISH
from saltcalc.words.rendering import Json
from saltcalc.words.text.deeds import enough, next_crop, this_week, today, wets_first
from saltcalc.words.text.items import (
    MAY,
    MUST,
    POURING,
    SHOULD,
    SPARE,
    SURE,
    Item,
    found_in,
    supposed,
)
from saltcalc.words.text.results import Result, as_known, in_own_unit, results_of

MOST_WORDS = 250
MOST_WORDS_OF_SEVERAL = 350
"""Where containers of two kinds are asked about."""
WORDIER = 1.15
"""Words that another language takes to say the same, over those of English: French the most."""

_TOLD_ELSEWHERE = frozenset(
    {
        "collect_drainage",
        "crop_fails",
        "crop_not_in_tables",
        "ec_is_lower_bound",
        "ec_is_estimated",
        "flush_with_weak_feed",
        "many_passes",
        "nitrate_in_drainage",
        "no_flush_needed",
        "report_contradicts",
        "reading_below_ions",
        "reporting_slip",
        "salt_builds_up",
        "salt_builds_up_unless_taken_up",
        "salt_is_unlikely",
        "sealed_container",
        "wet_before_flushing",
    }
)
"""Findings that the short words tell in a place of their own."""

_SAID_BY = {
    "water_ion_too_much": "water_ion_exceeds_crop",
    "target_below_water": "water_exceeds_crop",
    "water_too_saline": "water_exceeds_crop",
    "sodic_medium": "calcium_before_flush",
}
"""Findings that say what another says."""

_ON_A_FLUSH = "flush_does_not_cure"
"""Finding on a flush that is planned; where the short words tell none, it would hang in the air."""

_MOST_CAUTIONS = 2
_LEACHING = tuple(
    f"remedy_{cause}"
    for cause in (
        "total_salts",
        "sodium_toxicity",
        "chloride_toxicity",
        "boron_toxicity",
        "ammonium_toxicity",
        "nitrite_toxicity",
        "sodic_structure",
    )
)
"""Remedies that tell, or may tell, to leach."""


_WATER = frozenset({"water_exceeds_crop", "water_ion_exceeds_crop"})
"""Findings that leave no medium well for long."""

_NO_FIGURE = "crop_not_in_tables"
"""The one caveat that leaves a medium without a fault."""

_FEEDING = ("remedy_ammonium_toxicity", "remedy_nitrogen_shortage")
"""Remedies that tell to feed nitrate."""


class Part(NamedTuple):
    """What is said under a label; that of the first is empty."""

    label: str
    said: list[str]


class Sheet(NamedTuple):
    """The short words: the parts in their order, and the results beside them."""

    parts: list[Part]
    headings: Result
    results: list[Result]
    """Those out of their range."""
    others: list[str]
    """Those within their range, in a sentence, and those that no range is known of, in another."""
    trace: str
    """What the answer can be traced by."""


def short(answer: Json, request: Json | None = None, language: Words | None = None) -> Sheet:
    """Return the short words of an answer to an assessment.

    Parameters
    ----------
    answer : dict
        As the service gives it, with all its parts.
    request : dict, optional
        What was asked; the results are told in its units.
    language : Words, optional
        Of the language of the answer; English without.
    """
    language = language or words()
    healthy, results = _is_healthy(answer), results_of(answer, request, language)
    labelled: list[tuple[str, list[Item]]] = [
        ("", list(_verdict(answer, language))),
        (
            "today",
            [
                *today(answer, healthy, language),
                *_in_own_unit(answer, request, language),
                *enough(answer, results, language),
            ],
        ),
        ("this_week", list(this_week(answer, healthy, language))),
        ("next_crop", list(next_crop(answer, healthy, language))),
        ("do_not", list(_do_not(answer, healthy, language))),
        ("mind", list(_mind(answer, healthy))),
        ("to_be_sure", list(_check(answer, language))),
        ("read_as", list(_read_as(answer, language))),
        ("assumed", list(_assumed(answer, healthy, language))),
    ]
    several = len(answer["flush_plan"] or []) > 1
    titles = {label: language.tell(f"short.{label}") if label else "" for label, _ in labelled}
    trace = language.tell("workings.trace", **answer["trace"])
    room = MOST_WORDS_OF_SEVERAL if several else MOST_WORDS
    if language.language != ENGLISH:
        room = int(WORDIER * room)
    beside = sum(_count(each) for each in (*titles.values(), trace))
    unmarked = [each for each in results if not each.mark]
    _fit([items for _, items in labelled], room - beside)
    assumed, spare = labelled[-1][1], room - beside - _words_of(labelled)
    if not assumed:
        shorter = _assumed(answer, healthy, language, most=1)
        assumed += [item for item in shorter if _count(item[1]) <= spare]
    return Sheet(
        parts=[
            Part(titles[label], [said for _, said in items])
            for label, items in labelled
            if items or not label
        ],
        headings=Result(
            language.tell("results.heading.name"),
            language.tell("results.heading.found"),
            language.tell("results.heading.range"),
            "",
        ),
        results=[each for each in results if each.mark],
        others=[
            said
            for told, judged in (("in_range", True), ("no_range", False))
            if (said := _told(told, [each for each in unmarked if each.judged == judged], language))
        ],
        trace=trace,
    )


def _in_own_unit(answer: Json, request: Json | None, language: Words) -> Iterator[Item]:
    if said := in_own_unit(answer, request, language):
        yield SHOULD, said


def _words_of(labelled: Iterable[tuple[str, list[Item]]]) -> int:
    return sum(_count(said) for _, items in labelled for _, said in items)


def _count(text: str) -> int:
    return len(text.split())


def _fit(parts: list[list[Item]], most: int) -> None:
    """Take out what matters least, from the end, until there is room for the rest."""
    while sum(_count(said) for items in parts for _, said in items) > most:
        worth = max(item[0] for items in parts for item in items)
        if worth == MUST:
            return
        last = next(items for items in reversed(parts) if any(each[0] == worth for each in items))
        last.remove(next(item for item in reversed(last) if item[0] == worth))


def _told(how: str, results: list[Result], language: Words) -> str:
    """Return figures in one sentence; none, an empty one."""
    if not results:
        return ""
    units = [each.found.partition(" ")[2] for each in results]
    found = [
        f"{each.name} {each.found.partition(' ')[0] if unit and unit == after else each.found}"
        for each, unit, after in zip(results, units, [*units[1:], ""], strict=True)
    ]
    return language.tell(f"results.{how}", found=found)


def _is_healthy(answer: Json) -> bool:
    summary = answer["summary"]
    leading = summary["leading_cause"]
    return (
        leading["cause"] is None
        and leading["verdict"] == "unlikely"
        and not summary.get("next_check")
        and not summary.get("contradiction")
        and not _WATER.intersection(found_in(answer))
        and (summary.get("caveat") or {"id": _NO_FIGURE})["id"] == _NO_FIGURE
    )


def _verdict(answer: Json, language: Words) -> Iterator[Item]:
    """Yield what is wrong and how sure that is."""
    summary = answer["summary"]
    leading = summary["leading_cause"]
    if contradiction := summary.get("contradiction"):
        yield MUST, contradiction["sentence"]
    yield MUST, leading["sentence"]
    if retest := summary.get("retest"):
        yield MUST, retest["sentence"]
    crop = summary.get("worst_crop")
    if crop and not summary.get("by_method"):
        yield SHOULD, as_known(crop, language)
    caveat = summary.get("caveat")
    if caveat and not (crop and caveat["id"] == "crop_not_in_tables"):
        yield MUST, caveat["sentence"]
    salt = (summary.get("salt") or {}).get("sentence")
    if salt and leading["cause"] == "total_salts":
        yield SHOULD, salt
    told = {leading["cause"], *leading.get("tied_with", [])}
    if wets_first(answer):
        told.add("water_repellence")
    also = [
        lower_first(each["name"])
        for each in answer["causes"]["ranked"]
        if each["verdict"] == "supported" and each["cause"] not in told
    ]
    if also:
        yield SHOULD, language.tell("short.also", names=also)
    told_above = crop and crop.get("measure") not in (None, "ec", "ph")
    if leading["evidence"] and not told_above:
        yield SPARE if leading["cause"] == "total_salts" else MAY, leading["evidence"]


def _do_not(answer: Json, healthy: bool, language: Words) -> Iterator[Item]:
    found = found_in(answer)
    actions = {each["id"] for each in answer["summary"]["actions"]}
    pouring = bool(actions.intersection(POURING))
    leaching = pouring or bool(actions.intersection(_LEACHING))
    if "sealed_container" in found:
        yield MUST, language.tell("short.not_the_sealed")
    if "salt_is_unlikely" in found and not healthy and not leaching:
        yield SHOULD, language.tell("short.no_flush")
    if leaching:
        if over := _nitrate(answer):
            yield MUST, language.tell("short.no_nitrate_out", **over)
        else:
            in_field = any(each["id"] == "in_field" for each in answer["assumptions"])
            yield MUST, language.tell(f"short.no_drainage_out{'_of_field' * in_field}")
    remedies = {each["id"] for each in (answer["nutrients"] or {"remedies": []})["remedies"]}
    if (pouring or "stop_feeding" in remedies) and not actions.intersection(_FEEDING):
        weak = "flush_with_weak_feed" in found
        yield SHOULD, language.tell(f"short.no_{'full_' if weak else ''}feed")


def _nitrate(answer: Json) -> dict[str, Any]:
    """Return the worst nitrate of the drainages, and how far above the limit for drinking water."""
    for plan in answer["flush_plan"] or []:
        nitrate = (plan.get("costs") or {}).get("drainage_nitrate_n")
        strictest = max(
            (plan.get("costs") or {}).get("drinking_water", []),
            key=lambda each: each["over_limit"]["value"],
            default=None,
        )
        if nitrate and strictest and strictest["over_limit"]["value"] > 1:
            return {"nitrate": nitrate["value"], "over": strictest["over_limit"]["value"]}
    return {}


def _mind(answer: Json, healthy: bool) -> Iterator[Item]:
    """Yield what else to take care of: all that stops, and the first cautions.

    A healthy medium needs none on a flush.
    """
    found, summary = found_in(answer), answer["summary"]
    told_first = {(summary.get(each) or {"id": ""})["id"] for each in ("caveat", "contradiction")}
    said = told_first | {each for each, same in _SAID_BY.items() if same in found}
    if any(each["id"] == "change_water" for each in summary["actions"]):
        said |= _WATER
    if not any(each["id"] in POURING for each in summary["actions"]):
        said.add(_ON_A_FLUSH)
    told = [
        row
        for row in answer["warnings"]
        if row["id"] not in _TOLD_ELSEWHERE | said
        and row["severity"] != "note"
        and not (healthy and row["field"].startswith("flush_plan"))
    ]
    stops = [row["sentence"] for row in told if row["severity"] == "stop"]
    cautions = [row["sentence"] for row in told if row["severity"] != "stop"]
    yield from ((MUST, said) for said in stops)
    yield from ((MAY, said) for said in cautions[:_MOST_CAUTIONS])


def _check(answer: Json, language: Words) -> Iterator[Item]:
    """Yield the check that would settle it, and what it may show."""
    check = answer["causes"]["next_check"]
    told_first = answer["summary"].get("next_check")
    if check is None or told_first is None:
        if told_first:
            yield SURE, told_first["sentence"]
        return
    shown: dict[str, list[str]] = {}
    for row in check["outcomes"]:
        shown.setdefault(row["outcome"], []).append(language.tell(f"causes.name.{row['cause']}"))
    told = [
        language.tell("short.if_found", outcome=outcome, causes=causes)
        for outcome, causes in shown.items()
        if outcome != check["otherwise"]
    ][:2]
    if check["otherwise"] not in shown:
        told.append(language.tell("short.otherwise", outcome=check["otherwise"]))
    yield SURE, " ".join([check["how"], *told[:1]])
    if told[1:]:
        yield MAY, " ".join(told[1:])


def _read_as(answer: Json, language: Words) -> Iterator[Item]:
    """Yield what was read other than it was written, in one line."""
    told = [
        each["value"].partition(";")[0].rstrip(".")
        for each in answer["assumptions"]
        if each["id"] in ("reading_of_name", "reading_of_unit")
    ]
    read_so = any(each["id"] == "reading_of_comma" for each in answer["assumptions"])
    if read_so and "," not in figure(1.5, language=language.language):
        told.append(language.tell("short.decimal_commas"))
    if told:
        yield SHOULD, language.semicolons(dict.fromkeys(told)) + "."


def _assumed(
    answer: Json, healthy: bool, language: Words, most: int | None = None
) -> Iterator[Item]:
    """Yield what was taken for granted that moves the answer most, so many of it at most."""
    summary = answer["summary"]
    told = [supposed(each, language) for each in summary["most_telling"][:most]]
    if told and not healthy:
        count = summary["assumption_count"]
        which = "short.supposed" if count > len(told) else "short.supposed_alone"
        yield SHOULD, language.tell(which, first=told, count=count)


def behind(answer: Json) -> list[str]:
    """Return the keys of the sources of what the short words tell.

    Those of the reading, the limits of crops, the plan to flush, the ranges that a figure lies
    outside of, and the causes that are supported.

    Parameters
    ----------
    answer : dict
        As the service gives it, with all its parts.
    """
    return sorted(set(_keys(answer)), key=list(answer["sources"]).index)


def _keys(answer: Json) -> Iterator[str]:
    crops, plans = answer["crops"] or [], answer["flush_plan"] or []
    outside = [
        each
        for each in (answer["nutrients"] or {}).get("elements", [])
        if each.get("status") in ("low", "high")
    ]
    found = [each for each in answer["causes"]["ranked"] if each["verdict"] == "supported"]
    evidence = [one for each in found for one in each.get("evidence_for", [])]
    salinity = [answer["salinity"]] if answer["salinity"] else []
    for part in (*salinity, *crops, *plans, *outside, *found, *evidence):
        yield from part.get("sources", [])
