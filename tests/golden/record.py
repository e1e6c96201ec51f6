"""Record the answers to the golden requests: ``python -m tests.golden.record``."""

from __future__ import annotations

import gzip
import json
import re
from pathlib import Path
from typing import Any

from saltcalc.service import logs
from saltcalc.service.app import create_app
from saltcalc.service.config import read_settings

FOLDER = Path(__file__).parent
REQUESTS = FOLDER / "requests.jsonl"
ANSWERS = FOLDER / "answers.jsonl.gz"

TRACE = re.compile(r', ?"trace": ?\{[^}]*\}')
"""What changes with every table, and so is not recorded."""


def requests() -> list[dict[str, Any]]:
    """Return the requests."""
    return [json.loads(line) for line in REQUESTS.read_text(encoding="utf-8").splitlines()]


def answers() -> list[str]:
    """Ask the service, and return each answer as a line of JSON with its status."""
    client = create_app(read_settings({"SALTCALC_LOG_LEVEL": "CRITICAL"})).test_client()
    lines = []
    for request in requests():
        response = client.open(
            request["path"],
            method=request["method"],
            json=request["body"],
            headers={"X-Request-ID": "golden"},
        )
        text = TRACE.sub("", response.get_data(as_text=True).strip())
        lines.append(f"{response.status_code} {text}")
    logs.configure("INFO")  # the level is that of the process: other tests read what is logged
    return lines


def recorded() -> list[str]:
    """Return the answers as they were recorded."""
    return gzip.decompress(ANSWERS.read_bytes()).decode().splitlines()


if __name__ == "__main__":
    ANSWERS.write_bytes(gzip.compress("\n".join(answers()).encode(), mtime=0))
