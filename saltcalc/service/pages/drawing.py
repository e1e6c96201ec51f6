"""A picture of a page, and the plot in which it is drawn."""

from __future__ import annotations

import math
from typing import NamedTuple

from saltcalc.service.pages.plot import Plot
from saltcalc.words.figures import figure as number


class Picture(NamedTuple):
    """A picture as SVG, with what is above and below it."""

    id: str
    title: str
    told: str
    svg: str


def plot(
    height: float, left: float = 50, right: float = 10, top: float = 8, bottom: float = 44
) -> Plot:
    """Return a plot to draw in, with the figures of its scales as the reader writes them.

    Parameters
    ----------
    height : float
        In the units of a picture's width, as all that follow.
    left, right, top, bottom : float
        Room for what is beside the scales.
    """
    return Plot(height, left, right, top, bottom, lambda value: number(value, 4))


def finished(plot: Plot, name: str, title: str, told: str, *, key_above: bool = False) -> Picture:
    """Return what was drawn as a picture; see :meth:`Plot.svg`."""
    return Picture(name, title, told, plot.svg(name, title, told, key_above=key_above))


def rounded_up(value: float) -> float:
    """Return where an axis ends that holds a value: the next 1, 2, 2.5, 4, 5 or 8 of its decade."""
    decade = 10.0 ** math.floor(math.log10(value))
    return next(step * decade for step in (1, 2, 2.5, 4, 5, 8, 10) if step * decade >= value)
