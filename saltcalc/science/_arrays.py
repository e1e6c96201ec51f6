"""The array types of this package, and checks shared by the science modules."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
"""Figures; NaN where one is missing."""

Flags = npt.NDArray[np.bool_]
"""Yes or no."""

Codes = npt.NDArray[np.signedinteger[Any]]
"""Whole numbers: places in a list of names or of rows, and counts."""


def one_shape(*parts: npt.ArrayLike, least: tuple[int, ...] = ()) -> tuple[int, ...]:
    """Return the shape that figures, and the least one, broadcast to."""
    first, *others = {least, *map(np.shape, parts)} - {()} or {()}
    return np.broadcast_shapes(first, *others) if others else first


def side_by_side(parts: Iterable[npt.ArrayLike], shape: tuple[int, ...] = ()) -> Floats:
    """Lay out figures along a last axis, one place a figure; they broadcast, to the shape too."""
    figures = [np.asarray(part) for part in parts]
    whole = one_shape(*figures, least=shape)
    table = np.empty((*whole, len(figures)))
    for place, part in enumerate(figures):
        table[..., place] = part
    return table


def figures_of(parts: tuple[Any, ...]) -> list[Any]:
    """Return every figure of nested records in a row."""
    row: list[Any] = []
    for each in parts:
        if isinstance(each, tuple):
            row += figures_of(each)
        else:
            row.append(each)
    return row


def of_columns(parts: Any, columns: Iterator[Floats]) -> Any:
    """Return nested records with columns in the place of their figures, one after another."""
    if isinstance(parts, tuple):
        return type(parts)(*[of_columns(each, columns) for each in parts])
    return next(columns)


def in_shape(values: npt.ArrayLike, shape: tuple[int, ...]) -> Any:
    """Return ``values`` spread over a shape; what has it stays as it is."""
    array = np.asarray(values)
    if array.shape == shape:
        return array
    whole = np.empty(shape, array.dtype)
    whole[...] = array
    return whole


def alike(*parts: npt.ArrayLike) -> tuple[Any, ...]:
    """Return arrays spread over one shape."""
    arrays = [np.asarray(part) for part in parts]
    shape = one_shape(*arrays)
    return tuple(in_shape(array, shape) for array in arrays)


def flagged(count: int, places: Codes) -> Flags:
    """Return so many flags, those at some places set."""
    flags = np.zeros(count, dtype=bool)
    flags[places] = True
    return flags


def picked(table: npt.NDArray[Any], places: Codes) -> Any:
    """Pick, in each row along the last axis, what stands at a place of its own."""
    rows = table.reshape(-1, table.shape[-1])
    return rows[np.arange(len(rows)), places.reshape(-1)].reshape(places.shape)


def filled(values: npt.ArrayLike, missing: float) -> Floats:
    """Return ``values`` with a figure in place of the missing ones (NaN); infinity stays."""
    array = np.asarray(values, dtype=np.float64)
    return np.where(np.isnan(array), missing, array)


def least_and_most(figures: npt.NDArray[Any]) -> tuple[float, float]:
    """Return the least and the greatest figure, to hold against bounds about zero."""
    if figures.size == 1:
        return figures.item(), figures.item()
    least, most = (each.reduce(figures, axis=None, initial=0) for each in (np.fmin, np.fmax))
    return float(least), float(most)


def not_negative(values: npt.ArrayLike, name: str) -> Floats:
    """Return ``values`` as floats.

    Raises
    ------
    ValueError
        If one is negative; missing values (NaN) pass.
    """
    array = np.asarray(values, dtype=np.float64)
    least = array.item() if array.size == 1 else np.fmin.reduce(array, axis=None, initial=0.0)
    if least < 0:
        raise ValueError(f"{name} must not be negative")
    return array


def blocks(count: int, size: int) -> Iterator[slice]:
    """Yield the places of ``count`` samples, at most ``size`` at a time."""
    for start in range(0, count, size):
        yield slice(start, min(start + size, count))
