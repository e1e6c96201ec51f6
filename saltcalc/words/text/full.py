"""All of an answer in plain text, for a person at a terminal."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from saltcalc.message import say
from saltcalc.words.catalogue import sentence, words
from saltcalc.words.figures import figure as number
from saltcalc.words.figures import in_marks
from saltcalc.words.figures import lower_first as _lower_first
from saltcalc.words.rendering import Json
from saltcalc.words.text.layout import WIDTH, wrapped

ABOUT_THE_SAME = (0.67, 1.5)
"""Ratios to the rule of two volumes between which the litres are about the same."""

_DECIMAL = re.compile(r"\d+\.\d+")


def full(answer: Json) -> str:
    """Return the answer to an assessment as readable text.

    Parameters
    ----------
    answer : dict
        As the service gives it.
    """
    parts = (
        ("in_short", _in_short(answer["summary"])),
        ("salinity", _salinity(answer["salinity"])),
        ("ions", _ions(answer["ions"])),
        ("crops", _crops(answer["crops"] or [])),
        ("causes", _causes(answer["causes"])),
        ("next", _next(answer["causes"])),
        ("warnings", _warnings(answer["warnings"])),
        ("flush", _flush(answer["flush_plan"] or [])),
        ("upkeep", _upkeep(answer["upkeep"] or [])),
        ("leaching", _leaching(answer["leaching"] or [], answer["crops"] or [])),
        ("sodicity", _sodicity(answer["sodicity"])),
        ("nutrients", _nutrients(answer["nutrients"])),
        ("assumed", _assumptions(answer["assumptions"])),
        ("gaps", _gaps(answer["not_computed"])),
        ("workings", workings(answer.get("workings", []))),
        ("trace", [sentence("workings.trace", **answer["trace"])]),
    )
    return "\n\n".join(filter(None, (block(part, body) for part, body in parts)))


def block(part: str, body: Iterable[str]) -> str:
    """Return lines under the title of their part, or nothing without any."""
    lines = [each for line in body for each in _lines(f"  {line}".rstrip())]
    return "\n".join([sentence(f"full.title.{part}"), *lines]) if lines else ""


def _lines(text: str) -> list[str]:
    """Return a text in lines that keep its indentation, those after the first two deeper."""
    indent = " " * (len(text) - len(text.lstrip()))
    return wrapped(text.lstrip(), WIDTH, indent + "  ", first=indent)


def figure(quantity: Json | None, digits: int = 2) -> str:
    """Return a quantity for people: few digits, its unit, and its interval if it has one."""
    if quantity is None:
        return sentence("full.not_known")
    text = words().quantity(quantity["value"], quantity["unit"], digits)
    low, high = (
        number(quantity[end], digits) if end in quantity else None for end in ("low", "high")
    )
    if low and high:
        return sentence("full.figure_between", figure=text, low=low, high=high)
    if low:
        return sentence("full.figure_at_least", figure=text, low=low)
    return sentence("full.figure_at_most", figure=text, high=high) if high else text


def workings(part: list[Json]) -> Iterator[str]:
    """Yield how figures came about, line by line, so that a calculator can redo them."""
    for place, row in enumerate(part):
        if place:
            yield ""
        yield row["title"]
        for each in row["inputs"]:
            what = f"{each['symbol']} = {_plain_figure(each)}"
            yield f"  {words().labelled(what, each['meaning'])}"
        for each in row["steps"]:
            equation = _DECIMAL.sub(lambda number: in_marks(number[0]), each["equation"])
            yield f"  {each['symbol']} = {equation} = {_plain_figure(each)}"
        yield sentence("workings.sources", sources=row["sources"])


def _plain_figure(figure: Json) -> str:
    """Write a figure with all the digits that the answer has of it."""
    return words().with_unit(in_marks(f"{figure['value']:g}"), figure["unit"], figure["value"])


def _known(row: Json) -> str:
    """Return a word where a figure was not looked up; empty where it was."""
    memory = row.get("provenance") == "memory"
    return f" ({sentence('figure_from_memory')})" if memory else ""


def _in_short(summary: Json) -> Iterator[str]:
    """Yield what matters first, in its order."""
    if contradiction := summary.get("contradiction"):
        yield contradiction["sentence"]
    yield summary["leading_cause"]["sentence"]
    if retest := summary.get("retest"):
        yield retest["sentence"]
    yield from (
        each["sentence"]
        for each in (summary.get("salt"), summary.get("worst_crop"))
        if each and each.get("sentence")
    )
    if caveat := summary.get("caveat"):
        yield caveat["sentence"]
    for place, action in enumerate(summary["actions"]):
        begin = "do" if place == 0 else "and_do"
        told = {"action": action["sentence"]}
        if where := action.get("container"):
            begin, told["container"] = f"{begin}_to", where
        yield sentence(f"full.{begin}", **told)
    if check := summary.get("next_check"):
        yield sentence("full.next", check=check["sentence"])


def _method(method: str) -> str:
    """Return the name of an extraction method, as it is inside a sentence."""
    return _lower_first(sentence(f"extraction_methods.name.{method}"))


def _salinity(part: Json | None) -> Iterator[str]:
    if part is None:
        return
    if part["class"]:
        class_ = sentence(f"ec_class.{part['class']}")
        yield sentence("full.class", name=class_, meaning=part["meaning"]) + _known(part)
    else:
        yield sentence("full.class_or_above", name=say(f"ec_class.{part['possible_classes'][0]}"))
    yield sentence("full.ec_25c", ec=figure(part["ec_25c"]), method=_method(part["method"]))
    for name in ("ec_saturated_extract", "ec_pore_water"):
        yield sentence(f"full.{name}", ec=figure(part[name]))
    potential = figure(part["osmotic_potential"], 3)
    yield sentence(f"full.osmotic_by_{part['osmotic_basis']}", potential=potential)


def _ions(part: Json | None) -> Iterator[str]:
    for owner in ("medium", "water"):
        ions = part and part[owner]
        if not ions:
            continue
        kind = (
            ions["dominant_salts"]["name"]
            if ions["dominant_salts"]
            else sentence("full.hardly_any_salt")
        )
        shares = zip(ions["shares"]["of_ions"], ions["shares"]["of_ec"]["values"], strict=True)
        first = ", ".join(
            f"{sentence(f'ion.{ion}')} {words().percent(f'{100 * share:.0f}')}"
            for ion, share in list(shares)[:4]
            if share
        )
        yield sentence(f"full.ions_of_{owner}", kind=kind, shares=first)
        agreement = ions["agreement"]
        yield "  " + sentence(
            "full.ec_of_ions",
            ions=figure(ions["ec_from_ions"]),
            measured=figure(agreement["measured"]),
            charges=say(f"charges.{ions['charge_balance']['verdict'] or 'not_known'}"),
        )
        yield from (
            f"  {sentence('full.perhaps', slip=slip['sentence'])}"
            for slip in agreement.get("slips", [])
        )
        if crust := (ions.get("crust") or {}).get("names"):
            yield f"  {sentence('full.crust', names=crust)}"


def _sodicity(part: Json) -> Iterator[str]:
    if part["medium"] and part["medium"]["sar"]:
        class_ = say(f"sodicity_class.{part['medium']['class'] or 'undetermined'}")
        yield sentence("full.sar_of_medium", sar=figure(part["medium"]["sar"]), name=class_)
    if part["water"] and part["water"]["sar"]:
        water = part["water"]
        yield sentence(
            "full.sar_of_water",
            sar=figure(water["sar"]),
            name=say(f"sodicity_class.{water['class'] or 'undetermined'}"),
            hazard=say(f"sodicity_class.{water['infiltration_hazard'] or 'undetermined'}"),
        )


def _leaching(part: list[Json], crops: list[Json]) -> Iterator[str]:
    names = {crop["crop"]: crop["name"] for crop in crops}
    for row in part:
        name = names.get(row["crop"], row["crop"])
        told = {"crop": name, "stage": say(f"stage.{row['stage']}")}
        if row["requirement"] is None:
            yield sentence("full.no_leaching_requirement", **told)
            continue
        yield sentence(
            "full.leaching_requirement",
            **told,
            drains=row["requirement"]["value"],
            rule=say(f"leaching_rule.{row['rule']}"),
            water=figure(row["gross_irrigation_ratio"], 3),
        )


def _flush(part: list[Json]) -> Iterator[str]:
    for row in part:
        name = row["container"] or sentence("report.container")
        if row["drainage"] == "sealed":
            yield words().labelled(name, row["sentence"])
            yield from (f"  - {option['sentence']}" for option in row["options"])
        elif row["passes"] and not row.get("held_back"):
            yield sentence(
                "full.flush",
                container=name,
                each=figure(row["water_per_container"]),
                passes=sentence("passes", count=row["passes"]),
                total=figure(row["water_total"], 3),
            )
            # Calcium, where it comes first, begins both.
            calcium = row.get("calcium_first", {}).get("sentence", "")
            steps = row["sentence"].removeprefix(f"{calcium} ")
            yield "  " + " ".join(filter(None, (row["in_short"], row.get("goes_further"), steps)))
            yield from (f"  - {option['sentence']}" for option in row["options"])
            yield f"  {_beside_the_rule(row['rule_of_thumb'])}"
            yield from (f"  {line}" for line in _costs(row["costs"]))
            yield f"  {row['rebound']['sentence']}"
            for name in ("returned_drainage", "drainage_as_feed"):
                if told := row.get(name):
                    yield f"  {told['sentence']}"
        else:
            yield words().labelled(name, row["sentence"])
            yield from (f"  - {option['sentence']}" for option in row["options"])


def _beside_the_rule(part: Json) -> str:
    ratio, rule = (part[name]["value"] for name in ("ratio_to_two_volume_rule", "two_volume_rule"))
    low, high = ABOUT_THE_SAME
    which = "as_the_rule" if low <= ratio <= high else "times_the_rule"
    return sentence(f"flush.{which}", ratio=ratio, rule=rule)


def _costs(part: Json) -> Iterator[str]:
    lost = part["carried_off"]
    if "nitrate_n" in lost["of_nutrients"]:
        place = lost["of_nutrients"].index("nitrate_n")
        mass, left = (
            figure({"value": column["values"][place], "unit": column["unit"]})
            for column in (lost["lost"], lost["in_drainage"])
        )
        yield sentence("full.carries_off", mass=mass, left=left)
    if feed := part.get("feed"):
        yield feed["sentence"]


def _upkeep(part: list[Json]) -> Iterator[str]:
    for row in part:
        yield words().labelled(row["container"] or sentence("report.container"), row["sentence"])


def _crops(part: list[Json]) -> Iterator[str]:
    for row in part:
        yield sentence(
            "full.crop",
            crop=row["name"],
            stage=say(f"stage.{row['stage']}"),
            verdict=say(f"crop_verdict.{row['verdict']}"),
            left=figure(row["relative_yield"]),
        )
        held: Json = next((limit for limit in row["limits"] if limit.get("governs")), {})
        yield f"  {row['note']}{_known(held)}"
        if others := row.get("alternatives"):
            for verdict in ("tolerant", "caution"):
                names = [each["name"] for each in others if each["verdict"] == verdict]
                if names:
                    yield f"  {sentence(f'full.instead_{verdict}', names=names)}"


def _nutrients(part: Json | None) -> Iterator[str]:
    if part is None:
        return
    for status in ("low", "high"):
        found = [
            f"{row['name']} {figure(row['figure'], 3)}{_known(row)}"
            for row in part["elements"]
            if row["status"] == status
        ]
        if found:
            yield sentence(f"full.elements_{status}", found=found)
    yield from (row["sentence"] for row in part["nitrogen"] or [] if "sentence" in row)
    for remedy in part["remedies"]:
        if remedy.get("rate"):
            yield f"{remedy['sentence']} {sentence('full.rate', rate=figure(remedy['rate']))}"
        else:
            yield remedy["sentence"]


def _causes(part: Json) -> Iterator[str]:
    for row in part["ranked"]:
        verdict = sentence(f"cause_verdict.{row['verdict']}")
        yield f"{row['rank']}. {words().labelled(row['name'], verdict)}"
        for sign, told in (
            ("+", row.get("evidence_for", [])[:2]),
            ("-", row.get("evidence_against", [])[:1]),
        ):
            yield from (f"   {sign} {each['sentence']}{_known(each)}" for each in told)
        if row["verdict"] == "supported":
            yield f"   {sentence('full.helps', remedy=row['usual_remedy'])}"
            for correction in row.get("corrections", []):
                use = sentence(f"corrections.use.{correction['use']}")
                yield f"     {words().labelled(use, correction['sentence'])}{_known(correction)}"
    unlikely = [_cause(cause) for cause in part.get("others", {}).get("unlikely", [])]
    if unlikely:
        yield sentence("full.unlikely", names=unlikely)


def _cause(cause: str) -> str:
    return sentence(f"causes.name.{cause}")


def _next(part: Json) -> Iterator[str]:
    """Yield what to measure next, and what each outcome means."""
    check = part["next_check"]
    if check is None:
        return
    yield check["how"]
    shown: dict[str, list[str]] = {}
    for row in check["outcomes"]:
        shown.setdefault(row["outcome"], []).append(_cause(row["cause"]))
    spared = {check["otherwise"]: shown.pop(check["otherwise"], [])}
    for outcome, found in (shown | spared).items():
        which = "if_found" if found else "if_none_found"
        yield f"  {sentence(f'full.{which}', outcome=outcome, causes=found)}"


def _warnings(part: list[Json]) -> Iterator[str]:
    for row in part:
        severity = sentence(f"severity.{row['severity']}")
        yield f"[{severity}] {row['sentence']}"


def _assumptions(part: list[Json]) -> Iterator[str]:
    for row in part:
        where = f" {sentence('full.set', field=row['field'])}" if "field" in row else ""
        yield f"{words().labelled(name_of_assumption(row), taken(row))}. {row['reason']}{where}"


_IDS_OF_ASSUMPTIONS = {
    "extraction": "extraction_methods.name",
    "previous_extraction": "extraction_methods.name",
    "substrate": "substrates.name",
    "stage": "stage",
    "container_drainage": "page.drainage",
    "means": "page.means",
    "salt_profile": "salt_profile",
    "stalled_crop": "crop",
    "thriving_crop": "crop",
}
"""By assumption, where the words for the id that it takes stand."""


def name_of_assumption(row: Json) -> str:
    """Return what an assumption is about."""
    return words().named(f"assumed.{row['id']}", row["id"].replace("_", " "))


def taken(row: Json) -> str:
    """Return what was taken for granted, in words where it is an id."""
    value = row["value"]
    if isinstance(value, dict):
        return figure(value)
    if isinstance(value, int | float):
        return number(value, 4)
    place = _IDS_OF_ASSUMPTIONS.get(row["id"], "")
    return words().named(f"{place}.{value}", str(value).replace("_", " ") if place else str(value))


def _gaps(part: list[Json]) -> Iterator[str]:
    for row in part:
        needs = f" {sentence('full.needs', fields=row['missing'])}" if row["missing"] else ""
        yield f"{words().labelled(row['part'], row['sentence'])}{needs}"
