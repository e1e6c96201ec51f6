"""What a person at a terminal reads: a request in a few words, and why one was refused."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from saltcalc.words.catalogue import sentence

Given = dict[str, Any]


def request_words(request: Given) -> str:
    """Return a request that was answered as a few lines of readable text."""
    lines = [f"Medium: {_solution(request['medium'])}"]
    if "water" in request:
        lines.append(f"Water: {_solution(request['water'])}")
    lines += [f"Container: {_container(container)}" for container in request.get("containers", [])]
    lines += _list("Crops", (_crop(crop) for crop in request.get("crops", [])))
    for name, title in (("observations", "Seen"), ("not_seen", "Looked for, not seen")):
        lines += _list(title, (_plain(sign) for sign in request.get(name, [])))
    return "\n".join(["Asked", *(f"  {line}" for line in lines)])


def refusal_words(problem: Given) -> str:
    """Return a problem document as readable text."""
    lines = [problem["title"]]
    if "errors" not in problem and "detail" in problem:
        lines.append(f"  {problem['detail']}")
    for fault in problem.get("errors", []):
        given = f" {sentence('refusal.given', value=fault['value'])}" if "value" in fault else ""
        where = fault["pointer"] or sentence("refusal.whole")
        lines.append(f"  {where}: {fault['detail']}{given}")
        if "accepted" in fault:
            lines.append(f"    {sentence('refusal.accepted', what=fault['accepted'])}")
    if "errors_left_out" in problem:
        lines.append(f"  {sentence('refusal.more', count=problem['errors_left_out'])}")
    return "\n".join(lines)


def _solution(given: Given) -> str:
    parts = [_plain(given["substrate"])] if "substrate" in given else []
    if "ec" in given:
        warmth = f" at {_amount(given['temperature'], '°C')}" if "temperature" in given else ""
        parts.append(f"EC {_amount(given['ec'], 'dS/m')}{warmth}")
    if "extraction" in given:
        parts.append(f"by {_plain(given['extraction'])}")
    if "ph" in given:
        parts.append(f"pH {given['ph']}")
    if given.get("ions"):
        parts.append(f"{len(given['ions'])} ions")
    return ", ".join(parts)


def _container(given: Given) -> str:
    count = f"{given['count']} × " if "count" in given else ""
    parts = [f"{count}{given.get('name', 'container')}", _amount(given["volume"], "L")]
    if "height" in given:
        parts.append(f"{_amount(given['height'], 'cm')} high")
    if "drainage" in given:
        parts.append(given["drainage"])
    return ", ".join(parts)


def _crop(given: Given) -> str:
    return f"{_plain(given['crop'])} ({given['stage']})" if "stage" in given else given["crop"]


def _list(title: str, entries: Iterator[str]) -> list[str]:
    told = ", ".join(entries)
    return [f"{title}: {told}"] if told else []


def _amount(given: Any, unit: str) -> str:
    if isinstance(given, dict):
        return f"{given['value']} {given['unit']}"
    return given if isinstance(given, str) and not given[-1].isdigit() else f"{given} {unit}"


def _plain(text: str) -> str:
    return text.replace("_", " ").replace("-", " ")
