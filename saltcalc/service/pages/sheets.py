"""The answer in its short words: as text, as Markdown, and as a sheet of paper (PDF)."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import flask

from saltcalc.message import say
from saltcalc.service.body import words_for
from saltcalc.words.catalogue import Words
from saltcalc.words.reader import reader
from saltcalc.words.rendering import Json
from saltcalc.words.text import Sheet, as_markdown, as_text, short

if TYPE_CHECKING:
    from fpdf import FPDF

_INK, _SOFT, _BAND = (29, 43, 42), (76, 95, 91), (213, 226, 221)
_MARGIN = 14
_FACE = "sheet"


def in_text(answer: Json, loaded: Mapping[str, Any]) -> flask.Response:
    """Return the short words as plain text."""
    return flask.Response(as_text(_sheet(answer, loaded)) + "\n", mimetype="text/plain")


def in_markdown(answer: Json, loaded: Mapping[str, Any]) -> flask.Response:
    """Return the short words as Markdown."""
    return flask.Response(as_markdown(_sheet(answer, loaded)), mimetype="text/markdown")


def on_paper(answer: Json, loaded: Mapping[str, Any]) -> flask.Response:
    """Return the short words as A4 pages, with what stands behind them."""
    page = bytes(_drawn(answer, _sheet(answer, loaded), words_for(loaded)).output())
    response = flask.Response(page, mimetype="application/pdf")
    response.headers["Content-Disposition"] = 'inline; filename="saltcalc.pdf"'
    return response


def _sheet(answer: Json, loaded: Mapping[str, Any]) -> Sheet:
    return short(answer, json.loads(flask.request.get_data()), words_for(loaded))


def _drawn(answer: Json, sheet: Sheet, words: Words) -> FPDF:
    """Lay out the sheet: what was found and what to do first, cautions and sources behind."""
    from fpdf import FPDF  # noqa: PLC0415 - who asks for JSON alone does not pay for it

    paper = FPDF(format="A4")
    paper.set_margin(_MARGIN)
    paper.set_auto_page_break(True, margin=_MARGIN)
    paper.set_title(words.say(say("sheet.title")))
    paper.set_lang(reader().language)
    for style, name in (("", "DejaVuSans.ttf"), ("B", "DejaVuSans-Bold.ttf")):
        paper.add_font(_FACE, style, _fonts() / name)
    paper.add_page()
    paper.set_text_color(*_INK)
    sample = " · ".join(filter(None, (answer.get("sample_id"), answer.get("sampled_on"))))
    _say(paper, sample or words.say(say("sheet.no_sample")), 9, colour=_SOFT)
    first, *others = sheet.parts
    for place, said in enumerate(first.said):
        _say(paper, said, 10 if place else 14, bold=not place, after=1.0)
    if sheet.results:
        _heading(paper, words.say(say("sheet.results")))
        paper.set_font(_FACE, "", 9)
        paper.set_draw_color(*_SOFT)
        with paper.table(borders_layout="HORIZONTAL_LINES", line_height=5.2, padding=0.8) as table:
            for row in (sheet.headings, *sheet.results):
                table.row(row)
    if sheet.in_range:
        _say(paper, sheet.in_range, 9)
    for part in others:
        _heading(paper, part.label)
        for said in part.said:
            _say(paper, said, 9, after=0.6)
    told = {said for part in sheet.parts for said in part.said}
    cautions = [each["sentence"] for each in answer["warnings"] if each["sentence"] not in told]
    for title, each_said in (
        ("sheet.cautions", cautions),
        ("sheet.sources", [each["citation"] for each in answer["sources"].values()]),
    ):
        if each_said:
            _heading(paper, words.say(say(title)))
            for said in each_said:
                _say(paper, said, 7.5 if title == "sheet.cautions" else 5, after=0.3)
    _say(paper, sheet.trace, 7, colour=_SOFT)
    return paper


def _fonts() -> Path:
    """Return where the plotting library keeps its fonts, which have the signs of the trade."""
    import matplotlib as mpl  # noqa: PLC0415

    return Path(mpl.get_data_path()) / "fonts" / "ttf"


def _heading(paper: FPDF, text: str) -> None:
    paper.ln(1.5)
    paper.set_fill_color(*_BAND)
    paper.set_font(_FACE, "B", 9.5)
    paper.cell(0, 5.5, text, fill=True, new_x="LMARGIN", new_y="NEXT")
    paper.ln(1)


def _say(
    paper: FPDF,
    text: str,
    size: float,
    *,
    bold: bool = False,
    after: float = 1.0,
    colour: tuple[int, int, int] = _INK,
) -> None:
    paper.set_font(_FACE, "B" if bold else "", size)
    paper.set_text_color(*colour)
    paper.multi_cell(0, size * 0.47, text, align="L", new_x="LMARGIN", new_y="NEXT")
    paper.set_text_color(*_INK)
    paper.ln(after)
