"""A long stream of rows through the batch of the running service, one of a hundred faulty.

``python -m benchmarks.stream ROWS`` sends them while it reads the answers, and holds that each row
has one answer in its place, that the faulty ones and no others are told by their line, and that
memory grows by less than 64 MiB from 10,000 rows on.
"""

from __future__ import annotations

import http.client
import json
import os
import sys
import threading
import time
from typing import Any
from urllib.parse import urlsplit

from benchmarks.held import held
from saltcalc.demo import running_service

ROWS, SETTLED, EVERY, FAULTY = 1_000_000, 10_000, 10_000, 100
"""Rows; after how many memory has settled; how often it is looked at; one of how many is bad."""
MOST_GROWTH = 64.0
_AT_ONCE = 200
_BAD = ('{"medium": {"ec": "soup"}}', "{", '{"medium": {"ec": 2}, "colour": "red"}')


def _line(place: int) -> str:
    if place % FAULTY == 0:
        return _BAD[place // FAULTY % len(_BAD)]
    ec = f"{300 + (37 * place) % 4000} µS/cm"
    medium = {"extraction": "one_to_two", "ec": ec}
    return json.dumps({"sample_id": f"sample {place}", "medium": medium, "containers": ["20 L"]})


def _send(connection: http.client.HTTPConnection, rows: int) -> None:
    for start in range(1, rows + 1, _AT_ONCE):
        places = range(start, min(start + _AT_ONCE, rows + 1))
        chunk = "".join(f"{_line(place)}\n" for place in places).encode()
        connection.send(b"%x\r\n%b\r\n" % (len(chunk), chunk))
    connection.send(b"0\r\n\r\n")


def run(rows: int = ROWS) -> int:
    """Send so many rows, print what was met, and return 1 where it does not hold."""
    faults: list[str] = []
    with running_service() as address:
        connection = http.client.HTTPConnection(urlsplit(address).netloc, timeout=600)
        connection.putrequest("POST", "/v1/assessments/batch")
        connection.putheader("Content-Type", "application/x-ndjson")
        connection.putheader("Transfer-Encoding", "chunked")
        connection.endheaders()
        sender = threading.Thread(target=_send, args=(connection, rows))
        began = time.perf_counter()
        sender.start()
        answer = connection.getresponse()
        settled, most, met = 0.0, 0.0, 0
        told: dict[str, Any] = {}
        for met, line in enumerate(iter(answer.readline, b""), start=1):
            told = json.loads(line)
            if met > rows:
                break
            bad = met % FAULTY == 0
            if told["line"] != met or ("problem" in told) != bad:
                faults.append(f"line {met}: {line[:200]!r}")
                break
            if not bad and told["sample_id"] != f"sample {met}":
                faults.append(f"line {met}: of another sample")
            if met % EVERY == 0:
                memory = held(os.getpid())[0]
                settled = memory if met == SETTLED else settled
                most = max(most, memory)
                print(f"{met:>9} rows, {memory:.1f} MB", flush=True)
        sender.join()
        closing = told.get("closing", {})
        taken = time.perf_counter() - began
    if (closing.get("rows"), closing.get("failed")) != (rows, rows // FAULTY):
        faults.append(f"closing: {closing}")
    if most - settled > MOST_GROWTH:
        faults.append(f"memory grew by {most - settled:.1f} MB")
    print(
        f"{met - 1} rows in {taken:.0f} s, {closing.get('failed')} faulty; "
        f"memory from {SETTLED} rows on +{most - settled:.1f} MB"
    )
    print("\n".join(faults) or "all held")
    return int(bool(faults))


if __name__ == "__main__":
    sys.exit(run(*map(int, sys.argv[1:])))
