"""An answer in a few lines of plain text, for a person at a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from saltcalc.data.extraction import extraction_methods, method_codes
from saltcalc.parts.shown import say
from saltcalc.words.catalogue import words
from saltcalc.words.figures import figure as number
from saltcalc.words.figures import lower_first as _lower_first
from saltcalc.words.rendering import Json


def summary(answer: Json) -> str:
    """Return the answer to an assessment as readable text.

    Parameters
    ----------
    answer : dict
        As the service gives it.
    """
    parts = (
        ("In short", _in_short(answer)),
        ("Salinity", _salinity(answer["salinity"])),
        ("Which salt", _ions(answer["ions"])),
        ("Crops", _crops(answer["crops"] or [])),
        ("Why plants stall", _causes(answer["causes"])),
        ("Find out next", _next(answer["next_measurement"], answer["causes"])),
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
    )
    lines = []
    for title, body in parts:
        written = list(body)
        if written:
            lines += [title, *(f"  {line}" for line in written), ""]
    return "\n".join(lines).rstrip()


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


_SALT = "total_salts"
_IS_IT_SALT = {
    "supported": "Too much salt in all: well supported.",
    "possible": "Too much salt in all: possible, not proven.",
    "unlikely": "Too much salt in all: unlikely.",
    "undetermined": "Too much salt in all: cannot tell yet.",
}
_LIKELY = ("supported", "possible")


def _in_short(answer: Json) -> Iterator[str]:
    """Yield at most five lines: is it salt, which, how bad, what to do, what to measure."""
    yield _verdict(answer["causes"])
    medium = answer["ions"] and answer["ions"]["medium"]
    if medium and medium["character"] and _of_salt(answer["causes"])["verdict"] != "unlikely":
        shares = [each for each in medium["shares"] if each["share_of_ec"]]
        most = ""
        if shares:
            part = shares[0]["share_of_ec"]["value"]
            most = f"; {_ion(shares[0])} leads with {part:.0%} of the EC of the ions"
        yield f"Which salt: {medium['character']['name']}{most}."
    yield from _how_bad(answer["crops"] or [])
    yield from _what_to_do(answer)
    if answer["next_measurement"]:
        yield f"Next: {_lower_first(answer['next_measurement']['how'])}"


def _verdict(causes: list[Json]) -> str:
    text = _IS_IT_SALT[_of_salt(causes)["verdict"]]
    leading = [row for row in causes if row["verdict"] in _LIKELY and row["rank"] == 1]
    others = [row for row in leading if row["cause"] != _SALT]
    if others:
        names = " or ".join(_lower_first(row["name"]) for row in others)
        return f"{text} First in line: {names} ({others[0]['verdict']})."
    return text if leading or _hinted(causes) else f"{text} {_NOTHING}"


def _hinted(causes: list[Json]) -> list[str]:
    """Return the names of the causes that something speaks for and a missing figure leaves open."""
    return [
        row["name"] for row in causes if row["verdict"] == "undetermined" and row["evidence_for"]
    ]


_NOTHING = "Nothing in these figures explains a stall."


def _of_salt(causes: list[Json]) -> Json:
    (salt,) = [row for row in causes if row["cause"] == _SALT]
    return salt


_JUST_ABOVE = 1.1


def _how_bad(crops: list[Json]) -> Iterator[str]:
    judged = [row for row in crops if row["stands_up_to"] and row["ec_saturated_extract"]]
    if not judged:
        return
    row = min(judged, key=lambda each: float(each["stands_up_to"]["value"]))
    least, name = row["stands_up_to"], f"{_lower_first(row['name'])} ({row['stage']})"
    if least["value"] <= 0:
        return
    times = row["ec_saturated_extract"]["value"] / least["value"]
    stands = f"{figure(least)} of saturated extract"
    if 1 < times < _JUST_ABOVE:
        yield f"How bad: just above what {name} stands, {stands}."
    elif times <= 1:
        yield f"How bad: within what {name} stands, {stands}."
    else:
        yield f"How bad: {number(times)} times what {name} stands, {stands}."


def _what_to_do(answer: Json) -> Iterator[str]:
    """Yield the flush or the way out, unless another cause is supported and salt is not."""
    remedy = next((row["usual_remedy"] for row in answer["causes"] if _is_supported(row)), None)
    if remedy and _of_salt(answer["causes"])["verdict"] != "supported":
        yield f"What to do: {_lower_first(remedy)}"
        return
    plans = answer["flush_plan"] or []
    flushed = next((row for row in plans if row["passes"]), None)
    sealed = next((row for row in plans if row["options"]), None)
    if flushed:
        yield (
            f"What to do: pour {figure(flushed['water_per_container'])} on each "
            f"{flushed['container'] or 'container'} in {_passes(len(flushed['passes']))}; stop "
            f"when the drainage reads {figure(flushed['stop_reading'])} or less."
            f"{' Not the sealed ones: see their ways out.' if _any_sealed(plans) else ''}"
        )
    elif sealed:
        yield f"What to do: {_lower_first(sealed['options'][0]['sentence'])}"
    elif remedy:
        yield f"What to do: {_lower_first(remedy)}"


def _any_sealed(plans: list[Json]) -> bool:
    return any(row["drainage"] == "sealed" for row in plans)


def _is_supported(row: Json) -> bool:
    return bool(row["verdict"] == "supported" and row["usual_remedy"])


def _passes(count: int) -> str:
    return words().say(say("passes", count=count))


def _ion(share: Json) -> str:
    return str(share["ion"]).removesuffix("_n").removesuffix("_s")


def _method(method: str) -> str:
    """Return the name of an extraction method, as it stands inside a sentence."""
    return _lower_first(extraction_methods()[method_codes()[method]].name)


def _salinity(part: Json | None) -> Iterator[str]:
    if part is None:
        return
    yield f"Class: {part['class'].replace('_', ' ')} ({part['meaning']})"
    yield f"EC at 25 °C: {figure(part['ec_25c'])} by {_method(part['method'])}"
    yield f"As saturated extract: {figure(part['ec_saturated_extract'])}"
    yield f"In the pores at container capacity: {figure(part['ec_pore_water'])}"
    yield f"Osmotic potential there: {figure(part['osmotic_potential'], 3)}"


def _ions(part: Json | None) -> Iterator[str]:
    for owner in ("medium", "water"):
        ions = part and part[owner]
        if not ions:
            continue
        kind = ions["character"]["name"] if ions["character"] else "hardly any salt"
        first = ", ".join(
            f"{_ion(one)} {100 * one['share_of_ec']['value']:.0f} %"
            for one in ions["shares"][:4]
            if one["share_of_ec"]
        )
        yield f"{owner.capitalize()}: {kind}; of the EC: {first}"
        agreement = ions["agreement"]
        yield (
            f"  EC of the ions {figure(agreement['computed'])}, measured "
            f"{figure(agreement['measured'])}; {_charges(ions['charge_balance'])}"
        )
        yield from (f"  Perhaps: {slip['sentence']}" for slip in agreement["slips"])
        if ions["crust"]:
            crust = ", ".join(one["name"] for one in ions["crust"][:3])
            yield f"  When it dries: {crust}"


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
        yield (
            f"{name} ({row['stage']}): {row['requirement']['value']:.0%} of every watering "
            f"must drain; water {figure(row['water_factor'], 3)} times what the crop uses"
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
                f"{_passes(len(row['passes']))}; {figure(row['water_total'], 3)} in all"
            )
            yield f"  {row['sentence']}"
            yield f"  {row['comparison']['sentence']}"
            yield from (f"  {line}" for line in _costs(row["costs"]))
            yield f"  {row['rebound']['sentence']}"
        else:
            yield f"{name}: {row['sentence']}"
            yield from (f"  - {option['sentence']}" for option in row["options"])


def _costs(part: Json) -> Iterator[str]:
    lost = {row["nutrient"]: row for row in part["nutrients"]}
    if nitrate := lost.get("nitrate_n"):
        yield (
            f"It carries off {figure(nitrate['lost_per_container'])} of nitrate nitrogen a "
            f"container; the drainage holds {figure(nitrate['in_drainage'])}, collect it."
        )
    if part["feed"]:
        yield part["feed"]["sentence"]


def _upkeep(part: list[Json]) -> Iterator[str]:
    for row in part:
        yield f"{row['container'] or 'container'}: {row['sentence']}"


def _crops(part: list[Json]) -> Iterator[str]:
    for row in part:
        yield (
            f"{row['name']} ({row['stage']}): {row['verdict']}; relative yield "
            f"{figure(row['relative_yield'])}"
        )
        yield f"  {row['note']}"
        if row["alternatives"]:
            names = "; ".join(each["name"] for each in row["alternatives"])
            yield f"  Of the same group these stand it: {names}"


def _nutrients(part: Json | None) -> Iterator[str]:
    if part is None:
        return
    for status in ("low", "high"):
        found = [
            f"{row['name']} {figure(row['value'], 3)}"
            for row in part["elements"]
            if row["status"] == status
        ]
        if found:
            yield f"{status.capitalize()}: {', '.join(found)}"
    yield from (row["sentence"] for row in part["nitrogen"] or [])
    for remedy in part["remedies"]:
        rate = f" Rate: {figure(remedy['rate'])}." if remedy["rate"] else ""
        yield f"{remedy['sentence']}{rate}"


def _causes(part: list[Json]) -> Iterator[str]:
    for row in part:
        if row["verdict"] in _LIKELY:
            yield f"{row['rank']}. {row['name']}: {row['verdict']}"
            yield from (f"   + {evidence['sentence']}" for evidence in row["evidence_for"][:2])
            yield from (f"   - {evidence['sentence']}" for evidence in row["evidence_against"][:1])
            if _is_supported(row):
                yield f"   What usually helps: {row['usual_remedy']}"
    hinted = _hinted(part)
    if not hinted and not any(row["verdict"] in _LIKELY for row in part):
        yield _NOTHING
    if hinted:
        yield f"Hinted at, but not known: {'; '.join(hinted)}"
    unlikely = [row["name"] for row in part if row["verdict"] == "unlikely"]
    if unlikely:
        yield f"Unlikely: {'; '.join(unlikely)}"


def _next(part: Json | None, causes: list[Json]) -> Iterator[str]:
    """Yield what to measure next, and what each outcome means."""
    if part is None:
        return
    names = {row["cause"]: row["name"] for row in causes}
    yield part["how"]
    shown: dict[str, list[str]] = {}
    for row in part["outcomes"]:
        shown.setdefault(row["outcome"], []).append(_lower_first(names[row["cause"]]))
    for outcome, found in shown.items():
        if outcome != part["otherwise"]:
            yield f"  If {_colon(outcome)} {' or '.join(found)}"
    spared = " or ".join(shown.get(part["otherwise"], []))
    yield f"  If {_colon(part['otherwise'])} {spared or 'none of these'}"


def _colon(outcome: str) -> str:
    return f"you find '{outcome}':"


def _warnings(part: list[Json]) -> Iterator[str]:
    for row in part:
        yield f"[{row['severity']}] {row['sentence']}"


def _assumptions(part: list[Json]) -> Iterator[str]:
    for row in part:
        value = row["value"]
        shown = figure(value) if isinstance(value, dict) else value
        where = f" (set {row['field']})" if row["field"] else ""
        yield f"{row['id']}: {shown}. {row['reason']}{where}"


def _gaps(part: list[Json]) -> Iterator[str]:
    for row in part:
        needs = f" Needs: {', '.join(row['missing'])}." if row["missing"] else ""
        yield f"{row['part']}: {row['sentence']}{needs}"
