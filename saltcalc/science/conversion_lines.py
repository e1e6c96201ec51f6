"""Published conversions between readings and their basis, as lines through their points."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from itertools import product
from typing import NamedTuple

import numpy as np

from saltcalc.data.extraction import (
    MEDIUM_KINDS,
    EcConversion,
    ec_conversions,
    extraction_methods,
)
from saltcalc.science._arrays import Codes, Floats


class Lines(NamedTuple):
    """Conversions as lines through (0, 0) and their points, a row a method and kind of medium.

    The first of a row governs; a row of fewer than the others is filled up with that one. Pieces
    lie flat, so many a conversion and so many a row.
    """

    x: Floats
    """Where each piece begins, infinity behind the last, shape (rows, conversions, pieces)."""
    x0: Floats
    y0: Floats
    slope: Floats
    """Of the pieces, flat; the last one is a point."""
    last: Floats
    beyond: Floats
    """The last point, and the slope from (0, 0) through it, shape (rows, conversions)."""
    first: Floats
    """Slope of the first piece of the governing one, shape (rows,)."""
    scatter: Floats
    """Of the governing one, shape (rows,)."""
    others: Codes
    """How many others there are, at least 1, shape (rows,)."""

    @classmethod
    def of(cls, rows: Sequence[Sequence[EcConversion]], *, back: bool = False) -> Lines:
        """Lay conversions out, from the reading to the basis or back."""
        most = max(map(len, rows))
        lines = [[*row, *[row[0]] * (most - len(row))] for row in rows]
        pieces = 1 + max(len(line.points) for row in rows for line in row)
        x = np.full((len(rows), most, pieces), np.inf)
        y, slope = np.zeros(x.shape), np.zeros(x.shape)
        last, beyond = np.empty(x.shape[:2]), np.empty(x.shape[:2])
        for place in np.ndindex(*x.shape[:2]):
            points = np.array([(0.0, 0.0), *lines[place[0]][place[1]].points]).T
            xs, ys = points[::-1] if back else points
            x[place][: xs.size], y[place][: xs.size] = xs, ys
            slope[place][: xs.size - 1] = np.diff(ys) / np.diff(xs)
            last[place], beyond[place] = xs[-1], ys[-1] / xs[-1]
        return cls(
            x=x,
            x0=x.ravel(),
            y0=y.ravel(),
            slope=slope.ravel(),
            last=last,
            beyond=beyond,
            first=slope[:, 0, 0].copy(),
            scatter=np.array([row[0].scatter for row in rows]),
            others=np.array([max(len(row) - 1, 1) for row in rows]),
        )

    def along(self, x: Floats, row: Codes) -> Floats:
        """Go along each conversion of a row, shape (..., conversions); beyond its points too."""
        _, lines, pieces = self.x.shape
        start = (row * (lines * pieces))[..., np.newaxis] + np.arange(0, lines * pieces, pieces)
        given = x[..., np.newaxis]
        piece = start + (given[..., np.newaxis] >= self.x[row][..., 1:]).sum(axis=-1)
        on_line = self.slope[piece] * (given - self.x0[piece]) + self.y0[piece]
        return np.where(given > self.last[row], given * self.beyond[row], on_line)


@cache
def _rows() -> list[tuple[EcConversion, ...]]:
    pairs = product(extraction_methods(), MEDIUM_KINDS)
    return [ec_conversions(method.id, kind) for method, kind in pairs]


@cache
def forward() -> Lines:
    """Return the lines from readings to the basis of their method."""
    return Lines.of(_rows())


@cache
def backward() -> Lines:
    """Return the lines from the basis of a method to its readings."""
    return Lines.of(_rows(), back=True)


@cache
def line_of(conversion: EcConversion) -> Lines:
    """Return the line of one conversion, from readings to the basis."""
    return Lines.of([[conversion]])
