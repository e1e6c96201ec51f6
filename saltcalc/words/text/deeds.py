"""What the short words tell to do: today, this week, before the next crop."""

from __future__ import annotations

from collections.abc import Iterator

from saltcalc.case.vocabulary import BY_HAND
from saltcalc.science.instruction import PRACTICAL_POURINGS
from saltcalc.words.catalogue import Words
from saltcalc.words.figures import lower_first
from saltcalc.words.rendering import Json
from saltcalc.words.text.items import MAY, MUST, POURING, SHOULD, SPARE, Item, found_in
from saltcalc.words.text.results import Result

MOST_KINDS = 3
"""Containers of more kinds than this are left to the answer in full."""


PRACTICAL_DRAINAGE = 0.4
"""Share of each watering that people let drain at most; beyond it another water is the better way.

Common practice, no source.
"""

MOST_DRAINAGE = 0.5
"""Share of each watering beyond which nobody is told to let so much drain (judgement)."""

MOSTLY_THE_WATER = 0.5
"""Share of the EC of what is poured from which on the water brings the salt (judgement)."""

TOLD_APART = 0.05
"""Share of a watering that nobody drains more or less by intent (judgement)."""

LONG = 84.0
"""Days to the limit from which a reading now and then does, and no more need drain (judgement)."""

_ASK_METHOD = "ask_method"
"""What comes before any other action where the method is not given."""

_OF_SALTS = "remedy_total_salts"
"""What usually helps against salts; it stands alone where no plan is told with its litres."""

_OF_WEEDKILLER = "remedy_herbicide_residue"
"""After it nothing is sown or mixed: a crop that stands the salt does not stand the residue."""


_OF_SALT = frozenset({"total_salts", "sodium_toxicity", "chloride_toxicity", "boron_toxicity"})
"""Causes after which salt could come back."""


def _for(container: str | None, said: str, several: bool, language: Words) -> str:
    """Put the name of a container before what is for it alone."""
    if not several or not container or container in said:
        return said
    return language.labelled(container, lower_first(said))


def wets_first(answer: Json) -> bool:
    """Return whether the first thing to do is to wet a medium that repels water."""
    pours = any(each["id"] in POURING for each in answer["summary"]["actions"])
    return pours and "wet_before_flushing" in found_in(answer)


def today(answer: Json, healthy: bool, language: Words) -> Iterator[Item]:
    """Yield the first action, for each kind of container."""
    summary, plans = answer["summary"], answer["flush_plan"] or []
    several = len(plans) > 1
    actions = summary["actions"]
    if summary.get("contradiction"):
        yield MUST, language.tell("short.check_first")
    if wets_first(answer):
        yield MUST, language.tell("short.wet_first")
    said: list[tuple[str, str]] = []
    for action in actions:
        told = _for(action.get("container"), action["sentence"], several, language)
        if told not in (first for first, _ in said):
            said.append((told, _at_a_time(action, plans, several, language)))
    for told, each in said[:MOST_KINDS]:
        yield MUST, told
        if each:
            yield SHOULD, each
    weak = found_in(answer).get("flush_with_weak_feed")
    if weak and any(each["id"] == "flush" for each in actions):
        yield SHOULD, weak["sentence"]
    if len(said) > MOST_KINDS:
        yield MUST, language.tell("short.more_kinds", count=len(said) - MOST_KINDS)
    if healthy or summary.get("contradiction"):
        return
    if all(each["id"] in (_OF_SALTS, _ASK_METHOD) for each in actions):
        yield from (
            (SHOULD, each)
            for each in dict.fromkeys(
                plan["sentence"]
                for plan in plans
                # What helps against salts says it all of a container that cannot drain.
                if not plan["passes"] and not (actions and plan["drainage"] == "sealed")
            )
        )


def _at_a_time(action: Json, plans: list[Json], several: bool, language: Words) -> str:
    """Say how a container is flushed by what is at hand: how much at once, or how long.

    By hand only where that is a few pourings, and drippers where not another time is told.
    """
    plan = next((each for each in plans if each["container"] == action.get("container")), None)
    pouring = (plan or {}).get("pouring") or {}
    if action["id"] != "flush" or plan is None or not pouring.get("sentence"):
        return ""
    if pouring["means"] in BY_HAND:
        times = action["amount"]["value"] / plan["applied_each"]["value"]
        single = pouring["means"] != "hose" and not times > 1
        if single or times > PRACTICAL_POURINGS:
            return ""
    elif action["amount"]["value"] != plan["water_per_container"]["value"]:
        return ""
    return _for(plan["container"], pouring["sentence"], several, language)


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


def enough(answer: Json, results: list[Result], language: Words) -> Iterator[Item]:
    """Yield which reading ends a remedy that has no other stop sign."""
    for action in answer["summary"]["actions"]:
        which = _FIGURE_OF.get(action["id"])
        for each in results:
            if which and each.which == which and each.goal and each.mark:
                yield SHOULD, language.tell("short.enough", name=each.name, range=each.goal)


def _corrections(answer: Json, *uses: str) -> Iterator[str]:
    """Yield what else corrects the first cause, for a use."""
    leading = answer["summary"]["leading_cause"]
    doubted = "contradiction" in answer["summary"] and not answer["summary"]["actions"]
    if leading["verdict"] != "supported" or doubted:
        return
    for cause in answer["causes"]["ranked"]:
        if cause["cause"] == leading["cause"]:
            fitting = [each for each in cause.get("corrections", []) if each["use"] in uses]
            yield from (each["sentence"] for each in fitting)


def this_week(answer: Json, healthy: bool, language: Words) -> Iterator[Item]:
    """Yield what comes after it: correct, let more drain, read again, feed again."""
    for place, said in enumerate(_corrections(answer, "standing_plants", "water")):
        yield (SHOULD if place == 0 else SPARE), said
    plans = answer["flush_plan"] or []
    several = len(plans) > 1
    flushed = {
        each.get("container") for each in answer["summary"]["actions"] if each["id"] == "flush"
    }
    for plan in plans:
        if plan["container"] in flushed and plan.get("rebound"):
            yield MAY, _for(plan["container"], plan["rebound"]["sentence"], several, language)
            feed = plan["costs"].get("feed")
            if feed and feed["nitrogen_per_container"]["value"] > 0:
                yield MAY, _for(plan["container"], feed["sentence"], several, language)
    rises = {
        each["field"]: each["sentence"]
        for each in answer["warnings"]
        if each["id"] == "salt_builds_up"
    }
    for place, row in enumerate(answer["upkeep"] or []):
        told = _drain(row, answer, language)
        if told is None and (_is_salty(answer) or not row.get("fed_with_water")):
            # As much drains as holds the limit in the middle of such containers, and no more.
            told = rises.get(f"upkeep/{place}")
        if told:
            yield (MAY if healthy else SHOULD), _for(row["container"], told, several, language)


def _drain(row: Json, answer: Json, language: Words) -> str | None:
    """Say how much must drain from now on; None where that is no more than drains now.

    Nor where there is no salt that could come back.
    """
    needed, drains = row.get("leaching_fraction_needed"), row["leaching_fraction"]
    supposed = {each["id"] for each in answer["assumptions"]}
    if not drains["value"] or "water_ec" in supposed or _kept_by_uptake(row):
        return ""
    if needed is None:
        by_feed = "" if _is_the_water(row, answer) else "_fed"
        return language.tell(f"upkeep.no_draining_helps{by_feed}")
    if needed["value"] < drains["value"] + TOLD_APART or not _is_salty(answer):
        return None
    if needed["value"] > MOST_DRAINAGE:
        of_water, of_feed = _is_the_water(row, answer), row.get("fed_with_water")
        which = "change_water" if of_water else "feed_less" if of_feed else ""
        return language.tell(f"short.{which}_alone") if which else None
    now = language.tell(
        "upkeep.drains_as_assumed" if "irrigation" in supposed else "upkeep.drains_now",
        drains=drains["value"],
    )
    better = ""
    if needed["value"] > PRACTICAL_DRAINAGE and _is_the_water(row, answer):
        better = "_or_change_water"
    elif row.get("fed_with_water") and not _is_the_water(row, answer):
        better = "_or_feed_less"
    return language.tell(f"short.let_drain{better}", needed=needed["value"], now=now)


def _is_salty(answer: Json) -> bool:
    """Whether salt, or a single ion of it, is what is or may be wrong."""
    summary = answer["summary"]
    leading = summary["leading_cause"]
    causes = {leading["cause"], *leading.get("tied_with", [])}
    return bool(causes & _OF_SALT) or any(each["id"] == "flush" for each in summary["actions"])


def _is_the_water(row: Json, answer: Json) -> bool:
    """Whether the water brings most of the salt, and not the feed."""
    water = answer["water"]
    share = water["ec_25c"]["value"] / row["ec_applied"]["value"] if water else 0.0
    return bool(share > MOSTLY_THE_WATER)


def _kept_by_uptake(row: Json) -> bool:
    """Whether what the crop takes up of its feed keeps the salt from coming back for long."""
    with_uptake: Json = row.get("with_uptake") or {}
    return bool(with_uptake) and with_uptake["days_to_limit"]["value"] > LONG


def next_crop(answer: Json, healthy: bool, language: Words) -> Iterator[Item]:
    """Yield what is left for before the next crop: mix, replace, lime, sow something else."""
    for place, said in enumerate(_corrections(answer, "new_batch")):
        yield (SHOULD if place == 0 else SPARE), said
    if healthy or answer["summary"]["leading_cause"]["cause"] != "total_salts":
        return
    done = {each["id"] for each in answer["summary"]["actions"]}
    if _OF_WEEDKILLER in done:
        return
    options = {
        option["id"]: option
        for plan in answer["flush_plan"] or []
        for option in plan["options"]
        if option["id"] not in done
    }
    if blend := options.get("blend"):
        yield (
            SHOULD,
            language.tell(
                "short.blend",
                share=blend["salty_fraction"]["value"],
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
        yield MAY, language.tell("short.hardier", crops=hardier)
    elif sown := options.get("tolerant_crop"):
        yield MAY, sown["sentence"]
