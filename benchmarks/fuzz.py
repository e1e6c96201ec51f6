"""Twenty thousand requests made up from the contract, sent to the service as it runs.

Every check of schemathesis but that all which fits the contract is accepted: a schema cannot say
which texts are units, nor which names are crops. What is asked in one way alone, such as a whole
table, is asked once; the rest of the requests falls to the others in equal parts.
"""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import requests

from saltcalc.demo import running_service

CASES = 20_000


def run(cases: int = CASES) -> int:
    """Send so many at least, and return 1 where one fails or they are fewer."""
    tool = Path(sys.executable).with_name("schemathesis")
    with running_service() as address, tempfile.TemporaryDirectory() as folder:
        contract = requests.get(f"{address}/openapi.json", timeout=30).json()
        told = Path(folder, "run.json")
        code = subprocess.run(
            [
                *(str(tool), "run", f"{address}/openapi.json", "--checks", "all"),
                *("--exclude-checks", "positive_data_acceptance", "--seed", "7"),
                *("--max-examples", str(math.ceil(cases / _without_end(contract)))),
                *("--phases", "examples,fuzzing", "--continue-on-failure"),
                *("--report", "json", "--report-json-path", str(told)),
            ],
            env=os.environ | {"SCHEMATHESIS_HOOKS": "benchmarks.fuzz_lines"},
            check=False,
        ).returncode
        sent = json.loads(told.read_bytes())["test_cases"]["generated"]
    print(f"{sent} requests, at least {cases} wanted")
    return int(code != 0 or sent < cases)


def _without_end(contract: Mapping[str, Any]) -> int:
    """Return how many operations can be asked in any number of ways: by a body, or a path."""
    return sum(
        "requestBody" in operation or "{" in path
        for path, operations in contract["paths"].items()
        for method, operation in operations.items()
        if method != "parameters"
    )


if __name__ == "__main__":
    sys.exit(run(*map(int, sys.argv[1:])))
