"""What a person at a terminal reads: a request in a few words, and what a report came to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from saltcalc.service.lab_report import Report
from saltcalc.words.catalogue import sentence

Given = dict[str, Any]


def request_words(request: Given) -> str:
    """Return a request that was answered as a few lines of readable text."""
    lines = list(_line("medium", _solution(request.get("medium") or {})))
    lines += _line("water", _solution(request.get("water") or {}))
    for container in request.get("containers", []):
        lines += _line("container", _container(container))
    lines += _line("crops", map(_crop, request.get("crops", [])))
    lines += _line("seen", map(_plain, request.get("observations", [])))
    lines += _line("not_seen", map(_plain, request.get("not_seen", [])))
    return "\n".join([sentence("terminal.asked"), *(f"  {line}" for line in lines)])


def report_words(report: Report) -> str:
    """Return what a laboratory's report came to, and the lines that filled in nothing."""
    lines = [sentence("terminal.report")]
    lines += [f"  {each.pointer}: {each.value}" for each in report.taken]
    lines += _line("open", report.asked)
    lines += [sentence("terminal.left")] if report.left else []
    lines += [f"  {each.line}: {each.text}\n      {each.why}" for each in report.left]
    return "\n".join(lines) + "\n"


def _line(what: str, parts: Iterable[str]) -> Iterator[str]:
    told = list(parts)
    if told:
        yield sentence(f"terminal.{what}", parts=told)


def _solution(given: Given) -> Iterator[str]:
    if "substrate" in given:
        yield _plain(given["substrate"])
    if "ec" in given:
        ec = _amount(given["ec"], "dS/m")
        if "temperature" in given:
            at = _amount(given["temperature"], "°C")
            yield sentence("terminal.ec_at", ec=ec, temperature=at)
        else:
            yield sentence("terminal.ec", ec=ec)
    if "extraction" in given:
        yield sentence("terminal.method", method=_plain(given["extraction"]))
    if "ph" in given:
        yield f"pH {given['ph']}"
    if given.get("ions"):
        yield sentence("terminal.ions", count=len(given["ions"]))


def _container(given: Given) -> Iterator[str]:
    count = f"{given['count']} × " if "count" in given else ""
    yield count + (given.get("name") or sentence("terminal.no_name"))
    if "volume" in given:
        yield _amount(given["volume"], "L")
    if "height" in given:
        yield sentence("terminal.high", height=_amount(given["height"], "cm"))
    if "drainage" in given:
        yield _plain(given["drainage"])


def _crop(given: Given) -> str:
    return f"{_plain(given['crop'])} ({given['stage']})" if "stage" in given else given["crop"]


def _amount(given: Any, unit: str) -> str:
    if isinstance(given, dict):
        return f"{given['value']} {given['unit']}"
    return given if isinstance(given, str) and not given[-1].isdigit() else f"{given} {unit}"


def _plain(text: Any) -> str:
    return str(text).replace("_", " ").replace("-", " ")
