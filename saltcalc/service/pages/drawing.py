"""The look of the pictures, and how one becomes SVG that is in a page."""

from __future__ import annotations

import io
import math
import os
import re
from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple
from xml.etree import ElementTree as ET

from saltcalc.words.figures import figure as number

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.axis import Axis
    from matplotlib.figure import Figure

INK, STRONG, SOFT, BAND, FAINT = "#1d2b2a", "#9a4a12", "#5f7470", "#d5e2dd", "#e9e6df"
"""Text and lines; what is too much; what is beside; what suits; the ground of a scale. In grey they
lie apart: 15, 33, 43, 87 and 90 % of white."""

WIDTH = 340
"""Of a picture, in its own units: that many CSS pixels on a small phone."""

LEGEND_ROW = 18
"""Room for one line of a legend."""

_MOST_STEPS = 5
"""Of an axis; each costs time, and more are not read."""

_STYLE: dict[Any, Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "saltcalc",
    "font.size": 12,
    "text.color": INK,
    "axes.labelcolor": INK,
    "axes.edgecolor": SOFT,
    "axes.linewidth": 0.8,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.labelsize": 12,
    "xtick.color": SOFT,
    "ytick.color": SOFT,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "xtick.labelsize": 11.5,
    "ytick.labelsize": 11.5,
}

_SVG = "http://www.w3.org/2000/svg"
_LINK = "http://www.w3.org/1999/xlink"
_DECIMALS = re.compile(r"-?\d+\.\d+")
_FONT = re.compile(r"(?:(italic) )?(?:(\d00|bold) )?([\d.]+)px .*")
_REFERRED_TO = re.compile(r"[pm][0-9a-f]{9,}")
"""Ids that something refers to; those of groups only name them."""
_POINTS = 72.0
ET.register_namespace("", _SVG)
ET.register_namespace("xlink", _LINK)


@cache
def library() -> type[Figure]:
    """Return matplotlib's figure, in this style; nothing else draws, and nothing changes the style.

    It is loaded with the first picture, or before the workers part, so that they share it.
    """
    # A machine's own fonts would make its pictures other than those of the next.
    os.environ.setdefault("MPL_IGNORE_SYSTEM_FONTS", "1")
    import matplotlib as mpl  # noqa: PLC0415 - who asks for JSON alone does not pay for it
    import matplotlib.backends.backend_svg  # noqa: PLC0415
    from matplotlib.figure import Figure  # noqa: PLC0415

    mpl.rcParams.update(_STYLE)
    return Figure


def canvas(
    height: float, left: float = 50, right: float = 10, top: float = 8, bottom: float = 44
) -> tuple[Figure, Axes]:
    """Return a picture to draw in, :data:`WIDTH` wide.

    Parameters
    ----------
    height : float
        In the units of :data:`WIDTH`, as all that follow.
    left, right, top, bottom : float
        Room for what is beside the axes.
    """
    drawn_by = library()
    from matplotlib.ticker import MaxNLocator  # noqa: PLC0415

    figure = drawn_by(figsize=(WIDTH / _POINTS, height / _POINTS))
    figure.patch.set_visible(False)
    axes = figure.subplots()
    figure.subplots_adjust(left / WIDTH, bottom / height, 1 - right / WIDTH, 1 - top / height)
    axes.patch.set_visible(False)
    for axis in (axes.xaxis, axes.yaxis):
        axis.set_major_locator(MaxNLocator(_MOST_STEPS))
        axis.set_major_formatter(lambda value, _: number(value, 4))
    return figure, axes


def in_whole_steps(axis: Axis) -> None:
    """Mark whole numbers alone on an axis of what is counted."""
    from matplotlib.ticker import MaxNLocator  # noqa: PLC0415

    axis.set_major_locator(MaxNLocator(_MOST_STEPS, integer=True))


def without_lines(axes: Axes, *sides: str) -> None:
    """Leave out the lines and marks of axes whose labels tell enough: "left", "bottom"."""
    for side in sides:
        axes.spines[side].set_visible(False)
        axes.tick_params(axis="y" if side == "left" else "x", length=0)


class Picture(NamedTuple):
    """A picture as SVG, with what is above and below it; without one where it is only told."""

    id: str
    title: str
    told: str
    svg: str = ""


def finished(figure: Figure, name: str, title: str, told: str) -> Picture:
    """Return a picture as an SVG element with its text alternative.

    A page whose policy allows no style inside it shows the element as it is: what would be styled
    is told in attributes.

    Parameters
    ----------
    figure : Figure
        As drawn.
    name : str
        Begins every id in it.
    title : str
        What it shows.
    told : str
        The same in words, with its figures.
    """
    drawn = io.StringIO()
    figure.savefig(drawn, format="svg", metadata={"Date": None, "Creator": None})
    root = ET.fromstring(drawn.getvalue())
    for metadata in root.findall(f"{{{_SVG}}}metadata"):
        root.remove(metadata)
    for node in root.iter():
        _plainly(node, name)
    _flatten(root)
    for size in ("width", "height", "version"):
        root.attrib.pop(size, None)
    root.set("role", "img")
    root.set("aria-labelledby", f"{name}-title")
    root.set("aria-describedby", f"{name}-desc")
    for place, (kind, text) in enumerate((("title", title), ("desc", told))):
        element = ET.Element(f"{{{_SVG}}}{kind}", {"id": f"{name}-{kind}"})
        element.text = text
        root.insert(place, element)
    return Picture(name, title, told, ET.tostring(root, encoding="unicode"))


def _flatten(parent: ET.Element) -> None:
    """Take out style sheets, white space, and groups that only name what they hold."""
    parent.text = parent.text if parent.text and parent.text.strip() else None
    kept: list[ET.Element] = []
    for child in list(parent):
        child.tail = None
        _flatten(child)
        if child.tag == f"{{{_SVG}}}g" and not child.attrib:
            kept += list(child)
        elif child.tag != f"{{{_SVG}}}style" and (child.tag != f"{{{_SVG}}}defs" or len(child)):
            kept.append(child)
    parent[:] = kept


def _plainly(node: ET.Element, name: str) -> None:
    """Tell the style of an element in attributes, with figures of one decimal."""
    for declared in filter(None, map(str.strip, node.attrib.pop("style", "").split(";"))):
        key, _, value = (each.strip() for each in declared.partition(":"))
        if key == "font" and (font := _FONT.fullmatch(value)):
            node.set("font-size", font[3])
            if font[2]:
                node.set("font-weight", font[2])
        elif key != "font":
            node.set(key, value)
    for key in ("d", "transform", "x", "y", "width", "height", "points"):
        if key in node.attrib:
            node.set(key, _DECIMALS.sub(_shorter, node.attrib[key]).replace("\n", ""))
    node.attrib.pop("font-family", None)
    if node.get("transform", "").startswith("rotate(-0 "):
        node.attrib.pop("transform")
    own = node.attrib.pop("id", None)
    if own is not None and _REFERRED_TO.fullmatch(own):
        node.set("id", f"{name}-{own}")
    for key, value in node.attrib.items():
        if "url(#" in value:
            node.set(key, value.replace("url(#", f"url(#{name}-"))
        elif key in ("href", f"{{{_LINK}}}href") and value.startswith("#"):
            node.set(key, f"#{name}-{value[1:]}")


def _shorter(number: re.Match[str]) -> str:
    return f"{float(number[0]):.1f}".removesuffix(".0")


def rounded_up(value: float) -> float:
    """Return where an axis ends that holds a value: the next 1, 2, 2.5, 4, 5 or 8 of its decade."""
    decade = 10.0 ** math.floor(math.log10(value))
    return next(step * decade for step in (1, 2, 2.5, 4, 5, 8, 10) if step * decade >= value)


def legend_above(axes: Axes, handlelength: float) -> None:
    """Name the lines above the axes, where no line and no other word is in the way."""
    axes.legend(frameon=False, fontsize=11.5, loc="lower left", bbox_to_anchor=(0, 1.0),
                borderaxespad=0, borderpad=0.1, handlelength=handlelength)  # fmt: skip
