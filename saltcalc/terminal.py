"""What a person at a terminal reads: a request in a few words, and what a report came to."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Any

from saltcalc.service.lab_report import Report
from saltcalc.words.catalogue import sentence, words
from saltcalc.words.figures import in_marks, lower_first

Given = dict[str, Any]
_POINT = re.compile(r"-?\d+\.\d+(?![\d.,])")


def request_words(request: Given) -> str:
    """Return a request that was answered as a few lines of readable text."""
    lines = list(_line("medium", _solution(request.get("medium") or {})))
    lines += _line("water", _solution(request.get("water") or {}))
    for container in request.get("containers", []):
        lines += _line("container", _container(container))
    lines += _line("crops", map(_crop, request.get("crops", [])))
    for what, sent in (("seen", "observations"), ("not_seen", "not_seen")):
        lines += _line(what, (_named("observations.name", each) for each in request.get(sent, [])))
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
        yield _named("substrates.name", given["substrate"])
    if "ec" in given:
        ec = _amount(given["ec"], "dS/m")
        if "temperature" in given:
            at = _amount(given["temperature"], "°C")
            yield sentence("terminal.ec_at", ec=ec, temperature=at)
        else:
            yield sentence("terminal.ec", ec=ec)
    if "extraction" in given:
        yield sentence(
            "terminal.method", method=_named("extraction_methods.name", given["extraction"])
        )
    if "ph" in given:
        yield f"pH {_number(given['ph'])}"
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
        yield _named("terminal.drainage", given["drainage"])


def _crop(given: Given) -> str:
    crop = _plain(given["crop"])
    return f"{crop} ({_named('stage', given['stage'])})" if "stage" in given else crop


def _amount(given: Any, unit: str) -> str:
    if isinstance(given, dict):
        return f"{_number(given['value'])} {given['unit']}"
    bare = not isinstance(given, str) or given[-1].isdigit()
    return f"{_number(given)} {unit}" if bare else _number(given)


def _number(given: Any) -> str:
    """Return a figure as it was given; one with a decimal point in the marks of the reader."""
    return in_marks(str(given)) if _POINT.match(str(given)) else str(given)


def _named(kind: str, given: Any) -> str:
    """Return the words for an id; another text as it was given."""
    return lower_first(words().named(f"{kind}.{given}", _plain(given)))


def _plain(text: Any) -> str:
    return str(text).replace("_", " ").replace("-", " ")
