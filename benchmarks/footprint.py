"""What the service takes on a small board: memory, time until it is ready, its first page.

Memory is the proportional set size (PSS) of master and two workers, after both have answered.
Aimed at: 150 MB without pages and 220 MB with; ready in 3 s; the first page in 0.5 s of CPU.
Where more is installed than runs the service (as for its tests), imports take more.
"""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from pathlib import Path

import requests

from benchmarks.soak import _held
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
    began = time.monotonic()
    with running_service() as address:
        ready = time.monotonic() - began
        time.sleep(2)  # for the second worker
        pids = list(_below(os.getpid()))
        print(
            f"ready in {ready:.1f} s, {_cpu(pids[0]):.1f} s of CPU; {_held(os.getpid())[0]:.0f} MB"
        )
        for form in ("application/json", "text/html", "application/pdf"):
            taken = []
            for _ in range(ANSWERS):
                before = sum(map(_cpu, pids))
                headers = {"Content-Type": "application/json", "Accept": form}
                sent = DEMO_REQUEST.read_bytes()
                url = f"{address}/v1/assessments"
                requests.post(url, data=sent, headers=headers, timeout=60).raise_for_status()
                taken.append(sum(map(_cpu, pids)) - before)
            first, usual = max(taken[:4]), sorted(taken)[ANSWERS // 2]
            memory = _held(os.getpid())[0]
            print(f"{form}: {memory:.0f} MB after; first {first:.2f} s of CPU, then {usual:.2f}")


if __name__ == "__main__":
    main()
