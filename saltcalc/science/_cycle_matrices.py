"""Maps of a pass and what they act on, laid out as matrices and rows, to be multiplied at once.

Cases have one axis, or three: kinds, the rows of each, and the containers drawn for each row.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Floats


def by_map(part: npt.ArrayLike, shape: tuple[int, ...]) -> npt.NDArray[Any]:
    """Lay figures of cases out by the maps that stand for them, shape (kinds, size, rows)."""
    figures = np.broadcast_to(np.asarray(part), shape)
    return figures.reshape(*(1,) * (3 - len(shape)), *shape).swapaxes(1, 2)


def in_rows(excess: Floats, shape: tuple[int, ...]) -> Floats:
    """Lay the excess of each case out in a row, shape (kinds, size, rows, parts)."""
    parts = 2 * len(excess)
    full = np.broadcast_to(excess, (*excess.shape[:2], *shape))
    full = full.reshape(parts, *(1,) * (3 - len(shape)), *shape)
    return np.ascontiguousarray(full.transpose(1, 3, 2, 0))


def top_rows(cycle: Floats, layers: int) -> Floats:
    """Lay out what becomes of salt in the top layer, shape (kinds, size, 2, parts)."""
    maps = cycle.reshape(*cycle.shape[:3], *(1,) * (6 - cycle.ndim), *cycle.shape[3:])[..., 0, :]
    rows = np.zeros((*maps.shape[3:], 2, layers, 2))
    rows[:, :, :, : len(maps)] = maps[:layers].transpose(3, 4, 2, 0, 1)
    return rows.reshape(*maps.shape[3:], 2, 2 * layers)


def matrix(top_rows: Floats) -> Floats:
    """Write a map out for all layers, each like the top one, shape (kinds, size, parts, parts)."""
    parts = top_rows.shape[3]
    full = np.zeros((*top_rows.shape[:2], parts, parts))
    for top in range(0, parts, 2):
        full[:, :, top : top + 2, top:] = top_rows[..., : parts - top]
    return full
