"""Sheets of paper (PDF): how their print looks, and what they are put together from."""

from __future__ import annotations

import gc
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import flask

from saltcalc.message import say
from saltcalc.words.catalogue import Words
from saltcalc.words.reader import reader
from saltcalc.words.rendering import Json

if TYPE_CHECKING:
    from fpdf import FPDF

SMALLEST = 7.0
"""Points of the smallest print, which still can be read."""
_INK, SOFT, _BAND = (29, 43, 42), (76, 95, 91), (213, 226, 221)
_MARGIN = 14
_FACE = "sheet"
_USUAL = 9.0
"""Points of print; in smaller print the lines are closer."""
_IN_TABLES, _IN_CLOSE_TABLES = 0.58, 0.4
"""Millimetres from line to line of a table, for each point of the print."""
_LEAST_BELOW = 20
"""Room that a heading needs with the first lines below it."""


def new_paper(words: Words, *, wide: bool = False, margin: float = _MARGIN) -> FPDF:
    """Return an empty sheet in the language of the reader."""
    from fpdf import FPDF  # noqa: PLC0415 - who asks for JSON alone does not pay for it

    paper = FPDF("landscape" if wide else "portrait", format="A4")
    paper.set_margin(margin)
    paper.set_auto_page_break(True, margin=margin)
    paper.set_title(words.say(say("sheet.title")))
    paper.set_lang(reader().language)
    for style, name in (("", "DejaVuSans.ttf"), ("B", "DejaVuSans-Bold.ttf")):
        paper.add_font(_FACE, style, _fonts() / name)
    paper.add_page()
    paper.set_text_color(*_INK)
    return paper


def as_pdf(paper: FPDF) -> flask.Response:
    """Return a sheet as it is sent."""
    response = flask.Response(bytes(paper.output()), mimetype="application/pdf")
    let_go(paper)
    response.headers["Content-Disposition"] = 'inline; filename="saltcalc.pdf"'
    return response


def let_go(paper: FPDF) -> None:
    """Close the fonts of a sheet that is not needed any more, and free what it was made of."""
    for font in paper.fonts.values():
        if close := getattr(font, "close", None):
            close()
    paper.__dict__.clear()
    gc.collect()  # its parts hold each other, so that nothing else frees them soon


def list_sources(paper: FPDF, answer: Json, keys: Iterable[str], words: Words) -> None:
    """Add the sources of these keys, and how many more the answer has."""
    known = answer["sources"]
    if not known:
        return
    chosen = [known[each]["citation"] for each in keys]
    draw_heading(paper, words.say(say("sheet.sources")))
    for place, said in enumerate(chosen, 1):
        say_text(paper, f"{place}. {said}", SMALLEST, after=0.2)
    if more := len(known) - len(chosen):
        say_text(paper, words.say(say("sheet.more_sources", count=more)), SMALLEST, colour=SOFT)


def draw_table(
    paper: FPDF,
    rows: Sequence[Sequence[str]],
    widths: Sequence[float] | None = None,
    size: float = _USUAL,
) -> None:
    """Add a table, its heads in the first row, its columns so wide to each other."""
    paper.set_font(_FACE, "", size)
    leading = _IN_TABLES if size >= _USUAL else _IN_CLOSE_TABLES
    paper.set_draw_color(*SOFT)
    paper.set_fill_color(255)
    with paper.table(
        borders_layout="HORIZONTAL_LINES",
        line_height=leading * size,
        padding=(0.09 * size if size >= _USUAL else 0.05 * size, 0.08 * size),
        col_widths=widths and tuple(widths),
        text_align="LEFT",
    ) as table:
        for row in rows:
            table.row(row)


def _fonts() -> Path:
    """Return where the plotting library keeps its fonts, which have the signs of the trade."""
    import matplotlib as mpl  # noqa: PLC0415

    return Path(mpl.get_data_path()) / "fonts" / "ttf"


def draw_heading(paper: FPDF, text: str, size: float = 9.5) -> None:
    """Add a heading, on a new sheet where nothing below it would be on this one."""
    if paper.will_page_break(_LEAST_BELOW):
        paper.add_page()
    paper.ln(1.5)
    paper.set_fill_color(*_BAND)
    paper.set_font(_FACE, "B", size)
    paper.cell(0, 0.58 * size, text, fill=True, new_x="LMARGIN", new_y="NEXT")
    paper.ln(1)


def say_of(paper: FPDF, whose: str, text: str, size: float, *, run_on: bool = False) -> None:
    """Say something of what is told before it in bold; what runs on has no line of its own."""
    height = _leading(size)
    for style, said in (("B", whose), ("", f"{text}  " if run_on else text)):
        paper.set_font(_FACE, style, size)
        # A word that has no room in what is left of a line would be broken.
        word = paper.get_string_width(said.partition(" ")[0])
        if paper.get_x() + word > paper.w - paper.r_margin - 2 * paper.c_margin:
            paper.ln(height)
        paper.write(height, said)
    if not run_on:
        paper.ln(height + 0.16 * (size - 4))


def _leading(size: float) -> float:
    """Return how far it is from line to line [mm]."""
    return (0.47 if size > SMALLEST else 0.44) * size


def say_text(
    paper: FPDF,
    text: str,
    size: float,
    *,
    bold: bool = False,
    after: float = 1.0,
    colour: tuple[int, int, int] = _INK,
) -> None:
    """Say something in print of a size [points], with room after it [mm]."""
    paper.set_font(_FACE, "B" if bold else "", size)
    paper.set_text_color(*colour)
    paper.multi_cell(0, _leading(size), text, align="L", new_x="LMARGIN", new_y="NEXT")
    paper.set_text_color(*_INK)
    paper.ln(after)
