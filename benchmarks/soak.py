"""The recorded requests at half load for half an hour, and what the service holds meanwhile.

Half load: after each answer the client rests as long as the answer took, on as many connections as
there are workers. Memory is the proportional set size (PSS) of all processes; its slope is a least
squares line over the second half, when the caches are warm, with its standard error.
"""

from __future__ import annotations

import json
import os
import sys
import threading
import time
from pathlib import Path

import numpy as np
import requests
from scipy.stats import linregress

from benchmarks.held import held
from saltcalc.demo import running_service

REQUESTS = Path(__file__).parents[1] / "tests" / "golden" / "requests.jsonl"
CLIENTS = 2
EVERY = 5.0
"""Seconds between two looks."""


def run(minutes: float = 30.0) -> int:
    """Ask, look, and return 0 where neither memory nor descriptors grow."""
    lines = map(json.loads, REQUESTS.read_text(encoding="utf-8").splitlines())
    asked = [each for each in lines if each["method"] == "POST"]
    end = time.monotonic() + 60 * minutes
    statuses: dict[int, int] = {}
    with running_service() as address:
        clients = [
            threading.Thread(target=_ask, args=(address, asked[place::CLIENTS], end, statuses))
            for place in range(CLIENTS)
        ]
        for client in clients:
            client.start()
        looks = []
        while time.monotonic() < end:
            time.sleep(EVERY)
            looks.append((time.monotonic(), *held(os.getpid())))
        for client in clients:
            client.join()
    when, memory, open_files = np.array(looks[len(looks) // 2 :]).T
    line = linregress(when / 60, memory)
    print(f"{sum(statuses.values())} requests in {minutes:g} min: {dict(sorted(statuses.items()))}")
    print(f"memory {memory[0]:.1f} MB at half time, {memory[-1]:.1f} MB at the end")
    print(f"slope {line.slope:+.3f} MB/min, standard error {line.stderr:.3f}")
    print(f"open descriptors {open_files.min():.0f} to {open_files.max():.0f}")
    grows = line.slope > max(3 * line.stderr, 0.05) or open_files[-1] > open_files[0] + CLIENTS
    return int(grows or any(status >= 500 for status in statuses))


def _ask(address: str, asked: list[dict], end: float, statuses: dict[int, int]) -> None:
    with requests.Session() as session:
        while True:
            for each in asked:
                began = time.monotonic()
                if began > end:
                    return
                response = session.post(f"{address}{each['path']}", json=each["body"], timeout=60)
                statuses[response.status_code] = statuses.get(response.status_code, 0) + 1
                time.sleep(time.monotonic() - began)


if __name__ == "__main__":
    sys.exit(run(*map(float, sys.argv[1:])))
