"""Show where answers differ from those recorded: ``python -m tests.golden.compare``."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from tests.golden.record import answers, recorded, requests


def differences(then: Any, now: Any, path: str = "") -> Iterator[str]:
    """Yield each place where two answers differ."""
    if isinstance(then, dict) and isinstance(now, dict):
        if list(then) != list(now) and set(then) == set(now):
            yield f"{path}: order {list(then)} -> {list(now)}"
        for name in dict.fromkeys([*then, *now]):
            if name not in then or name not in now:
                yield f"{path}/{name}: {'gone' if name in then else 'new'}"
            else:
                yield from differences(then[name], now[name], f"{path}/{name}")
    elif isinstance(then, list) and isinstance(now, list) and len(then) == len(now):
        for place, (one, other) in enumerate(zip(then, now, strict=True)):
            yield from differences(one, other, f"{path}/{place}")
    elif then != now or type(then) is not type(now):
        yield f"{path}: {str(then)[:600]} -> {str(now)[:600]}"


def main() -> None:
    """Print the differences."""
    for place, (request, then, now) in enumerate(
        zip(requests(), recorded(), answers(), strict=True)
    ):
        if then == now:
            continue
        print(place, request["method"], request["path"])
        if then[:3] != now[:3]:
            print("  status", then[:3], "->", now[:3])
        for difference in list(differences(json.loads(then[4:]), json.loads(now[4:])))[:12]:
            print("  ", difference)


if __name__ == "__main__":
    main()
