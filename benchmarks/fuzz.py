"""Twenty thousand requests made up from the contract, sent to the service as it runs.

Every check of schemathesis but that all which fits the contract is accepted: a schema cannot say
which texts are units, nor which names are crops.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from saltcalc.demo import running_service

CASES = 20_000
OPERATIONS = 20


def run(cases: int = CASES) -> int:
    """Send them, and return the exit code of schemathesis."""
    tool = Path(sys.executable).with_name("schemathesis")
    with running_service() as address:
        return subprocess.run(
            [
                *(str(tool), "run", f"{address}/openapi.json", "--checks", "all"),
                *("--exclude-checks", "positive_data_acceptance", "--seed", "7"),
                *("--max-examples", str(cases // OPERATIONS), "--phases", "examples,fuzzing"),
            ],
            env=os.environ | {"SCHEMATHESIS_HOOKS": "benchmarks.fuzz_lines"},
            check=False,
        ).returncode


if __name__ == "__main__":
    sys.exit(run(*map(int, sys.argv[1:])))
