"""The answer in its short words: as text, as Markdown, and as a sheet of paper (PDF)."""

from __future__ import annotations

import datetime
import json
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import flask

from saltcalc.message import say
from saltcalc.service.body import words_for
from saltcalc.service.pages.paper import (
    SOFT,
    as_pdf,
    draw_heading,
    draw_table,
    list_sources,
    new_paper,
    say_text,
)
from saltcalc.words import trial_text
from saltcalc.words.catalogue import Words
from saltcalc.words.figures import upper_first
from saltcalc.words.rendering import Json
from saltcalc.words.text import Sheet, as_markdown, as_text, behind, short
from saltcalc.words.trial_text import sections

if TYPE_CHECKING:
    from fpdf import FPDF

_SEVEREST_FIRST = ("stop", "caution", "note")


def in_text(answer: Json, loaded: Mapping[str, Any]) -> flask.Response:
    """Return the short words as plain text."""
    return flask.Response(as_text(_sheet(answer, loaded)) + "\n", mimetype="text/plain")


def in_markdown(answer: Json, loaded: Mapping[str, Any]) -> flask.Response:
    """Return the short words as Markdown."""
    return flask.Response(as_markdown(_sheet(answer, loaded)), mimetype="text/markdown")


def on_paper(answer: Json, loaded: Mapping[str, Any]) -> flask.Response:
    """Return the short words as A4 pages, with what is behind them."""
    return as_pdf(_drawn(answer, _sheet(answer, loaded), words_for(loaded)))


def trial_in_text(answer: Json, loaded: Mapping[str, Any]) -> flask.Response:
    """Return what several media say as plain text."""
    words_for(loaded)
    return flask.Response(trial_text.as_text(sections(answer)) + "\n", mimetype="text/plain")


def trial_in_markdown(answer: Json, loaded: Mapping[str, Any]) -> flask.Response:
    """Return what several media say as Markdown."""
    words_for(loaded)
    return flask.Response(trial_text.as_markdown(sections(answer)), mimetype="text/markdown")


def _sheet(answer: Json, loaded: Mapping[str, Any]) -> Sheet:
    return short(answer, json.loads(flask.request.get_data()), words_for(loaded))


def _drawn(answer: Json, sheet: Sheet, words: Words) -> FPDF:
    """Lay out the sheet: what was found and what to do first, cautions and sources behind."""
    paper = new_paper(words)
    day = answer.get("sampled_on")
    sampled = words.day(datetime.date.fromisoformat(day)) if day else ""
    sample = " · ".join(filter(None, (answer.get("sample_id"), sampled)))
    say_text(paper, sample or words.say(say("sheet.no_sample")), 9, colour=SOFT)
    first, *others = sheet.parts
    for place, said in enumerate(first.said):
        say_text(paper, said, 10 if place else 14, bold=not place, after=1.0)
    if sheet.results:
        draw_table(paper, [each.cells for each in (sheet.headings, *sheet.results)])
    for said in sheet.others:
        say_text(paper, said, 9)
    for part in others:
        draw_heading(paper, part.label)
        for said in part.said:
            say_text(paper, said, 9, after=0.6)
    told = {said for part in sheet.parts for said in part.said}
    warnings = [each for each in answer["warnings"] if each["sentence"] not in told]
    if warnings:
        draw_heading(paper, words.say(say("sheet.cautions")))
        for each in sorted(warnings, key=lambda each: _SEVEREST_FIRST.index(each["severity"])):
            severity = upper_first(words.tell(f"severity.{each['severity']}"))
            say_text(paper, words.labelled(severity, each["sentence"]), 8, after=0.3)
    list_sources(paper, answer, behind(answer), words)
    say_text(paper, sheet.trace, 7, colour=SOFT)
    return paper
