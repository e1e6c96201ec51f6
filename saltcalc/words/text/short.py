"""What a grower needs of an answer, in a few lines: what is wrong, what to do, what not to do."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from saltcalc.case.vocabulary import BY_HAND
from saltcalc.science.instruction import PRACTICAL_POURINGS
from saltcalc.words.catalogue import Words, words
from saltcalc.words.figures import figure, lower_first
from saltcalc.words.reader import ENGLISH
from saltcalc.words.rendering import Json
from saltcalc.words.text.results import Result, results_of

MOST_WORDS = 250
MOST_WORDS_OF_SEVERAL = 350
"""Where containers of two kinds are asked about."""
WORDIER = 1.15
"""Words that another language takes to say the same, over those of English: French the most."""
MOST_KINDS = 3
"""Containers of more kinds than this are left to the answer in full."""

PRACTICAL_DRAINAGE = 0.4
"""Share of each watering that people let drain at most; beyond it another water is the better way.

Common practice, no source.
"""

MOSTLY_THE_WATER = 0.5
"""Share of the EC of what is poured from which on the water brings the salt (judgement)."""

_MUST, _SHOULD, _MAY, _SPARE = range(4)
"""How much an item matters: where there is not room for all, the last ones go first."""

_TOLD_ELSEWHERE = frozenset(
    {
        "collect_drainage",
        "crop_fails",
        "crop_not_in_tables",
        "ec_is_a_floor",
        "ec_is_estimated",
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

_SAID_BY = {"water_ion_too_much": "water_ion_exceeds_crop"}
"""Findings that say what another says."""

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
_OF_SALTS = "remedy_total_salts"
"""What usually helps against salts; it stands alone where no plan is told with its litres."""
_POURING = ("flush", "flush_elsewhere", "drill_holes", "better_water")


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
    in_range: str
    """All others, in one sentence; empty if there are none."""
    trace: str
    """What the answer can be traced by."""


Item = tuple[int, str]


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
        ("today", [*_today(answer, healthy, language), *_enough(answer, results, language)]),
        ("this_week", list(_this_week(answer, healthy, language))),
        ("next_crop", list(_next_crop(answer, healthy, language))),
        ("do_not", list(_do_not(answer, healthy, language))),
        ("mind", list(_mind(answer))),
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
    _fit([items for _, items in labelled], room - beside)
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
        in_range=_in_range([each for each in results if not each.mark], language),
        trace=trace,
    )


def _count(text: str) -> int:
    return len(text.split())


def _fit(parts: list[list[Item]], most: int) -> None:
    """Take out what matters least, from the end, until there is room for the rest."""
    while sum(_count(said) for items in parts for _, said in items) > most:
        worth = max(item[0] for items in parts for item in items)
        if worth == _MUST:
            return
        last = next(items for items in reversed(parts) if any(each[0] == worth for each in items))
        last.remove(next(item for item in reversed(last) if item[0] == worth))


def _in_range(results: list[Result], language: Words) -> str:
    if not results:
        return ""
    units = [each.found.partition(" ")[2] for each in results]
    found = [
        f"{each.name} {each.found.partition(' ')[0] if unit and unit == after else each.found}"
        for each, unit, after in zip(results, units, [*units[1:], ""], strict=True)
    ]
    return language.tell("results.in_range", found=found)


def _is_healthy(answer: Json) -> bool:
    summary = answer["summary"]
    leading = summary["leading_cause"]
    return (
        leading["cause"] is None
        and leading["verdict"] == "unlikely"
        and not summary.get("next_check")
        and not summary.get("contradiction")
        and not summary.get("caveat")
    )


def _found(answer: Json) -> dict[str, Json]:
    return {each["id"]: each for each in answer["warnings"]}


def _verdict(answer: Json, language: Words) -> Iterator[Item]:
    """Yield what is wrong and how sure that is."""
    summary = answer["summary"]
    leading = summary["leading_cause"]
    if contradiction := summary.get("contradiction"):
        yield _MUST, contradiction["sentence"]
    yield _MUST, leading["sentence"]
    if retest := summary.get("retest"):
        yield _MUST, retest["sentence"]
    crop = summary.get("worst_crop")
    if crop and not summary.get("by_method"):
        yield _SHOULD, crop["sentence"]
    caveat = summary.get("caveat")
    if caveat and not (crop and caveat["id"] == "crop_not_in_tables"):
        yield _MUST, caveat["sentence"]
    salt = (summary.get("salt") or {}).get("sentence")
    if salt and leading["cause"] == "total_salts":
        yield _SHOULD, salt
    tied = {leading["cause"], *leading.get("tied_with", [])}
    also = [
        lower_first(each["name"])
        for each in answer["causes"]["ranked"]
        if each["verdict"] == "supported" and each["cause"] not in tied
    ]
    if also:
        yield _MAY, language.tell("short.also", names=also)
    told_above = crop and crop.get("measure") not in (None, "ec", "ph")
    if leading["evidence"] and not told_above:
        yield _SPARE if leading["cause"] == "total_salts" else _MAY, leading["evidence"]


def _for(container: str | None, said: str, several: bool) -> str:
    """Put the name of a container before what is for it alone."""
    if not several or not container or container in said:
        return said
    return f"{container}: {lower_first(said)}"


def _today(answer: Json, healthy: bool, language: Words) -> Iterator[Item]:
    """Yield the first action, for each kind of container."""
    summary, plans = answer["summary"], answer["flush_plan"] or []
    several = len(plans) > 1
    actions = summary["actions"]
    if summary.get("contradiction"):
        yield _MUST, language.tell("short.check_first")
    if summary.get("by_method") and actions:
        assumed = next(each for each in answer["assumptions"] if each["id"] == "extraction")
        name = language.tell(f"extraction_methods.name.{assumed['value']}")
        yield _MUST, language.tell("short.method_first", assumed=name)
    if "wet_before_flushing" in _found(answer) and any(each["id"] in _POURING for each in actions):
        yield _MUST, language.tell("short.wet_first")
    said: list[str] = []
    for action in actions:
        told = _for(action.get("container"), action["sentence"], several)
        if told not in said:
            said.append(told)
    yield from ((_MUST, each) for each in said[:MOST_KINDS])
    if len(said) > MOST_KINDS:
        yield _MUST, language.tell("short.more_kinds", count=len(said) - MOST_KINDS)
    for plan in plans:
        flushed = [
            each
            for each in actions
            if each["id"] == "flush" and each.get("container") == plan["container"]
        ]
        if flushed and 1 < _pourings(plan, flushed[0]) <= PRACTICAL_POURINGS:
            each = plan["applied_each"]
            told = language.tell("short.lots", each=f"{figure(each['value'])} {each['unit']}")
            yield _SHOULD, _for(plan["container"], told, several)
    if not healthy and all(each["id"] == _OF_SALTS for each in actions):
        yield from (
            (_SHOULD, each)
            for each in dict.fromkeys(plan["sentence"] for plan in plans if not plan["passes"])
        )


_FIGURE_OF = {
    "remedy_total_salts": "ec",
    "remedy_sodium_toxicity": "sodium",
    "remedy_chloride_toxicity": "chloride",
    "remedy_boron_toxicity": "boron",
    "remedy_ammonium_toxicity": "ammonium_n",
    "remedy_nitrogen_shortage": "nitrate_n",
    "remedy_phosphorus_shortage": "phosphorus",
    "remedy_potassium_shortage": "potassium",
    "remedy_calcium_shortage": "calcium",
    "remedy_magnesium_shortage": "magnesium",
    "remedy_ph_too_low": "ph",
    "remedy_ph_too_high": "ph",
}
"""What shows that a remedy has worked."""


def _enough(answer: Json, results: list[Result], language: Words) -> Iterator[Item]:
    """Yield which reading ends a remedy that has no other stop sign."""
    for action in answer["summary"]["actions"]:
        which = _FIGURE_OF.get(action["id"])
        for each in results:
            if which and each.which == which and each.goal and each.mark:
                yield _SHOULD, language.tell("short.enough", name=each.name, range=each.goal)


def _pourings(plan: Json, action: Json) -> float:
    """Return how often a person pours; none where something else waters."""
    if (plan.get("pouring") or {}).get("means") not in BY_HAND:
        return 0.0
    times: float = action["amount"]["value"] / plan["applied_each"]["value"]
    return times


def _corrections(answer: Json, *uses: str) -> Iterator[str]:
    """Yield what else corrects the first cause, for a use."""
    leading = answer["summary"]["leading_cause"]
    if leading["verdict"] != "supported":
        return
    for cause in answer["causes"]["ranked"]:
        if cause["cause"] == leading["cause"]:
            fitting = [each for each in cause.get("corrections", []) if each["use"] in uses]
            yield from (each["sentence"] for each in fitting)


def _this_week(answer: Json, healthy: bool, language: Words) -> Iterator[Item]:
    """Yield what comes after it: correct, let more drain, read again, feed again."""
    for place, said in enumerate(_corrections(answer, "standing_plants", "water")):
        yield (_SHOULD if place == 0 else _SPARE), said
    plans = answer["flush_plan"] or []
    several = len(plans) > 1
    flushed = {
        each.get("container") for each in answer["summary"]["actions"] if each["id"] == "flush"
    }
    for plan in plans:
        if plan["container"] in flushed and plan.get("rebound"):
            yield _MAY, _for(plan["container"], plan["rebound"]["sentence"], several)
            feed = plan["costs"].get("feed")
            if feed and feed["nitrogen_per_container"]["value"] > 0:
                yield _MAY, _for(plan["container"], feed["sentence"], several)
    for row in answer["upkeep"] or []:
        if told := _drain(row, answer, language):
            yield (_MAY if healthy else _SHOULD), _for(row["container"], told, several)


def _drain(row: Json, answer: Json, language: Words) -> str:
    """Say how much must drain from now on, where that is more than drains now."""
    needed, drains = row.get("leaching_fraction_needed"), row["leaching_fraction"]
    supposed = {each["id"] for each in answer["assumptions"]}
    if not drains["value"] or "water_ec" in supposed:
        return ""
    if needed is None:
        return language.tell("upkeep.no_draining_helps")
    if needed["value"] <= drains["value"]:
        return ""
    now = language.tell(
        "upkeep.drains_as_assumed" if "irrigation" in supposed else "upkeep.drains_now",
        drains=drains["value"],
    )
    brought = answer["water"] and answer["water"]["ec_25c"]["value"] / row["ec_applied"]["value"]
    is_the_water = brought and brought > MOSTLY_THE_WATER
    better = "_or_change_water" if is_the_water and needed["value"] > PRACTICAL_DRAINAGE else ""
    return language.tell(f"short.let_drain{better}", needed=needed["value"], now=now)


def _next_crop(answer: Json, healthy: bool, language: Words) -> Iterator[Item]:
    """Yield what is left for before the next crop: mix, replace, lime, sow something else."""
    for place, said in enumerate(_corrections(answer, "new_batch")):
        yield (_SHOULD if place == 0 else _SPARE), said
    if healthy or answer["summary"]["leading_cause"]["cause"] != "total_salts":
        return
    done = {each["id"] for each in answer["summary"]["actions"]}
    options = {
        option["id"]: option
        for plan in answer["flush_plan"] or []
        for option in plan["options"]
        if option["id"] not in done
    }
    if blend := options.get("blend"):
        yield (
            _SHOULD,
            language.tell(
                "short.blend",
                share=blend["salty_share"]["value"],
                clean=blend["ec_clean"]["value"],
            ),
        )
    hardier = [
        each["name"]
        for crop in answer["crops"] or []
        for each in crop.get("alternatives", [])
        if each["verdict"] == "tolerant"
    ][:3]
    if hardier:
        yield _MAY, language.tell("short.hardier", crops=hardier)
    elif sown := options.get("tolerant_crop"):
        yield _MAY, sown["sentence"]


def _do_not(answer: Json, healthy: bool, language: Words) -> Iterator[Item]:
    found = _found(answer)
    actions = {each["id"] for each in answer["summary"]["actions"]}
    pouring = bool(actions.intersection(_POURING))
    leaching = pouring or bool(actions.intersection(_LEACHING))
    if "sealed_container" in found:
        yield _MUST, language.tell("short.not_the_sealed")
    if "salt_is_unlikely" in found and not healthy:
        yield _SHOULD, language.tell("short.no_flush")
    if leaching:
        if over := _nitrate(answer):
            yield _MUST, language.tell("short.no_nitrate_out", **over)
        else:
            yield _MUST, language.tell("short.no_drainage_out")
    remedies = {each["id"] for each in (answer["nutrients"] or {"remedies": []})["remedies"]}
    if pouring or "stop_feeding" in remedies:
        yield _SHOULD, language.tell("short.no_feed")


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


def _mind(answer: Json) -> Iterator[Item]:
    """Yield what else to take care of: all that stops, and the first cautions."""
    found, summary = _found(answer), answer["summary"]
    told_first = {(summary.get(each) or {"id": ""})["id"] for each in ("caveat", "contradiction")}
    said = told_first | {each for each, same in _SAID_BY.items() if same in found}
    told = [
        row
        for row in answer["warnings"]
        if row["id"] not in _TOLD_ELSEWHERE | said and row["severity"] != "note"
    ]
    stops = [row["sentence"] for row in told if row["severity"] == "stop"]
    cautions = [row["sentence"] for row in told if row["severity"] != "stop"]
    yield from ((_MUST, said) for said in stops)
    yield from ((_MAY, said) for said in cautions[:_MOST_CAUTIONS])


def _check(answer: Json, language: Words) -> Iterator[Item]:
    """Yield the check that would settle it, and what it may show."""
    check = answer["causes"]["next_check"]
    if check is None or "next_check" not in answer["summary"]:
        return
    yield _SHOULD, check["how"]
    shown: dict[str, list[str]] = {}
    for row in check["outcomes"]:
        shown.setdefault(row["outcome"], []).append(language.tell(f"causes.name.{row['cause']}"))
    told = [
        language.tell("short.if_found", outcome=outcome, causes=causes)
        for outcome, causes in shown.items()
        if outcome != check["otherwise"]
    ]
    if told:
        spared = language.tell("short.otherwise", outcome=check["otherwise"])
        yield _MAY, " ".join([*told[:2], *([] if check["otherwise"] in shown else [spared])])


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
        yield _SHOULD, "; ".join(dict.fromkeys(told)) + "."


def _assumed(answer: Json, healthy: bool, language: Words) -> Iterator[Item]:
    """Yield what was taken for granted that moves the answer most."""
    summary = answer["summary"]
    told = [_supposed(each, language) for each in summary["most_telling"]]
    if told and not healthy:
        yield (
            _SHOULD,
            language.tell("short.supposed", first=told, count=summary["assumption_count"]),
        )


def _supposed(row: Json, language: Words) -> str:
    """Say what an assumption assumes."""
    value = row["value"]
    match row["id"]:
        case "extraction":
            value = language.tell(f"extraction_methods.name.{value}")
        case "substrate":
            value = language.tell(f"substrates.name.{value}")
        case "stage":
            value = language.tell(f"stage.{value}")
        case _ if isinstance(value, dict) and value["unit"] == "1":
            value = value["value"]
        case _ if isinstance(value, dict):
            value = f"{figure(value['value'])} {value['unit']}"
    return language.tell(f"supposed.{row['id']}", value=value)
