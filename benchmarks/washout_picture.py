"""Draw the default washout curves beside what was published, into ``docs/washout.svg``.

Run with ``python -m benchmarks.washout_picture``; it also prints the root-mean-square difference
to each published set, as it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from saltcalc.data.washout import washout_defaults
from saltcalc.science import cycles
from saltcalc.science.flush import LAYERS
from saltcalc.science.pass_days import Timing, course

PICTURE = Path(__file__).parents[1] / "docs" / "washout.svg"

WATER_SHARE = {"peat": 0.70, "bark": 0.50, "coir": 0.70, "compost": 0.56, "mineral": 0.38}
"""Water held at container capacity, share of the volume, to turn depths into capacities."""

PASS = 0.2
"""Container capacities a pass."""

CAPACITIES = np.arange(0, 8.01, PASS)

HOFFMAN_COEFFICIENT = {"organic": 0.45, "clay_loam": 0.3}
"""Coefficient k of Hoffman's hyperbola by soil under ponding, Hoffman (1980), from memory."""

Points = Sequence[tuple[float, float]]

PUBLISHED: dict[str, tuple[str, Points]] = {
    "Carrion 2005, composts": ("compost", [(8.0, 0.16), (8.0, 0.11), (8.0, 0.23)]),
    "Handbook 60, rule for soil": (
        "mineral",
        [
            (depth / WATER_SHARE["mineral"], left)
            for depth, left in ((0.5, 0.5), (1, 0.2), (2, 0.1))
        ],
    ),
    "Hoffman 1980, organic soil": (
        "peat",
        [
            (
                depth / WATER_SHARE["peat"],
                HOFFMAN_COEFFICIENT["organic"] / depth,
            )
            for depth in (0.75, 1.0, 1.5, 2.0)
        ],
    ),
    "Hoffman 1980, clay loam": (
        "mineral",
        [
            (
                depth / WATER_SHARE["mineral"],
                HOFFMAN_COEFFICIENT["clay_loam"] / depth,
            )
            for depth in (0.5, 1.0, 1.5, 2.0)
        ],
    ),
}

COLOURS = {
    "peat": "#7a4b20",
    "bark": "#b5642c",
    "coir": "#b08d2a",
    "compost": "#3d7a3a",
    "mineral": "#4a5f8f",
    "well mixed": "#777777",
}
DASHES = {
    "peat": "", "bark": "8 3", "coir": "2 3", "compost": "12 4", "mineral": "6 3 2 3",
    "well mixed": "1 4",
}  # fmt: skip
MARKS = ("circle", "square", "diamond", "triangle")

WIDTH, HEIGHT, LEFT, BOTTOM, TOP, RIGHT = 760, 440, 70, 50, 20, 230


def default_curve(medium_class: str) -> np.ndarray:
    """Salt left after each pass with the default figures, half an hour of rest between passes."""
    row = washout_defaults()[medium_class]
    pots = cycles.Pots.of(
        row.efficiency.value,
        row.immobile_water_fraction.value,
        row.mass_transfer_coefficient.value,
        row.sorbed_ratio.value,
        LAYERS,
    )
    one = cycles.pass_map(pots, PASS, 0.25)
    start = cycles.even_excess(pots, 1.0, 0.0)
    endless = Timing(0.25, 0.5, 1_000_000)
    washed = course(pots, one, start, endless, CAPACITIES.size - 1, PASS)
    return np.concatenate([[1.0], washed.settled[0]])


def differences() -> dict[str, float]:
    """Root-mean-square difference of the default curve to each published set, share of the salt."""
    return {
        name: float(
            np.sqrt(
                np.mean(
                    [
                        (np.interp(x, CAPACITIES, default_curve(medium_class)) - y) ** 2
                        for x, y in points
                    ]
                )
            )
        )
        for name, (medium_class, points) in PUBLISHED.items()
    }


def _x(capacities: float) -> float:
    return LEFT + capacities / 8 * (WIDTH - LEFT - RIGHT)


def _y(left: float) -> float:
    return TOP + (1 - left) * (HEIGHT - TOP - BOTTOM)


def _mark(kind: str, x: float, y: float, colour: str) -> str:
    if kind == "circle":
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" {_outline(colour)}/>'
    shapes = {
        "square": [(-5, -5), (5, -5), (5, 5), (-5, 5)],
        "diamond": [(0, -6), (6, 0), (0, 6), (-6, 0)],
        "triangle": [(0, -6), (6, 5), (-6, 5)],
    }
    points = " ".join(f"{x + dx:.1f},{y + dy:.1f}" for dx, dy in shapes[kind])
    return f'<polygon points="{points}" {_outline(colour)}/>'


def _outline(colour: str) -> str:
    return f'fill="none" stroke="{colour}" stroke-width="2"'


def _text(x: float, y: float, words: str, anchor: str = "start", colour: str = "#000") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{colour}">{words}</text>'


def picture() -> str:
    """Return the picture as SVG."""
    curves = {name: default_curve(name) for name in WATER_SHARE} | {
        "well mixed": np.exp(-CAPACITIES)
    }
    gaps = differences()
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        'font-family="sans-serif" font-size="12">',
        "<title>Salt left against water drained: default curves and published figures</title>",
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="white"/>',
    ]
    parts += [_text(_x(tick), HEIGHT - BOTTOM + 18, f"{tick}", "middle") for tick in range(9)]
    for tick in (0, 0.2, 0.4, 0.6, 0.8, 1.0):
        parts.append(
            f'<line x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{_y(tick):.1f}" y2="{_y(tick):.1f}" '
            'stroke="#ddd"/>'
        )
        parts.append(_text(LEFT - 8, _y(tick) + 4, f"{tick:g}", "end"))
    middle = (LEFT + WIDTH - RIGHT) / 2
    parts += [
        _text(middle, HEIGHT - 12, "water drained, container capacities", "middle"),
        f'<g transform="rotate(-90 18 {HEIGHT / 2})">'
        + _text(18, HEIGHT / 2, "share of the salt left (pure water)", "middle")
        + "</g>",
    ]
    row, key = TOP + 10, WIDTH - RIGHT
    for name, curve in curves.items():
        path = " ".join(f"{_x(x):.1f},{_y(y):.1f}" for x, y in zip(CAPACITIES, curve, strict=True))
        style = f'{_outline(COLOURS[name])} stroke-dasharray="{DASHES[name]}"'
        parts.append(f'<polyline points="{path}" {style}/>')
        parts.append(f'<line x1="{key + 15}" x2="{key + 50}" y1="{row}" y2="{row}" {style}/>')
        parts.append(_text(key + 56, row + 4, name))
        row += 18
    for mark, (name, (medium_class, points)) in zip(MARKS, PUBLISHED.items(), strict=True):
        row += 16
        colour = COLOURS[medium_class]
        parts += [_mark(mark, _x(x), _y(y), colour) for x, y in points]
        parts += [_mark(mark, key + 22, row, colour), _text(key + 36, row + 4, name)]
        row += 15
        gap = f"against {medium_class}: RMSE {gaps[name]:.2f}"
        parts.append(_text(key + 36, row + 4, gap, colour="#555"))
    return "\n".join([*parts, "</svg>", ""])


if __name__ == "__main__":
    PICTURE.parent.mkdir(exist_ok=True)
    PICTURE.write_text(picture(), encoding="utf-8")
    for label, gap in differences().items():
        print(f"{label}: RMSE {gap:.3f} of the salt")
