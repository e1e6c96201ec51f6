"""The look of the pictures, and how one becomes SVG that stands in a page."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INK, STRONG, SOFT, BAND, FAINT = "#1d2b2a", "#9a4a12", "#5f7470", "#d5e2dd", "#e9e6df"
"""Text and lines; what is too much; what is beside; what suits; the ground of a scale. In grey they
lie apart: 15, 33, 43, 87 and 90 % of white."""

WIDTH = 340
"""Of a picture, in its own units: that many CSS pixels on a small phone."""

_SVG = "http://www.w3.org/2000/svg"
_LINK = "http://www.w3.org/1999/xlink"
_DECIMALS = re.compile(r"-?\d+\.\d+")
_FONT = re.compile(r"(?:(italic) )?(?:(\d00|bold) )?([\d.]+)px .*")
_POINTS = 72.0
ET.register_namespace("", _SVG)
ET.register_namespace("xlink", _LINK)


@contextmanager
def canvas(height: float, name: str) -> Iterator[tuple[Figure, Axes]]:
    """Give a picture to draw in, :data:`WIDTH` wide.

    Parameters
    ----------
    height : float
        In the units of :data:`WIDTH`.
    name : str
        Of the picture; its inner ids begin with it.
    """
    # Loaded with the first picture: who asks for JSON alone does not pay for it.
    import matplotlib as mpl  # noqa: PLC0415
    from matplotlib.figure import Figure  # noqa: PLC0415

    style = {
        "svg.fonttype": "none",
        "svg.hashsalt": name,
        "font.size": 11,
        "text.color": INK,
        "axes.labelcolor": INK,
        "axes.edgecolor": SOFT,
        "axes.linewidth": 0.8,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.labelsize": 11,
        "xtick.color": SOFT,
        "ytick.color": SOFT,
        "xtick.labelcolor": INK,
        "ytick.labelcolor": INK,
        "xtick.labelsize": 10.5,
        "ytick.labelsize": 10.5,
        "figure.constrained_layout.use": True,
    }
    with mpl.rc_context(style):
        figure = Figure(figsize=(WIDTH / _POINTS, height / _POINTS))
        figure.patch.set_visible(False)
        axes = figure.subplots()
        axes.patch.set_visible(False)
        yield figure, axes


def as_svg(figure: Figure, name: str, title: str, told: str) -> str:
    """Return a picture as an SVG element with its text alternative.

    A page whose policy allows no style inside it shows the element as it is: what would be styled
    is told in attributes.

    Parameters
    ----------
    figure : Figure
        As drawn.
    name : str
        Begins every id in it.
    title, told : str
        The text alternative: what it is, and its figures.
    """
    drawn = io.StringIO()
    figure.savefig(drawn, format="svg", metadata={"Date": None, "Creator": None})
    root = ET.fromstring(drawn.getvalue())  # noqa: S314 - drawn here
    for metadata in root.findall(f"{{{_SVG}}}metadata"):
        root.remove(metadata)
    for node in root.iter():
        _plainly(node, name)
    for parent in list(root.iter()):
        for child in list(parent):
            if child.tag == f"{{{_SVG}}}style":
                parent.remove(child)
    for size in ("width", "height", "version"):
        root.attrib.pop(size, None)
    root.set("role", "img")
    root.set("aria-labelledby", f"{name}-title {name}-told")
    for place, (tag, text) in enumerate((("title", title), ("desc", told))):
        node = ET.Element(f"{{{_SVG}}}{tag}", {"id": f"{name}-{'told' if place else 'title'}"})
        node.text = text
        root.insert(place, node)
    return ET.tostring(root, encoding="unicode")


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
    own = node.attrib.pop("id", None)
    if own is not None and _is_used(own):
        node.set("id", f"{name}-{own}")
    for key, value in node.attrib.items():
        if "url(#" in value:
            node.set(key, value.replace("url(#", f"url(#{name}-"))
        elif key in ("href", f"{{{_LINK}}}href") and value.startswith("#"):
            node.set(key, f"#{name}-{value[1:]}")


def _is_used(own: str) -> bool:
    """Tell whether an id can be referred to; those of groups only name them."""
    return re.fullmatch(r"[pm][0-9a-f]{9,}", own) is not None


def _shorter(number: re.Match[str]) -> str:
    return f"{float(number[0]):.1f}".removesuffix(".0")


def rounded_up(value: float) -> float:
    """Return where an axis ends that holds a value: the next 1, 2, 2.5, 4, 5 or 8 of its decade."""
    decade = 10.0 ** math.floor(math.log10(value))
    return next(step * decade for step in (1, 2, 2.5, 4, 5, 8, 10) if step * decade >= value)
