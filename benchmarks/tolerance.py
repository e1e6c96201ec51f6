"""Verdicts of many samples and crops at once, against one at a time."""

from __future__ import annotations

from timeit import repeat

import numpy as np

from saltcalc.data.crops import catalogue
from saltcalc.parts.crops.limits import catalogue_limits
from saltcalc.science.crop_limits import CropLimits, RootZone, Stage
from saltcalc.science.crop_response import relative_yield
from saltcalc.science.tolerance import judge

SAMPLES = 400


def main() -> None:
    limits = catalogue_limits(tuple(catalogue().crops.values()))
    crops = np.asarray(limits.threshold).size
    ec = np.random.default_rng(1).uniform(0.2, 8, SAMPLES)
    ends = {"ec_low": 0.9 * ec, "ec": ec, "ec_high": 1.1 * ec}
    zone = RootZone(**{name: values[:, None] for name, values in ends.items()})
    together = min(repeat(lambda: judge(Stage.SEEDLING, limits, zone), number=1, repeat=3))
    floor = min(
        repeat(
            lambda: relative_yield(ec[:, None], limits.threshold, limits.slope), number=1, repeat=3
        )
    )
    one = CropLimits(threshold=1.0, slope=19.0, rating=0)
    first = RootZone(**{name: values[0] for name, values in ends.items()})
    alone = min(repeat(lambda: judge(Stage.SEEDLING, one, first), number=20, repeat=3)) / 20
    pairs = SAMPLES * crops
    print(f"{pairs} verdicts together: {together * 1e3:.0f} ms")
    print(f"against one at a time: {alone * pairs / together:.0f} times faster")
    print(f"against the yield response alone (the floor): {together / floor:.0f} times its time")


if __name__ == "__main__":
    main()
