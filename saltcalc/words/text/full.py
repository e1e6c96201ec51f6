"""All of an answer in plain text, for a person at a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from saltcalc.words.catalogue import sentence
from saltcalc.words.figures import figure as number
from saltcalc.words.figures import lower_first as _lower_first
from saltcalc.words.rendering import Json
from saltcalc.words.text.layout import WIDTH, wrapped

ABOUT_THE_SAME = (0.67, 1.5)
"""Ratios to the rule of two volumes between which the litres are about the same."""


def full(answer: Json) -> str:
    """Return the answer to an assessment as readable text.

    Parameters
    ----------
    answer : dict
        As the service gives it.
    """
    parts = (
        ("In short", _in_short(answer["summary"])),
        ("Salinity", _salinity(answer["salinity"])),
        ("Which salt", _ions(answer["ions"])),
        ("Crops", _crops(answer["crops"] or [])),
        ("Why plants stall", _causes(answer["causes"])),
        ("Find out next", _next(answer["causes"])),
        ("Warnings", _warnings(answer["warnings"])),
        ("Flush, once", _flush(answer["flush_plan"] or [])),
        ("Keeping it down", _upkeep(answer["upkeep"] or [])),
        (
            "Leaching by the rule for soils (in a container follow the share above)",
            _leaching(answer["leaching"] or [], answer["crops"] or []),
        ),
        ("Sodium", _sodicity(answer["sodicity"])),
        ("Nutrients", _nutrients(answer["nutrients"])),
        ("Assumed", _assumptions(answer["assumptions"])),
        ("Not computed", _gaps(answer["not_computed"])),
        ("Workings", workings(answer.get("workings", []))),
        ("Trace", _trace(answer["trace"])),
    )
    return "\n\n".join(filter(None, (block(title, body) for title, body in parts)))


def block(title: str, body: Iterable[str]) -> str:
    """Return lines under their title, or nothing without any."""
    lines = [each for line in body for each in _lines(f"  {line}".rstrip())]
    return "\n".join([title, *lines]) if lines else ""


def _lines(text: str) -> list[str]:
    """Return a text in lines that keep its indentation, those after the first two deeper."""
    indent = " " * (len(text) - len(text.lstrip()))
    return wrapped(text.lstrip(), WIDTH, indent + "  ", first=indent)


def figure(quantity: Json | None, digits: int = 2) -> str:
    """Return a quantity for people: few digits, its unit, and its interval if it has one."""
    if quantity is None:
        return "not known"
    unit = "" if quantity["unit"] == "1" else f" {quantity['unit']}"
    text = f"{number(quantity['value'], digits)}{unit}"
    low, high = (
        number(quantity[end], digits) if end in quantity else None for end in ("low", "high")
    )
    if low and high:
        return f"{text} ({low} to {high})"
    if low or high:
        return f"{text} (at {f'least {low}' if low else f'most {high}'})"
    return text


def workings(part: list[Json]) -> Iterator[str]:
    """Yield how figures came about, line by line, so that a calculator can redo them."""
    for place, row in enumerate(part):
        if place:
            yield ""
        yield row["title"]
        for each in row["inputs"]:
            yield f"  {each['symbol']} = {_plain_figure(each)}: {each['meaning']}"
        for each in row["steps"]:
            yield f"  {each['symbol']} = {each['equation']} = {_plain_figure(each)}"
        yield sentence("workings.sources", sources=row["sources"])


def _trace(trace: Json) -> Iterator[str]:
    yield sentence("workings.trace", **trace)


def _plain_figure(figure: Json) -> str:
    """Write a figure with all the digits that the answer has of it."""
    return f"{figure['value']:g}" + ("" if figure["unit"] == "1" else f" {figure['unit']}")


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
        each["sentence"] for each in (summary.get("salt"), summary.get("worst_crop")) if each
    )
    if caveat := summary.get("caveat"):
        yield caveat["sentence"]
    for place, action in enumerate(summary["actions"]):
        begin = "What to do" if place == 0 else "And"
        where = f" ({action['container']})" if action.get("container") else ""
        yield f"{begin}{where}: {_lower_first(action['sentence'])}"
    if check := summary.get("next_check"):
        yield f"Next: {_lower_first(check['sentence'])}"


def _passes(count: int) -> str:
    return sentence("passes", count=count)


def _ion(ion: str) -> str:
    return ion.removesuffix("_n").removesuffix("_s")


def _method(method: str) -> str:
    """Return the name of an extraction method, as it stands inside a sentence."""
    return _lower_first(sentence(f"extraction_methods.name.{method}"))


def _salinity(part: Json | None) -> Iterator[str]:
    if part is None:
        return
    possible = [each.replace("_", " ") for each in part.get("possible_classes", [])]
    if part["class"]:
        yield f"Class: {part['class'].replace('_', ' ')} ({part['meaning']}){_known(part)}"
    else:
        yield f"Class: {possible[0]} or above"
    yield f"EC at 25 °C: {figure(part['ec_25c'])} by {_method(part['method'])}"
    yield f"As saturated extract: {figure(part['ec_saturated_extract'])}"
    yield f"In the pores at container capacity: {figure(part['ec_pore_water'])}"
    basis = "" if part["osmotic_basis"] == "ions" else ", by a rule from the EC alone"
    yield f"Osmotic potential there: {figure(part['osmotic_potential'], 3)}{basis}"


def _ions(part: Json | None) -> Iterator[str]:
    for owner in ("medium", "water"):
        ions = part and part[owner]
        if not ions:
            continue
        kind = ions["character"]["name"] if ions["character"] else "hardly any salt"
        shares = zip(ions["shares"]["of_ions"], ions["shares"]["of_ec"]["values"], strict=True)
        first = ", ".join(
            f"{_ion(ion)} {100 * share:.0f} %" for ion, share in list(shares)[:4] if share
        )
        yield f"{owner.capitalize()}: {kind}; of the EC: {first}"
        agreement = ions["agreement"]
        yield (
            f"  EC of the ions {figure(ions['ec_from_ions'])}, measured "
            f"{figure(agreement['measured'])}; {_charges(ions['charge_balance'])}"
        )
        yield from (f"  Perhaps: {slip['sentence']}" for slip in agreement.get("slips", []))
        if crust := (ions.get("crust") or {}).get("names"):
            yield f"  When it dries: {', '.join(crust)}"


_CHARGES = {
    "balanced": "the charges of the ions balance",
    "anions_missing": "negative ions are missing from the report",
    "cations_missing": "positive ions are missing from the report",
}


def _charges(balance: Json) -> str:
    return _CHARGES.get(balance["verdict"], "whether the charges balance is not known")


def _sodicity(part: Json) -> Iterator[str]:
    if part["medium"] and part["medium"]["sar"]:
        yield f"Medium: SAR {figure(part['medium']['sar'])}, {part['medium']['class']}"
    if part["water"] and part["water"]["sar"]:
        water = part["water"]
        yield (
            f"Water: SAR {figure(water['sar'])}, restriction {water['class']}, "
            f"infiltration hazard {water['infiltration_hazard']}"
        )


def _leaching(part: list[Json], crops: list[Json]) -> Iterator[str]:
    names = {crop["crop"]: crop["name"] for crop in crops}
    for row in part:
        name = names.get(row["crop"], row["crop"])
        if row["requirement"] is None:
            yield f"{name} ({row['stage']}): no leaching requirement can be given"
            continue
        drains = number(100 * row["requirement"]["value"])
        yield (
            f"{name} ({row['stage']}): {drains} % of the water must drain "
            f"(rule: {row['rule'].replace('_', ' ')}); water {figure(row['water_factor'], 3)} "
            "times what the crop uses"
        )


def _flush(part: list[Json]) -> Iterator[str]:
    for row in part:
        name = row["container"] or "container"
        if row["drainage"] == "sealed":
            yield f"{name}: {row['sentence']}"
            yield from (f"  - {option['sentence']}" for option in row["options"])
        elif row["passes"]:
            yield (
                f"{name}: {figure(row['water_per_container'])} each in "
                f"{_passes(row['passes'])}; {figure(row['water_total'], 3)} in all"
            )
            # Calcium, where it comes first, begins both.
            calcium = row.get("calcium_first", {}).get("sentence", "")
            yield f"  {row['in_short']} {row['sentence'].removeprefix(f'{calcium} ')}"
            yield from (f"  - {option['sentence']}" for option in row["options"])
            yield f"  {_beside_the_rule(row['rule_of_thumb'])}"
            yield from (f"  {line}" for line in _costs(row["costs"]))
            yield f"  {row['rebound']['sentence']}"
        else:
            yield f"{name}: {row['sentence']}"
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
        yield (
            f"It carries off {mass} of nitrate nitrogen a container; the drainage holds {left}, "
            "collect it."
        )
    if feed := part.get("feed"):
        yield feed["sentence"]


def _upkeep(part: list[Json]) -> Iterator[str]:
    for row in part:
        yield f"{row['container'] or 'container'}: {row['sentence']}"


def _crops(part: list[Json]) -> Iterator[str]:
    for row in part:
        yield (
            f"{row['name']} ({row['stage']}): {row['verdict']}; relative yield "
            f"{figure(row['relative_yield'])}"
        )
        held: Json = next((limit for limit in row["limits"] if limit.get("governs")), {})
        yield f"  {row['note']}{_known(held)}"
        if others := row.get("alternatives"):
            told = {
                verdict: "; ".join(each["name"] for each in others if each["verdict"] == verdict)
                for verdict in ("tolerant", "caution")
            }
            if told["tolerant"]:
                yield f"  To sow instead: {told['tolerant']}"
            if told["caution"]:
                yield f"  To try instead, a few seeds first: {told['caution']}"


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
            yield f"{status.capitalize()}: {', '.join(found)}"
    yield from (row["sentence"] for row in part["nitrogen"] or [] if "sentence" in row)
    for remedy in part["remedies"]:
        rate = f" Rate: {figure(remedy['rate'])}." if remedy.get("rate") else ""
        yield f"{remedy['sentence']}{rate}"


def _causes(part: Json) -> Iterator[str]:
    for row in part["ranked"]:
        yield f"{row['rank']}. {row['name']}: {row['verdict']}"
        for sign, told in (
            ("+", row.get("evidence_for", [])[:2]),
            ("-", row.get("evidence_against", [])[:1]),
        ):
            yield from (f"   {sign} {each['sentence']}{_known(each)}" for each in told)
        if row["verdict"] == "supported":
            yield f"   What usually helps: {row['usual_remedy']}"
            for correction in row.get("corrections", []):
                use = sentence(f"corrections.use.{correction['use']}")
                yield f"     {use}: {correction['sentence']}{_known(correction)}"
    unlikely = [_cause(cause) for cause in part.get("others", {}).get("unlikely", [])]
    if unlikely:
        yield f"Unlikely: {'; '.join(unlikely)}"


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
        shown.setdefault(row["outcome"], []).append(_lower_first(_cause(row["cause"])))
    for outcome, found in shown.items():
        if outcome != check["otherwise"]:
            yield f"  If {_colon(outcome)} {' or '.join(found)}"
    spared = " or ".join(shown.get(check["otherwise"], []))
    yield f"  If {_colon(check['otherwise'])} {spared or 'none of these'}"


def _colon(outcome: str) -> str:
    return f"you find '{outcome}':"


def _warnings(part: list[Json]) -> Iterator[str]:
    for row in part:
        yield f"[{row['severity']}] {row['sentence']}"


def _assumptions(part: list[Json]) -> Iterator[str]:
    for row in part:
        value = row["value"]
        shown = figure(value) if isinstance(value, dict) else value
        where = f" (set {row['field']})" if "field" in row else ""
        yield f"{row['id']}: {shown}. {row['reason']}{where}"


def _gaps(part: list[Json]) -> Iterator[str]:
    for row in part:
        needs = f" Needs: {', '.join(row['missing'])}." if row["missing"] else ""
        yield f"{row['part']}: {row['sentence']}{needs}"
