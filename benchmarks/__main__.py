"""Run every benchmark: each module of this package that has a ``main``."""

from __future__ import annotations

from importlib import import_module
from pkgutil import iter_modules

import benchmarks


def main() -> None:
    for module in iter_modules(benchmarks.__path__):
        if module.name == "__main__":
            continue
        run = getattr(import_module(f"benchmarks.{module.name}"), "main", None)
        if run is not None:
            print(f"\n== {module.name} ==")
            run()


if __name__ == "__main__":
    main()
