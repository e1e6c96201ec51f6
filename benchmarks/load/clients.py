"""Who asks, for locust: clients of single requests in a closed or an open loop, and a probe."""

from __future__ import annotations

import json
import os
from itertools import count
from pathlib import Path
from typing import Any

from locust import FastHttpUser, constant, constant_pacing, constant_throughput, task

REQUESTS = Path(__file__).parents[2] / "tests" / "golden" / "requests.jsonl"
ASKED = [
    each
    for each in map(json.loads, REQUESTS.read_text(encoding="utf-8").splitlines())
    if each["method"] == "POST"
]
EVERY = 4.0
"""Seconds between two requests of one client of the open loop."""
WAIT = {"closed": constant(0), "calm": constant(0.1), "open": constant_pacing(EVERY)}
_next = count()


class Probe(FastHttpUser):
    """Asks whether the service lives, twice a second."""

    fixed_count = 1
    wait_time = constant_throughput(2)

    @task
    def healthz(self) -> None:
        self.client.get("/healthz")


class Single(FastHttpUser):
    """Sends the recorded requests, one after another."""

    wait_time = WAIT[os.environ["LOAD"]]

    @task
    def ask(self) -> None:
        asked = ASKED[next(_next) % len(ASKED)]
        with self.client.post(asked["path"], json=asked["body"], catch_response=True) as answer:
            _judge(answer)


def _judge(answer: Any) -> None:
    """Take an answer, a refusal for its content, and one that says when to come again."""
    status = answer.status_code
    busy = status in {429, 503}
    answer.request_meta["name"] = f"single {status}" if busy or not status else "single answered"
    if (busy and int(answer.headers.get("Retry-After", 0)) > 0) or status in {200, 422}:
        answer.success()
    else:
        answer.failure(f"{status}, Retry-After {answer.headers.get('Retry-After')}")
