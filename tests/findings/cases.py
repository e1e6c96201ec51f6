"""A case for every finding and its twin without: ``python -m tests.findings.cases`` seeks new ones.

It keeps the cases that still hold. For each other finding it looks among the golden requests and
changes of them, strikes out what the finding does not need, and then looks for the least change
that silences it. Read what it writes: a case must be one that a grower could send.
"""

from __future__ import annotations

import copy
import json
import random
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from saltcalc.parts.notes import FINDINGS
from saltcalc.service.app import create_app
from saltcalc.service.config import read_settings
from tests.golden.record import requests

CASES = Path(__file__).parent / "cases.jsonl"

FACTORS = (0.5, 2, 0.2, 5, 0.05, 20)
TRIES = 3_000

Place = tuple[str | int, ...]


def cases() -> dict[str, dict[str, Any]]:
    """Return the cases by their finding: ``path``, ``request`` and ``twin``."""
    lines = CASES.read_text(encoding="utf-8").splitlines() if CASES.exists() else []
    return {each["finding"]: each for each in map(json.loads, lines)}


def asking() -> Callable[[str, Any], frozenset[str] | None]:
    """Return a function that asks for the ids of findings; None where the request is refused."""
    client = create_app(read_settings({"SALTCALC_LOG_LEVEL": "CRITICAL"})).test_client()

    def ask(path: str, body: Any) -> frozenset[str] | None:
        reply = client.post(path, json=body)
        if reply.status_code != 200:
            return None
        return frozenset(each["id"] for each in reply.json.get("warnings", ()))

    return ask


def _places(node: Any, at: Place = ()) -> Iterator[Place]:
    """Yield where the members of a request stand, the outer before the inner."""
    members = node.items() if isinstance(node, dict) else enumerate(node)
    for key, inner in members:
        yield (*at, key)
        if isinstance(inner, dict | list):
            yield from _places(inner, (*at, key))


def _at(body: Any, place: Place) -> Any:
    for key in place:
        body = body[key]
    return body


def _without(body: Any, place: Place) -> Any:
    made = copy.deepcopy(body)
    del _at(made, place[:-1])[place[-1]]
    return made


def _with(body: Any, place: Place, value: Any) -> Any:
    made = copy.deepcopy(body)
    _at(made, place[:-1])[place[-1]] = value
    return made


def _figure(value: Any) -> float | None:
    """Return a plain figure, or that of a text such as '3 L'."""
    if isinstance(value, str):
        value = value.partition(" ")[0]
        try:
            return float(value)
        except ValueError:
            return None
    return value if isinstance(value, int | float) and not isinstance(value, bool) else None


def _scaled(value: Any, factor: float) -> Any:
    figure = _figure(value)
    scaled = float(f"{(figure or 0) * factor:.3g}")
    return f"{scaled:g} {value.partition(' ')[2]}".strip() if isinstance(value, str) else scaled


_SWAPS = {"sealed": "open", "open": "sealed"}


def changes(body: Any) -> Iterator[Any]:
    """Yield the requests that differ in one figure, one choice or one member."""
    for place in list(_places(body)):
        value = _at(body, place)
        if _figure(value):
            yield from (_with(body, place, _scaled(value, factor)) for factor in FACTORS)
        elif isinstance(value, str) and value in _SWAPS:
            yield _with(body, place, _SWAPS[value])
        elif value == 0:
            yield _with(body, place, 1.5)
    if "ec" not in body.get("medium", {"ec": None}):
        yield _with(body, ("medium", "ec"), 1.5)
    yield from (_without(body, place) for place in list(_places(body)))


def _shrunk(body: Any, holds: Callable[[Any], bool]) -> Any:
    """Strike out what a finding does not need."""
    place = next(
        (each for each in list(_places(body)) if holds(_without(body, each))),
        None,
    )
    return body if place is None else _shrunk(_without(body, place), holds)


def seek(wanted: set[str], tries: int = TRIES) -> dict[str, dict[str, Any]]:
    """Return a case with its twin for each finding for which there is one."""
    ask, chance = asking(), random.Random(7)
    pool = [(each["path"].partition("?")[0], each["body"]) for each in requests() if each["body"]]
    first: dict[str, tuple[str, Any]] = {}
    waiting = list(pool)
    for _ in range(tries):
        if not waiting and wanted <= first.keys():
            break
        if waiting:
            path, body = waiting.pop()
        else:
            path, body = chance.choice(pool)
            for _ in range(chance.randint(1, 3)):
                body = chance.choice(list(changes(body)) or [body])
        for finding in (ask(path, body) or frozenset()) & wanted:
            known = first.get(finding)
            if known is None or len(json.dumps(body)) < len(json.dumps(known[1])):
                first[finding] = path, body
    made = {}
    for finding, (path, body) in sorted(first.items()):
        small = _shrunk(body, lambda each: finding in (ask(path, each) or ()))  # noqa: B023
        twin = next(
            (
                each
                for each in changes(small)
                if (found := ask(path, each)) is not None and finding not in found
            ),
            None,
        )
        if twin is not None:
            made[finding] = {"finding": finding, "path": path, "request": small, "twin": twin}
        else:
            print(f"{finding}: nothing silences {json.dumps(small)}")
    return made


def main() -> None:
    """Keep what holds, seek the rest, and write all of them."""
    ask = asking()
    kept = {
        each["finding"]: each
        for each in cases().values()
        if each["finding"] in FINDINGS
        and each["finding"] in (ask(each["path"], each["request"]) or ())
        and each["finding"] not in (ask(each["path"], each["twin"]) or (each["finding"],))
    }
    found = kept | seek(set(FINDINGS) - kept.keys())
    lines = [json.dumps(found[each], ensure_ascii=False) for each in sorted(found)]
    CASES.write_text("\n".join(lines) + "\n", encoding="utf-8")
    print("without a case:", sorted(set(FINDINGS) - found.keys()))


if __name__ == "__main__":
    main()
