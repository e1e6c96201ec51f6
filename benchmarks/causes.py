"""Weighing causes for a batch at once against one medium at a time.

Run ``python -m benchmarks.causes``.
"""

from __future__ import annotations

from time import perf_counter

import numpy as np

from saltcalc.data.causes import diagnostic_measures
from saltcalc.data.observations import observations
from saltcalc.parts.causes.weighing import weigh_causes

SAMPLES = 1000
ALONE = 50


def batch(count: int) -> tuple[dict[str, tuple[np.ndarray, np.ndarray]], dict[str, np.ndarray]]:
    rng = np.random.default_rng(7)
    figures = {}
    for measure in diagnostic_measures():
        low = rng.uniform(0, 50, count)
        figures[measure] = (low, low * rng.uniform(1, 1.5, count))
    return figures, {sign: rng.random(count) < 0.1 for sign in observations()}


def seconds(count: int) -> float:
    figures, signs = batch(count)

    def weigh() -> None:
        findings = weigh_causes(figures, signs, count)
        _ = findings.next_measurement, findings.settling_measurement

    weigh()
    start = perf_counter()
    weigh()
    return perf_counter() - start


def main() -> None:
    together = seconds(SAMPLES) / SAMPLES
    alone = min(seconds(1) for _ in range(ALONE))
    print(f"{SAMPLES} media in one batch: {1e6 * together:.0f} µs each")
    print(f"one medium at a time: {1e6 * alone:.0f} µs each, {alone / together:.0f} times as long")


if __name__ == "__main__":
    main()
