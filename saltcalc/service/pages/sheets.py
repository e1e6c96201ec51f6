"""The answer in its short words: as text, as Markdown, and as a sheet of paper (PDF)."""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import flask

from saltcalc.message import say
from saltcalc.service.body import words_for
from saltcalc.words import trial_text
from saltcalc.words.catalogue import Words
from saltcalc.words.figures import upper_first
from saltcalc.words.reader import reader
from saltcalc.words.rendering import Json
from saltcalc.words.text import Sheet, as_markdown, as_text, behind, short
from saltcalc.words.trial_text import sections

if TYPE_CHECKING:
    from fpdf import FPDF

_INK, _SOFT, _BAND = (29, 43, 42), (76, 95, 91), (213, 226, 221)
_MARGIN = 14
_FACE = "sheet"
_SMALLEST = 7.0
"""Points of the smallest print, which still can be read."""
_SEVEREST_FIRST = ("stop", "caution", "note")
_LEAST_BELOW = 20
"""Room that a heading needs with the first lines below it."""
_UPRIGHT = 9
"""Columns of a table that have room on an upright sheet."""
_WIDEST = 2
"""How much wider the first column of a trial and its last are than the others."""


def in_text(answer: Json, loaded: Mapping[str, Any]) -> flask.Response:
    """Return the short words as plain text."""
    return flask.Response(as_text(_sheet(answer, loaded)) + "\n", mimetype="text/plain")


def in_markdown(answer: Json, loaded: Mapping[str, Any]) -> flask.Response:
    """Return the short words as Markdown."""
    return flask.Response(as_markdown(_sheet(answer, loaded)), mimetype="text/markdown")


def on_paper(answer: Json, loaded: Mapping[str, Any]) -> flask.Response:
    """Return the short words as A4 pages, with what is behind them."""
    return _as_pdf(_drawn(answer, _sheet(answer, loaded), words_for(loaded)))


def trial_in_text(answer: Json, loaded: Mapping[str, Any]) -> flask.Response:
    """Return what several media say as plain text."""
    words_for(loaded)
    return flask.Response(trial_text.as_text(sections(answer)) + "\n", mimetype="text/plain")


def trial_in_markdown(answer: Json, loaded: Mapping[str, Any]) -> flask.Response:
    """Return what several media say as Markdown."""
    words_for(loaded)
    return flask.Response(trial_text.as_markdown(sections(answer)), mimetype="text/markdown")


def trial_on_paper(answer: Json, loaded: Mapping[str, Any]) -> flask.Response:
    """Return what several media say as A4 pages, with the sources behind."""
    words = words_for(loaded)
    parts = sections(answer)
    wide = max((len(each.table[0]) for each in parts if each.table), default=0)
    paper = _paper(words, "landscape" if wide > _UPRIGHT else "portrait")
    _say(paper, words.say(say("page.trial.title")), 14, bold=True, after=1.0)
    for part in parts:
        _heading(paper, part.title)
        if part.table:
            heads, *_ = part.table
            names = [_WIDEST if column in (0, len(heads) - 1) else 1 for column in range(wide)]
            _table(paper, part.table, names)
        for said, name, then in part.said:
            if name:
                _say(paper, name, 9, bold=True, after=0.2)
            _say(paper, " ".join(filter(None, (said, then))), 9, after=0.8)
    _sources(paper, answer, answer["sources"], words)
    _say(paper, words.tell("workings.trace", **answer["trace"]), 7, colour=_SOFT)
    return _as_pdf(paper)


def _as_pdf(paper: FPDF) -> flask.Response:
    response = flask.Response(bytes(paper.output()), mimetype="application/pdf")
    response.headers["Content-Disposition"] = 'inline; filename="saltcalc.pdf"'
    return response


def _sheet(answer: Json, loaded: Mapping[str, Any]) -> Sheet:
    return short(answer, json.loads(flask.request.get_data()), words_for(loaded))


def _paper(words: Words, orientation: Literal["portrait", "landscape"] = "portrait") -> FPDF:
    """Return an empty sheet in the language of the reader."""
    from fpdf import FPDF  # noqa: PLC0415 - who asks for JSON alone does not pay for it

    paper = FPDF(orientation, format="A4")
    paper.set_margin(_MARGIN)
    paper.set_auto_page_break(True, margin=_MARGIN)
    paper.set_title(words.say(say("sheet.title")))
    paper.set_lang(reader().language)
    for style, name in (("", "DejaVuSans.ttf"), ("B", "DejaVuSans-Bold.ttf")):
        paper.add_font(_FACE, style, _fonts() / name)
    paper.add_page()
    paper.set_text_color(*_INK)
    return paper


def _drawn(answer: Json, sheet: Sheet, words: Words) -> FPDF:
    """Lay out the sheet: what was found and what to do first, cautions and sources behind."""
    paper = _paper(words)
    day = answer.get("sampled_on")
    sampled = words.day(datetime.date.fromisoformat(day)) if day else ""
    sample = " · ".join(filter(None, (answer.get("sample_id"), sampled)))
    _say(paper, sample or words.say(say("sheet.no_sample")), 9, colour=_SOFT)
    first, *others = sheet.parts
    for place, said in enumerate(first.said):
        _say(paper, said, 10 if place else 14, bold=not place, after=1.0)
    if sheet.results:
        _table(paper, [each.cells for each in (sheet.headings, *sheet.results)])
    if sheet.in_range:
        _say(paper, sheet.in_range, 9)
    for part in others:
        _heading(paper, part.label)
        for said in part.said:
            _say(paper, said, 9, after=0.6)
    told = {said for part in sheet.parts for said in part.said}
    warnings = [each for each in answer["warnings"] if each["sentence"] not in told]
    if warnings:
        _heading(paper, words.say(say("sheet.cautions")))
        for each in sorted(warnings, key=lambda each: _SEVEREST_FIRST.index(each["severity"])):
            severity = upper_first(words.tell(f"severity.{each['severity']}"))
            _say(paper, words.labelled(severity, each["sentence"]), 8, after=0.3)
    _sources(paper, answer, behind(answer), words)
    _say(paper, sheet.trace, 7, colour=_SOFT)
    return paper


def _sources(paper: FPDF, answer: Json, keys: Iterable[str], words: Words) -> None:
    """Add the sources of these keys, and how many more the answer has."""
    known = answer["sources"]
    chosen = [known[each]["citation"] for each in keys]
    _heading(paper, words.say(say("sheet.sources")))
    for place, said in enumerate(chosen, 1):
        _say(paper, f"{place}. {said}", _SMALLEST, after=0.2)
    if more := len(known) - len(chosen):
        _say(paper, words.say(say("sheet.more_sources", count=more)), _SMALLEST, colour=_SOFT)


def _table(
    paper: FPDF, rows: Sequence[Sequence[str]], widths: Sequence[float] | None = None
) -> None:
    paper.set_font(_FACE, "", 9)
    paper.set_draw_color(*_SOFT)
    paper.set_fill_color(255)
    with paper.table(
        borders_layout="HORIZONTAL_LINES",
        line_height=5.2,
        padding=0.8,
        col_widths=widths and tuple(widths),
        text_align="LEFT",
    ) as table:
        for row in rows:
            table.row(row)


def _fonts() -> Path:
    """Return where the plotting library keeps its fonts, which have the signs of the trade."""
    import matplotlib as mpl  # noqa: PLC0415

    return Path(mpl.get_data_path()) / "fonts" / "ttf"


def _heading(paper: FPDF, text: str) -> None:
    if paper.will_page_break(_LEAST_BELOW):
        paper.add_page()
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
