"""Ion analyses in one call against a plain loop and against PHREEQC.

Run ``python -m benchmarks.ions``: EC from ions, shares, charge balance and SAR of 100,000 samples.
The loop makes the same calls sample by sample; it and PHREEQC run a subset, and the ratio is by
the time of one sample.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np

from saltcalc.science import phreeqc
from saltcalc.science.balance import ANIONS, CATIONS, charge_balance
from saltcalc.science.conductivity import ec_from_ions, total_ec_from_ions
from saltcalc.science.sodicity import sar

SAMPLES = 100_000
LOOP_SAMPLES = 100
ENGINE_SAMPLES = 200


def analyses(count: int) -> tuple[dict[str, np.ndarray], np.ndarray]:
    """Invented analyses, mmol_c/L, spread over clean water to strong extracts."""
    rng = np.random.default_rng(7)
    strength = 10 ** rng.uniform(0, 1.8, count)
    ions = {}
    for side in (CATIONS, ANIONS):
        for ion, share in zip(side, rng.dirichlet(np.ones(len(side)), count).T, strict=True):
            ions[ion] = strength * share
    return ions, rng.uniform(5.5, 7.8, count)


def evaluate(ions: dict[str, Any], ph: Any) -> None:
    ec_from_ions(ions, ph)
    charge_balance(ions, ph)
    sar(ions["sodium"], ions["calcium"], ions["magnesium"])


def seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main() -> None:
    ions, ph = analyses(SAMPLES)
    evaluate({ion: values[:10] for ion, values in ions.items()}, ph[:10])  # read the tables first

    def one(row: int) -> dict[str, float]:
        return {ion: float(values[row]) for ion, values in ions.items()}

    batch = seconds(lambda: evaluate(ions, ph)) / SAMPLES
    print(f"one call, {SAMPLES} samples: {1e6 * batch:.1f} µs a sample")
    loop = seconds(lambda: [evaluate(one(row), ph[row]) for row in range(LOOP_SAMPLES)])
    loop /= LOOP_SAMPLES
    print(f"plain Python loop: {1e6 * loop:.0f} µs a sample, {loop / batch:.0f} times as long")
    if phreeqc.available():
        rows = range(ENGINE_SAMPLES)
        took = seconds(lambda: [phreeqc.solve(one(row), ph[row]) for row in rows])
        took /= ENGINE_SAMPLES
        print(f"PHREEQC: {1e6 * took:.0f} µs a sample, {took / batch:.0f} times as long")
        alone = seconds(lambda: total_ec_from_ions(ions, ph)) / SAMPLES
        print(
            f"EC alone: {1e6 * alone:.1f} µs a sample; PHREEQC {took / alone:.0f} times (aim 200)"
        )


if __name__ == "__main__":
    main()
