"""What the service takes on a small board: memory, time until it is ready, its first page.

Memory is the proportional set size (PSS) of master and two workers, after both have answered; a
library that other programs of the machine have open too counts in part. Aimed at: with
``SALTCALC_PAGES=when_asked`` 150 MB after answers in JSON, ready in 2 s; else 220 MB after pages,
ready in 3 s, and the first page of a worker in 0.5 s of CPU. Where more is installed than runs the
service (as for its tests), imports take more; ``PYTHON`` names the interpreter of another
environment, whose modules have to be compiled.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import requests

from benchmarks.held import held
from saltcalc.demo import running_service
from saltcalc.service.example import DEMO_REQUEST

ANSWERS = 12
"""So many requests reach both workers."""


def _below(parent: int) -> Iterator[int]:
    children = Path(f"/proc/{parent}/task/{parent}/children").read_text(encoding="ascii").split()
    for child in map(int, children):
        yield child
        yield from _below(child)


def _cpu(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def main() -> None:
    sys.executable = os.environ.get("PYTHON", sys.executable)
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    measure("when_asked", "application/json")
    measure("ready", "application/json", "text/html", "application/pdf")


def measure(pages: str, *forms: str) -> None:
    """Start the service with pages so, ask for each form, and print what it took."""
    os.environ["SALTCALC_PAGES"] = pages
    began = time.monotonic()
    with running_service() as address:
        ready = time.monotonic() - began
        time.sleep(2)  # for the second worker
        pids = list(_below(os.getpid()))
        print(
            f"pages {pages}: ready in {ready:.1f} s, {_cpu(pids[0]):.1f} s of CPU;"
            f" {held(os.getpid())[0]:.0f} MB"
        )
        for form in forms:
            taken = []
            for _ in range(ANSWERS):
                before = sum(map(_cpu, pids))
                headers = {"Content-Type": "application/json", "Accept": form}
                sent = DEMO_REQUEST.read_bytes()
                url = f"{address}/v1/assessments"
                requests.post(url, data=sent, headers=headers, timeout=60).raise_for_status()
                taken.append(sum(map(_cpu, pids)) - before)
            first, usual = max(taken[:4]), sorted(taken)[ANSWERS // 2]
            memory = held(os.getpid())[0]
            print(f"{form}: {memory:.0f} MB after; first {first:.2f} s of CPU, then {usual:.2f}")


if __name__ == "__main__":
    main()
