"""Reading the names of crops, and finding one: as written, in the plural, misspelt and unknown.

Run ``python -m benchmarks.crop_names``.
"""

from __future__ import annotations

import subprocess
import sys
from statistics import median
from time import perf_counter

from saltcalc.data.crop_lookup import find
from saltcalc.data.crop_names import crop_names

LOADS = 5
ROUNDS = 5
TEXTS = {
    "as written": [name.name for name in crop_names()[::40]],
    "in the plural": ["tomatoes", "Gurken", "courgettes", "lechugas", "fagioli", "aardbeien"],
    "with other words": ["young tomato plants", "plants de laitue", "Tomatenjungpflanzen"],
    "misspelt": ["zuchini", "cauliflowr", "strawbery", "Karrotte", "melanzanna"],
    "unknown": ["xylophone", "butterwort", "wild lettuce", "a quite unknown plant of the shore"],
}
LOADING = """
from time import perf_counter
from saltcalc.data.crops import catalogue
catalogue()
start = perf_counter()
from saltcalc.data.crop_lookup import find
find("tomato")
loaded = perf_counter()
find("quite unknown")
print(loaded - start, perf_counter() - loaded)
"""


def load_seconds() -> list[float]:
    """Time the first look-up of a new process, and the first that needs every plural."""
    ran = subprocess.run([sys.executable, "-c", LOADING], capture_output=True, check=True)
    return [float(seconds) for seconds in ran.stdout.split()]


def microseconds(texts: list[str]) -> tuple[float, float]:
    """Return the median and the longest time of one look-up."""
    times = []
    for text in texts:
        find(text)
        rounds = []
        for _ in range(ROUNDS):
            start = perf_counter()
            find(text)
            rounds.append(perf_counter() - start)
        times.append(1e6 * min(rounds))
    return median(times), max(times)


def main() -> None:
    first, plurals = (
        min(each) for each in zip(*(load_seconds() for _ in range(LOADS)), strict=True)
    )
    print(f"load: {1e3 * first:.0f} ms, and {1e3 * plurals:.0f} ms more before the first plural")
    known = microseconds(TEXTS["as written"])[0]
    for kind, texts in TEXTS.items():
        usual, longest = microseconds(texts)
        print(f"{kind}: {usual:.0f} µs ({usual / known:.0f} times), at most {longest:.0f} µs")


if __name__ == "__main__":
    main()
