"""The numeric core in one call against plain Python with a pint quantity a value.

The same job twice: a reading [µS/cm] with its temperature to the EC of the saturated extract with
its interval, the yield of a crop there and the osmotic potential. Figures must agree to 1e-9. The
plain loop runs a subset, and the ratio is by the CPU time of one sample.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import numpy as np

from saltcalc.data.extraction import MEDIUM_KINDS, ec_conversions, extraction_methods, method_codes
from saltcalc.science.crop_response import relative_yield
from saltcalc.science.extraction import to_both_bases
from saltcalc.science.osmotic import osmotic_potential_handbook60
from saltcalc.science.temperature import ec25_handbook60
from saltcalc.science.uncertainty import Z_HIGH
from saltcalc.unit_registry import registry

SAMPLES, IN_PLAIN, RUNS = 100_000, 300, 5
METHODS = ("saturated_media_extract", "one_to_two", "one_to_five")

Columns = dict[str, np.ndarray]


def samples(count: int) -> Columns:
    """Invented readings of soilless media by three methods, for crops of every tolerance."""
    rng = np.random.default_rng(23)
    known = method_codes()
    return {
        "ec": 10 ** rng.uniform(2.0, 4.0, count),  # µS/cm
        "temperature": rng.uniform(10.0, 35.0, count),
        "method": rng.choice([known[each] for each in METHODS], count),
        "threshold": rng.uniform(1.0, 8.0, count),
        "slope": rng.uniform(3.0, 20.0, count),
    }


def by_arrays(rows: Columns) -> np.ndarray:
    """Return EC, its low and high [dS/m], yield [%] and potential [kPa], shape (5, samples)."""
    ec = ec25_handbook60(rows["ec"] * 1e-3, rows["temperature"])
    found, _ = to_both_bases(ec, rows["method"], MEDIUM_KINDS.index("soilless"))
    response = relative_yield(found.value, rows["threshold"], rows["slope"])
    return np.array([*found, response, osmotic_potential_handbook60(found.value)])


def by_quantities(rows: Columns) -> np.ndarray:
    """Do what :func:`by_arrays` does, sample by sample, each value a quantity of pint."""
    unit = registry.Quantity
    siemens, percent, celsius = registry.dS / registry.m, registry.percent, registry.delta_degC
    microsiemens = registry.uS / registry.cm

    def line(points: Any) -> list[Any]:
        return [(unit(x, siemens), unit(y, siemens)) for x, y in ((0.0, 0.0), *points)]

    conversions = [ec_conversions(each.id, "soilless") for each in extraction_methods()]
    lines = [[line(each.points) for each in row] for row in conversions]

    def factor(temperature: Any) -> float:
        return 0.4470 + 1.4034 * math.exp(-float((temperature / unit(26.815, celsius)).magnitude))

    def along(points: Any, ec: Any) -> Any:
        for (x0, y0), (x1, y1) in pairwise(points):
            if ec <= x1:
                return y0 + (ec - x0) * ((y1 - y0) / (x1 - x0))
        return ec * (points[-1][1] / points[-1][0])

    def one(ec: float, temperature: float, method: int, threshold: float, slope: float) -> Any:
        warm = unit(temperature, celsius)
        at_25 = unit(ec, microsiemens).to(siemens) * (factor(warm) / factor(unit(25.0, celsius)))
        value, *others = (along(each, at_25) for each in lines[method])
        gaps = [math.log(float((each / value).to("").magnitude)) ** 2 for each in others]
        spread = conversions[method][0].scatter ** 2 + sum(gaps) / max(len(gaps), 1)
        ratio = math.exp(Z_HIGH * math.sqrt(spread))
        over = value - unit(threshold, siemens)
        left = unit(100.0, percent) - (unit(slope, percent / siemens) * over).to(percent)
        held = min(max(left, unit(0.0, percent)), unit(100.0, percent))
        potential = (unit(-0.36, registry.atm / siemens) * value).to(registry.kPa)
        shown = (value.to(siemens), (value / ratio).to(siemens), (value * ratio).to(siemens))
        return [float(each.magnitude) for each in (*shown, held, potential)]

    return np.array([one(*row) for row in zip(*(x.tolist() for x in rows.values()), strict=True)]).T


def _least(work: Callable[[], object]) -> float:
    taken = []
    for _ in range(RUNS):
        began = time.process_time()
        work()
        taken.append(time.process_time() - began)
    return min(taken)


def main() -> None:
    rows = samples(SAMPLES)
    few = {name: column[:IN_PLAIN] for name, column in rows.items()}
    np.testing.assert_allclose(by_quantities(few), by_arrays(few), rtol=1e-9)
    arrays = _least(lambda: by_arrays(rows)) / SAMPLES
    plain = _least(lambda: by_quantities(few)) / IN_PLAIN
    print(f"  one call, {SAMPLES} samples:       {1e6 * arrays:7.2f} µs a sample")
    print(
        f"  plain Python, pint a value: {1e6 * plain:7.0f} µs; {plain / arrays:.0f} times (aim 500)"
    )


if __name__ == "__main__":
    main()
