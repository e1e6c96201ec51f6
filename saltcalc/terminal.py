"""What a person at a terminal reads: a request in a few words, and what a report came to."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from saltcalc.service.lab_report import Report

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


def report_words(report: Report) -> str:
    """Return what a laboratory's report came to, and the lines that filled in nothing."""
    lines = ["From the report", *(f"  {each.pointer}: {each.value}" for each in report.taken)]
    lines += _list("Open", iter(report.asked))
    lines += ["Lines not used"] if report.left else []
    lines += [f"  {each.line}: {each.text}\n      {each.why}" for each in report.left]
    return "\n".join(lines) + "\n"


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
