"""An answer in a few lines of plain text, for a person at a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from saltcalc.answer.quantities import Json
from saltcalc.answer.wording import in_passes


def summary(answer: Json) -> str:
    """Return the answer to an assessment as readable text.

    Parameters
    ----------
    answer : dict
        As the service gives it.
    """
    parts = (
        ("Salinity", _salinity(answer["salinity"])),
        ("Which salt", _ions(answer["ions"])),
        ("Crops", _crops(answer["crops"] or [])),
        ("Why plants stall", _causes(answer["causes"], answer["next_measurement"])),
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
    text = f"{_short(quantity['value'], digits)}{unit}"
    low, high = (
        _short(quantity[end], digits) if end in quantity else None for end in ("low", "high")
    )
    if low and high:
        return f"{text} ({low} to {high})"
    if low or high:
        return f"{text} (at {f'least {low}' if low else f'most {high}'})"
    return text


def _short(value: float, digits: int) -> str:
    return f"{float(f'{value:.{digits}g}'):,g}"


def _salinity(part: Json | None) -> Iterator[str]:
    if part is None:
        return
    yield f"Class: {part['class'].replace('_', ' ')} ({part['meaning']})"
    yield f"EC at 25 °C: {figure(part['ec_25c'])} by {part['method'].replace('_', ' ')}"
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
            f"{one['ion'].removesuffix('_n').removesuffix('_s')} "
            f"{100 * one['share_of_ec']['value']:.0f} %"
            for one in ions["shares"][:4]
            if one["share_of_ec"]
        )
        yield f"{owner.capitalize()}: {kind}; of the EC: {first}"
        agreement = ions["agreement"]
        yield (
            f"  EC of the ions {figure(agreement['computed'])}, measured "
            f"{figure(agreement['measured'])}; charges: {ions['charge_balance']['verdict']}"
        )
        yield from (f"  Perhaps: {slip['sentence']}" for slip in agreement["slips"])
        if ions["crust"]:
            crust = ", ".join(one["name"] for one in ions["crust"][:3])
            yield f"  When it dries: {crust}"


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
            yield f"{name} ({row['stage']}): no leaching requirement, see the warnings"
            continue
        yield (
            f"{name} ({row['stage']}): {row['requirement']['value']:.0%} of every watering "
            f"must drain; water {figure(row['water_factor'], 3)} times what the crop uses"
        )


def _flush(part: list[Json]) -> Iterator[str]:
    for row in part:
        name = row["container"] or "container"
        if row["drainage"] == "sealed":
            yield f"{name}: sealed, no flush. Ways out:"
            yield from (f"  - {option['sentence']}" for option in row["options"])
        elif row["passes"]:
            yield (
                f"{name}: {figure(row['water_per_container'])} each in "
                f"{in_passes(len(row['passes']))}; {figure(row['water_total'], 3)} in all"
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
            f"{row['name']} {_short(row['value']['value'], 3)}"
            for row in part["elements"]
            if row["status"] == status
        ]
        if found:
            yield f"{status.capitalize()}: {', '.join(found)} (mg/L; pH without unit)"
    for row in part["nitrogen"] or []:
        name = row["container"] or "container"
        weeks = figure(row["weeks"]).replace(" week", " weeks")
        yield f"{name}: nitrogen for one plant ({row['stage']}) lasts about {weeks}"
    for remedy in part["remedies"]:
        rate = f"{figure(remedy['rate'])}. " if remedy["rate"] else ""
        yield f"{remedy['id']}: {rate}{remedy['sentence']}"


def _causes(part: list[Json], next_measurement: Json | None) -> Iterator[str]:
    for row in part:
        if row["verdict"] in {"supported", "possible"}:
            yield f"{row['rank']}. {row['name']}: {row['verdict']}"
            yield from (f"   + {evidence['sentence']}" for evidence in row["evidence_for"][:2])
            yield from (f"   - {evidence['sentence']}" for evidence in row["evidence_against"][:1])
    unlikely = [row["name"] for row in part if row["verdict"] == "unlikely"]
    if unlikely:
        yield f"Unlikely: {'; '.join(unlikely)}"
    if next_measurement:
        yield f"Find out next: {next_measurement['how']}"


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
