"""A picture with a linear scale on each side, as SVG that is told in attributes alone.

A page whose policy allows no style inside it shows such an element as it is. What is drawn keeps to
the units of the scales until the picture is finished, so that the scales can be set at the end. The
plotting libraries at hand would take more memory and more time than all else that a page needs.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal, NamedTuple
from xml.etree import ElementTree as ET

INK, STRONG, SOFT, BAND, FAINT = "#1d2b2a", "#9a4a12", "#5f7470", "#d5e2dd", "#e9e6df"
"""Text and lines; what is too much; what is beside; what suits; the ground of a scale. In grey they
lie apart: 15, 33, 43, 87 and 90 % of white."""

WIDTH = 340.0
"""Of a picture, in its own units: that many CSS pixels on a small phone."""

DASHES, DOTS, DASH_DOT = "6 2", "2 2", "6 2 1 2"
"""Strokes and gaps, in widths of the line."""

NAME, MARK = 12.0, 11.5
"""Size of the letters of a scale's name, and of its figures."""

_MOST_STEPS = 5
"""Of a scale; more are not read."""
_STEPS = (1.0, 2.0, 2.5, 3.0, 4.0, 5.0, 10.0)
_TICK, _GAP, _LINE = 3.5, 3.5, 15.0
"""Length of a tick, room behind it, and height of a line of letters."""
_HANDLE = 26.0
"""Length of the sample of a line in the key."""
_BESIDE = 6.0
"""Room between that and its name."""
_RISE = 0.36
"""How far the middle of small letters is above their foot, in their size."""

Shape = Literal["circle", "square", "diamond", "cross"]
Anchor = Literal["start", "middle", "end"]
_Draw = Callable[[ET.Element], object]


class _Entry(NamedTuple):
    """A line of the key: its words, and how what they name looks."""

    label: str
    line: dict[str, str]
    sign: tuple[Shape, float, dict[str, str]] | None


@dataclass
class Scale:
    """One side of a plot: its ends, what is marked on it, and its name."""

    ends: tuple[float, float] = (0.0, 1.0)
    name: str = ""
    ticks: Sequence[float] | None = None
    labels: Sequence[str] | None = None
    size: float = MARK
    whole: bool = False
    bare: bool = False
    """Whether it has neither line nor ticks, as labels tell enough."""

    def marked(self) -> Sequence[float]:
        """Return where the scale is marked: as set, or in few even steps."""
        return even_steps(*self.ends, whole=self.whole) if self.ticks is None else self.ticks


def even_steps(low: float, high: float, *, whole: bool = False) -> list[float]:
    """Return round figures from end to end of a scale, five steps at most.

    Examples
    --------
    >>> even_steps(0, 6)
    [0.0, 2.0, 4.0, 6.0]
    >>> even_steps(0, 0.9)
    [0.0, 0.2, 0.4, 0.6, 0.8]
    >>> even_steps(0, 12, whole=True)
    [0.0, 3.0, 6.0, 9.0, 12.0]
    """
    decade = 10.0 ** math.floor(math.log10((high - low) / _MOST_STEPS))
    step = next(
        step * decade
        for step in _STEPS
        if (high - low) / (step * decade) <= _MOST_STEPS * (1 + 1e-9)
        and (not whole or (step * decade).is_integer())
    )
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [float(f"{place * step:.9g}") for place in range(first, last + 1)]


@dataclass
class Plot:
    """What is drawn between two scales.

    Attributes
    ----------
    height, left, right, top, bottom : float
        Of the picture, and the room beside what is between the scales; in the units of
        :data:`WIDTH`.
    number : callable
        Writes a figure of a scale for people.
    x, y : Scale
        Below, and at the left.
    """

    height: float
    left: float
    right: float
    top: float
    bottom: float
    number: Callable[[float], str]
    x: Scale = field(default_factory=Scale)
    y: Scale = field(default_factory=Scale)
    _ground: list[_Draw] = field(default_factory=list)
    _lines: list[_Draw] = field(default_factory=list)
    _signs: list[_Draw] = field(default_factory=list)
    _texts: list[_Draw] = field(default_factory=list)
    _key: list[_Entry] = field(default_factory=list)

    def _at(self, x: float, y: float) -> tuple[float, float]:
        """Return the place of a point in the picture."""
        (x_low, x_high), (y_low, y_high) = self.x.ends, self.y.ends
        wide, high = self._box()
        return (
            self.left + (x - x_low) / (x_high - x_low) * wide,
            self.height - self.bottom - (y - y_low) / (y_high - y_low) * high,
        )

    def _box(self) -> tuple[float, float]:
        return WIDTH - self.left - self.right, self.height - self.top - self.bottom

    def area(self, points: Iterable[tuple[float, float]], fill: str, rim: float = 0.0) -> None:
        """Fill what lies within some corners; with a white rim, where it has a width."""
        corners = list(points)
        edge = {"stroke": "#ffffff", "stroke-width": _short(rim)} if rim else {}

        def draw(into: ET.Element) -> None:
            _add(into, "path", d=f"{self._path(corners)}z", fill=fill, **edge)

        self._ground.append(draw)

    def bar(
        self, row: float, start: float, length: float, thick: float, fill: str, rim: float = 1.0
    ) -> None:
        """Draw a bar along the scale below, in the middle of a row."""
        low, high, end = row - thick / 2, row + thick / 2, start + length
        self.area(((start, low), (end, low), (end, high), (start, high)), fill, rim)

    def band(self, low: float, high: float, *, upright: bool = False) -> None:
        """Shade what suits: from a figure to another of the scale at the left, or of that below."""

        def draw(into: ET.Element) -> None:
            (x_low, x_high), (y_low, y_high) = self.x.ends, self.y.ends
            ends = (low, high, y_low, y_high) if upright else (x_low, x_high, low, high)
            (x, bottom), (end, y) = self._at(ends[0], ends[2]), self._at(ends[1], ends[3])
            _add(into, "rect", x=x, y=y, width=end - x, height=bottom - y, fill=BAND)

        self._ground.append(draw)

    def line(
        self,
        points: Iterable[tuple[float, float]],
        colour: str = INK,
        width: float = 1.8,
        dash: str = "",
        faint: float = 1.0,
        label: str = "",
        sign: tuple[Shape, float] | None = None,
    ) -> None:
        """Draw a line from point to point; a label names it in the key."""
        corners = list(points)
        told = {"fill": "none", "stroke": colour, "stroke-width": _short(width)}
        told |= _dashed(dash, width)
        if faint < 1:
            told["stroke-opacity"] = _short(faint, 2)
        self._lines.append(lambda into: _add(into, "path", d=self._path(corners), **told))
        if sign:
            for x, y in corners:
                self.sign(x, y, *sign, colour)
        if label:
            self._key.append(_Entry(label, told, (*sign, {"fill": colour}) if sign else None))

    def rule(
        self, value: float, colour: str, width: float, dash: str = "", *, upright: bool = False
    ) -> None:
        """Draw a straight line at a figure of the scale at the left, or of that below."""
        told = {"stroke": colour, "stroke-width": _short(width)} | _dashed(dash, width)

        def draw(into: ET.Element) -> None:
            (x_low, x_high), (y_low, y_high) = self.x.ends, self.y.ends
            ends = (
                ((value, y_low), (value, y_high)) if upright else ((x_low, value), (x_high, value))
            )
            _add(into, "path", d=self._path(ends), **told)

        self._lines.append(draw)

    def sign(
        self,
        x: float,
        y: float,
        shape: Shape,
        size: float,
        colour: str,
        *,
        rim: bool = False,
        hollow: bool = False,
        label: str = "",
    ) -> None:
        """Draw a sign at a point, so many units wide; with a white rim, or open in its middle."""
        told = {"fill": "#ffffff" if hollow else colour}
        if rim or hollow:
            told |= {
                "stroke": "#ffffff" if rim else colour,
                "stroke-width": "2" if hollow else "1",
            }
        self._signs.append(lambda into: _sign(into, *self._at(x, y), shape, size, told))
        if label:
            self._key.append(_Entry(label, {}, (shape, size, told)))

    def text(
        self,
        x: float,
        y: float,
        said: str,
        *,
        colour: str = INK,
        size: float = NAME,
        bold: bool = False,
        anchor: Anchor = "start",
        stands: Literal["foot", "middle", "head"] = "foot",
        shift: tuple[float, float] = (0.0, 0.0),
    ) -> None:
        """Write at a point, which is at an end of the words or in their middle.

        Parameters
        ----------
        stands : {"foot", "middle", "head"}
            What of the letters is at the point.
        shift : tuple of float
            To the right and down, in the units of :data:`WIDTH`.
        """
        down = {"foot": -0.25, "middle": _RISE, "head": 0.95}[stands] * size

        def draw(into: ET.Element) -> None:
            across, deep = self._at(x, y)
            _text(into, across + shift[0], deep + shift[1] + down, said, size, anchor, colour, bold)

        self._texts.append(draw)

    def _path(self, corners: Iterable[tuple[float, float]]) -> str:
        return _through(self._at(*each) for each in corners)

    def svg(self, name: str, title: str, told: str, *, key_above: bool = False) -> str:
        """Return the picture as an SVG element with its text alternative.

        Parameters
        ----------
        name : str
            Begins every id in it.
        title, told : str
            What it shows, and the same in words with its figures.
        key_above : bool
            Whether the key is above what is drawn, and not in its upper right corner.
        """
        wide, high = self._box()
        root = ET.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "viewBox": f"0 0 {_short(WIDTH)} {_short(self.height)}",
                "role": "img",
                "aria-labelledby": f"{name}-title",
                "aria-describedby": f"{name}-desc",
            },
        )
        for kind, text in (("title", title), ("desc", told)):
            _add(root, kind, id=f"{name}-{kind}").text = text
        clip = _add(root, "clipPath", id=f"{name}-clip")
        _add(clip, "rect", x=self.left, y=self.top, width=wide, height=high)
        within = _add(root, "g", **{"clip-path": f"url(#{name}-clip)"})
        for draw in (*self._ground, *self._lines):
            draw(within)
        self._scales(root)
        for draw in (*self._signs, *self._texts):
            draw(root)
        self._write_key(root, above=key_above)
        return ET.tostring(root, encoding="unicode")

    def _scales(self, into: ET.Element) -> None:
        foot, right = self.height - self.bottom, WIDTH - self.right
        corner = (self.left, foot)
        sides = (((right, foot), self.x), ((self.left, self.top), self.y))
        lines = [_through([corner, end]) for end, scale in sides if not scale.bare]
        below = foot + _TICK + _GAP + 0.76 * self.x.size
        for value, label in self._labelled(self.x):
            x, _ = self._at(value, self.y.ends[0])
            if not self.x.bare:
                lines.append(_through([(x, foot), (x, foot + _TICK)]))
            _text(into, x, below, label, self.x.size, "middle")
        beside = self.left - _TICK - _GAP
        for value, label in self._labelled(self.y):
            _, y = self._at(self.x.ends[0], value)
            if not self.y.bare:
                lines.append(_through([(self.left - _TICK, y), (self.left, y)]))
            rows = label.split("\n")
            for place, row in enumerate(rows):
                down = (place - (len(rows) - 1) / 2) * 1.2 * self.y.size + _RISE * self.y.size
                _text(into, beside, y + down, row, self.y.size, "end")
        if lines:
            _add(into, "path", d="".join(lines), stroke=SOFT, **{"stroke-width": "0.8"})
        if self.x.name:
            middle = (self.left + right) / 2
            _text(into, middle, below + _LINE + 1, self.x.name, NAME, "middle")
        if self.y.name:
            middle = (self.top + foot) / 2
            turned = _text(into, 0, 0, self.y.name, NAME, "middle")
            turned.set("transform", f"translate({_short(NAME)} {_short(middle)}) rotate(-90)")

    def _labelled(self, scale: Scale) -> Iterator[tuple[float, str]]:
        marked = scale.marked()
        return zip(marked, scale.labels or map(self.number, marked), strict=True)

    def _write_key(self, into: ET.Element, *, above: bool) -> None:
        """Name the lines and signs that have a label: a sample of each, and its name."""
        anchor: Anchor
        if above:
            y, line, anchor = self.top - _LINE * len(self._key), self.left, "start"
            word = line + _HANDLE + _BESIDE
        else:
            y, line, anchor = self.top, WIDTH - self.right - _HANDLE, "end"
            word = line - _BESIDE
        for label, look, sign in self._key:
            middle = y + _LINE / 2
            if look:
                sample = _through([(line, middle), (line + _HANDLE, middle)])
                _add(into, "path", d=sample, **look)
            if sign:
                _sign(into, line + _HANDLE / 2, middle, *sign)
            _text(into, word, middle + _RISE * MARK, label, MARK, anchor)
            y += _LINE


def _add(into: ET.Element, tag: str, **told: str | float) -> ET.Element:
    """Add an element; a figure is cut to what can be seen."""
    told_as = {key: each if isinstance(each, str) else _short(each) for key, each in told.items()}
    return ET.SubElement(into, tag, told_as)


def _text(
    into: ET.Element,
    x: float,
    y: float,
    said: str,
    size: float,
    anchor: Anchor,
    colour: str = INK,
    bold: bool = False,
) -> ET.Element:
    look = {"font-size": f"{_short(size)}px", "text-anchor": anchor, "fill": colour}
    if bold:
        look["font-weight"] = "bold"
    written = _add(into, "text", x=x, y=y, **look)
    written.text = said
    return written


def _sign(
    into: ET.Element, x: float, y: float, shape: Shape, size: float, told: dict[str, str]
) -> None:
    half = size / 2
    if shape == "circle":
        _add(into, "circle", cx=x, cy=y, r=half, **told)
        return
    corners = {
        "square": ((-1, -1), (1, -1), (1, 1), (-1, 1)),
        "diamond": ((0, -1.4), (1.4, 0), (0, 1.4), (-1.4, 0)),
        "cross": ((-1, -0.5), (-0.5, -1), (0, -0.5), (0.5, -1), (1, -0.5), (0.5, 0),
                  (1, 0.5), (0.5, 1), (0, 0.5), (-0.5, 1), (-1, 0.5), (-0.5, 0)),
    }[shape]  # fmt: skip
    path = _through((x + half * across, y + half * down) for across, down in corners)
    _add(into, "path", d=f"{path}z", **told)


def _through(points: Iterable[tuple[float, float]]) -> str:
    """Return the path from point to point."""
    return "M" + "L".join(f"{_short(x)} {_short(y)}" for x, y in points)


def _dashed(dash: str, width: float) -> dict[str, str]:
    """Return how a line is broken, in the units of the picture; nothing for a whole one."""
    parts = " ".join(_short(float(each) * width) for each in dash.split())
    return {"stroke-dasharray": parts} if parts else {}


def _short(number: float, digits: int = 1) -> str:
    return f"{number:.{digits}f}".removesuffix(".0")
