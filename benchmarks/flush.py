"""Flush plans a second, against the memory-bandwidth floor and against plain Python."""

from __future__ import annotations

import math
import time
from collections.abc import Callable

import numpy as np

from saltcalc.science.flush import WashoutParameters
from saltcalc.science.plan import Flush, plan_flush

PARAMETERS = WashoutParameters(0.65, 0.25, 0.20, 0.12)
WATER, TARGET, CEILING, HOURS, REST = 0.5, 2.0, 100.0, 0.25, 0.5


def main() -> None:
    """Print the ratios."""
    print("Flush plans: N layers with standing water, pass by pass to the target")
    one = _seconds(lambda: plan_flush(_flush(1), PARAMETERS), 20)
    start, held = (
        float(np.asarray(part)[0]) for part in (_flush(1).ec_medium, _flush(1).water_held)
    )
    plain = _seconds(lambda: plain_plan(start, held), 20)
    agree = plain_plan(start, held) == int(plan_flush(_flush(1), PARAMETERS).passes[0])
    print(f"  1 container:        {1 / one:10,.0f} plans/s")
    print(f"  plain Python, same: {1 / plain:10,.0f} plans/s; same number of passes: {agree}")
    print(f"  arrays over plain Python for one container: {plain / one:.2f} times as fast")

    many = 100_000
    flush = _flush(many)
    plan = plan_flush(flush, PARAMETERS)
    batch = _seconds(lambda: plan_flush(flush, PARAMETERS), 2)
    arrays = [plan.drained_each, plan.ec_medium, plan.ec_drainage]
    floor = _seconds(lambda: [array.copy() for array in arrays], 5)
    print(f"  {many:,} containers: {many / batch:10,.0f} plans/s")
    print(f"  a plan in the batch against one alone: {many * one / batch:.0f} times as fast")
    print(f"  against plain Python: {many * plain / batch:.0f} times as fast")
    print(
        f"  against copying the answer's arrays once (memory-bandwidth floor): "
        f"{batch / floor:.0f} times the floor"
    )


def _flush(count: int) -> Flush:
    rng = np.random.default_rng(8)
    return Flush(
        ec_medium=rng.uniform(4, 9, count),
        ec_target=TARGET,
        ec_water=WATER,
        water_held=rng.uniform(4, 8, count),
        deficit=0.0,
        pass_volume=1.0,
        ceiling=CEILING,
        duration=HOURS,
        rest_between=REST,
    )


def plain_plan(ec: float, held: float) -> int:
    """Count the passes with lists and floats: the same model and the same series."""
    efficiency, immobile, rate, store, layers = PARAMETERS
    mobile = 1 - immobile
    capacity = (immobile + store) / mobile
    flow = layers * efficiency * (1.0 / held) / mobile
    exchange = rate * HOURS
    jumps = max(flow + capacity * exchange, exchange)
    terms = math.ceil(jumps + 8 * math.sqrt(jumps) + 20)
    here, still = [ec] * layers, [ec] * layers
    passes = 0
    while True:
        passes += 1
        weight = total = math.exp(-jumps)
        sum_here, sum_still = [weight * c for c in here], [weight * c for c in still]
        for term in range(1, terms):
            above = [WATER, *here[:-1]]
            gaps = [c - s for c, s in zip(here, still, strict=True)]
            here = [
                c + flow / jumps * (a - c) - capacity * exchange / jumps * g
                for c, a, g in zip(here, above, gaps, strict=True)
            ]
            still = [s + exchange / jumps * g for s, g in zip(still, gaps, strict=True)]
            weight *= jumps / term
            total += weight
            sum_here = [old + weight * c for old, c in zip(sum_here, here, strict=True)]
            sum_still = [old + weight * s for old, s in zip(sum_still, still, strict=True)]
        here, still = [c / total for c in sum_here], [s / total for s in sum_still]
        settled = (mobile * sum(here) / layers + (immobile + store) * sum(still) / layers) / (
            1 + store
        )
        if settled <= TARGET or passes >= CEILING:
            return passes
        fading = math.exp(-rate * (1 + capacity) * REST)
        even = [(c + capacity * s) / (1 + capacity) for c, s in zip(here, still, strict=True)]
        here = [e + (c - e) * fading for c, e in zip(here, even, strict=True)]
        still = [e + (s - e) * fading for s, e in zip(still, even, strict=True)]


def _seconds(work: Callable[[], object], times: int) -> float:
    work()
    best = math.inf
    for _ in range(times):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return best


if __name__ == "__main__":
    main()
