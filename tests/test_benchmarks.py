"""Every benchmark names what there is: nothing else would notice before it is run."""

from __future__ import annotations

import pkgutil
import subprocess
import sys

import benchmarks

MODULES = [
    each.name
    for each in pkgutil.iter_modules(benchmarks.__path__, f"{benchmarks.__name__}.")
    if not each.ispkg and not each.name.endswith("__main__")
]


def test_every_benchmark_names_what_there_is():
    # In a process of its own: some of them set up the tool that they run.
    asked = [sys.executable, "-c", f"import {', '.join(MODULES)}"]
    ended = subprocess.run(asked, capture_output=True, text=True, check=False)
    assert ended.returncode == 0, ended.stderr
    assert "benchmarks.core" in MODULES
