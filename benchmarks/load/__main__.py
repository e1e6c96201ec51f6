"""The service under more requests than it can answer, by locust: closed and open loop, and a batch.

Closed: so many clients, each with its next request as soon as the last is answered. Open: requests
come at a rate whatever becomes of them; many clients, each with a request every few seconds. At any
load an answer is 200, or 429 or 503 that says when to come again; whether the service lives is
answered all the while; afterwards it is as fast as before. Run ``make load`` or
``python -m benchmarks.load SECONDS``; it prints what each kind of client met.
"""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import requests

from saltcalc.demo import running_service

CLIENTS = Path(__file__).with_name("clients.py")
SECONDS = 20
CLOSED, OPEN = 100, 200
"""Clients; each of two workers answers one request and lets 32 wait. Those of the open loop ask
every four seconds."""
ALIVE_WITHIN, BESIDE_A_BATCH, SLOWER = 2000.0, 4000.0, 3.0
"""Longest answers of ``/healthz`` and beside a batch [ms]; how much slower it may be afterwards."""
SHOWN = ("50%", "95%", "99%", "100%")


def run(seconds: int = SECONDS) -> int:
    """Load the service in five ways, and return 1 where one does not hold."""
    faults: list[str] = []
    with running_service() as address:
        before = _loaded(address, "calm", 2, seconds // 2, faults)
        _loaded(address, "closed", CLOSED, seconds, faults)
        _loaded(address, "open", OPEN, seconds, faults)
        after = _loaded(address, "calm", 2, seconds // 2, faults)
        if _single(after) > SLOWER * _single(before):
            faults.append("it is slower after the load than before")
        with _batches(address):
            beside = _loaded(address, "calm", 2, seconds, faults)
        if _single(beside, "100%") > BESIDE_A_BATCH:
            faults.append("single requests wait too long beside a batch")
    print("\n".join(faults) or "all held")
    return int(bool(faults))


def _loaded(
    address: str, kind: str, clients: int, seconds: int, faults: list[str]
) -> dict[str, dict[str, str]]:
    """Let clients of a kind ask; return what locust counts, by the name of a request."""
    with tempfile.TemporaryDirectory() as folder:
        command = [
            *(sys.executable, "-m", "locust", "--locustfile", str(CLIENTS), "--headless"),
            *("--only-summary", "--loglevel", "ERROR", "--host", address),
            *("--users", str(clients + 1), "--spawn-rate", str(clients + 1)),
            *("--run-time", f"{seconds}s", "--stop-timeout", "40", "--csv", f"{folder}/of"),
        ]
        done = subprocess.run(
            command,
            env=dict(os.environ) | {"LOAD": kind},
            capture_output=True,
            text=True,
            check=False,
        )
        stats = Path(folder, "of_stats.csv")
        if not stats.exists():
            raise RuntimeError(done.stderr)
        met = {row["Name"]: row for row in csv.DictReader(stats.open(encoding="utf-8"))}
    print(
        f"\n{kind}, {clients} clients, {seconds} s{'':17}count  a second"
        + "".join(f"{share:>8}" for share in SHOWN)
        + "  [ms]"
    )
    for name, row in met.items():
        if name != "Aggregated":
            figures = "".join(f"{float(row[share]):8.0f}" for share in SHOWN)
            print(f"{name:40}{row['Request Count']:>7}{float(row['Requests/s']):10.1f}{figures}")
    faults += [
        f"{kind}: {row['Failure Count']} of {name}"
        for name, row in met.items()
        if name != "Aggregated" and row["Failure Count"] != "0"
    ]
    missing = {"/healthz", "single answered"} - met.keys()
    if missing:
        raise RuntimeError(f"{kind}: nothing of {', '.join(sorted(missing))} was answered")
    if float(met["/healthz"]["100%"]) > ALIVE_WITHIN:
        faults.append(f"{kind}: /healthz was not answered in time")
    return met


def _single(met: dict[str, dict[str, str]], share: str = "95%") -> float:
    return float(met["single answered"][share])


@contextmanager
def _batches(address: str) -> Iterator[None]:
    """Send one batch after another until the block ends."""
    line = json.dumps({"medium": {"extraction": "one_to_two", "ec": 3}, "containers": ["20 L"]})
    ended = threading.Event()
    rows = []

    def send() -> None:
        while not ended.is_set():
            answer = requests.post(
                f"{address}/v1/assessments/batch",
                data=(line + "\n").encode() * 500,
                headers={"Content-Type": "application/x-ndjson"},
                timeout=600,
            )
            rows.append(json.loads(answer.text.splitlines()[-1])["closing"]["rows"])

    sender = threading.Thread(target=send)
    sender.start()
    try:
        yield
    finally:
        ended.set()
        sender.join()
    print(f"{'beside them, rows of batches':40}{sum(rows):>7}")


if __name__ == "__main__":
    sys.exit(run(*map(int, sys.argv[1:])))
