"""Instructions that fail safe: of one container, of many, and many passes at once."""

from __future__ import annotations

import numpy as np

from benchmarks.flush import _seconds
from saltcalc.science import cycles
from saltcalc.science.instruction import SAMPLE_SIZE, instruct
from saltcalc.science.pass_days import Timing, settled_by_pass
from saltcalc.science.passes_needed import passes_needed
from saltcalc.science.plan import Flush, UncertainWashout
from saltcalc.science.uncertainty import Interval

COMPOST = UncertainWashout(
    Interval.of(0.75, 0.5, 0.95),
    Interval.of(0.2, 0.1, 0.45),
    Interval.of(0.05, 0.015, 0.15),
    Interval.of(0.2, 0.1, 0.45),
)
HELD, SURE = Interval.of(45.0, 41.0, 49.0), Interval.of(1.0, 0.9, 1.1)
TIMING = Timing(0.25, 0.5, 14)


def main() -> None:
    """Print the ratios."""
    print(f"A flush of some hundred passes of compost, over {SAMPLE_SIZE} drawn containers each")
    one = _seconds(lambda: _instruct(1), 10)
    many = _seconds(lambda: _instruct(100), 3)
    print(f"  100 unlike containers: {many / one:.0f} times the time of one")
    alike = _seconds(lambda: _instruct(100, unlike=0.0), 3)
    print(f"  100 like containers:   {alike / one:.1f} times the time of one")

    pots = cycles.Pots.of(np.full(1280, 0.75), 0.2, 0.05, 0.2, 3)
    one, endless = cycles.pass_map(pots, 0.04, 0.25), Timing(0.25, 0.5, 1000)
    start = cycles.even_excess(pots, 12.0, 0.6)
    whole, wanted = np.ones((1280, 1, 1)), np.full((1280, 1), 1e-9)
    steps = _seconds(lambda: settled_by_pass(pots, one, start, endless, 240), 3)
    doubled = _seconds(
        lambda: passes_needed(pots, one, start[:, np.newaxis], whole, wanted, 240, endless), 3
    )
    print(f"  240 passes by doubling: {steps / doubled:.1f} times as fast as one by one")


def _flush(count: int, unlike: float = 0.001) -> Flush:
    ec = 12.0 + unlike * np.arange(count)
    return Flush(ec, 1.9, 0.6, 45.0, 0.0, 2.0, 800.0, 0.25)


def _around(count: int, unlike: float = 0.001) -> Interval:
    ec = np.asarray(_flush(count, unlike).ec_medium)
    return Interval(ec, 0.88 * ec, 1.13 * ec)


def _instruct(count: int, unlike: float = 0.001) -> object:
    return instruct(_flush(count, unlike), COMPOST, HELD, _around(count, unlike), SURE, TIMING)


if __name__ == "__main__":
    main()
