"""What several media say as sheets of paper (PDF), three at most in all but the longest trials."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from string import ascii_lowercase
from typing import TYPE_CHECKING, Any

import flask

from saltcalc.message import say
from saltcalc.service.body import words_for
from saltcalc.service.pages.numbered import VERY_MANY, are_many, by_number, names_of, with_number
from saltcalc.service.pages.paper import (
    SMALLEST,
    SOFT,
    as_pdf,
    draw_heading,
    draw_table,
    let_go,
    list_sources,
    new_paper,
    say_of,
    say_text,
)
from saltcalc.words.catalogue import Words
from saltcalc.words.rendering import Json
from saltcalc.words.trial_text import Section, columns_of, in_marks, outcome_marks, sections

if TYPE_CHECKING:
    from fpdf import FPDF

_PAGES = 3
_SIZES = (9.0, 8.0, SMALLEST)
"""Points of the print: the largest that keeps to :data:`_PAGES`."""
_NARROW_MARGIN = 9
_NARROWED = 88
"""Per cent of its width that the smallest print has: the face is a wide one."""
_RUN_ON = ("media", "warnings")
"""Parts of very many media that are told in one run, where room is short."""

_UPRIGHT = 9
"""Columns of a table that have room on an upright sheet."""
_WIDTHS = {"medium": 7.2, "crop": 1.8, "mark": 0.55, "figure": 0.85, "cause": 3.1, "deeds": 1.2}
"""How wide columns are to each other, by what they hold."""


def trial_on_paper(answer: Json, loaded: Mapping[str, Any]) -> flask.Response:
    """Return what several media say as A4 pages, in print as large as three pages allow."""
    words = words_for(loaded)
    names = names_of(loaded)
    parts = sections(answer, lettered=are_many(loaded))
    for size in _SIZES if len(names) < VERY_MANY else _SIZES[-1:]:
        paper = _drawn(answer, parts, names, words, size)
        if paper.pages_count <= _PAGES:
            return as_pdf(paper)
        let_go(paper)
    return as_pdf(_drawn(answer, parts, names, words, SMALLEST, run_on=True))


def _drawn(
    answer: Json,
    parts: Sequence[Section],
    names: Sequence[str],
    words: Words,
    size: float,
    *,
    run_on: bool = False,
) -> FPDF:
    """Lay out a trial in print of a size; what is told of single media may stand in one run."""
    table = next(each.table for each in parts if each.table)
    kinds = columns_of(table)
    if in_marks(kinds, answer):
        kinds = ["mark" if each == "crop" else each for each in kinds]
    wide = len(kinds) > _UPRIGHT and "mark" not in kinds
    if size < _SIZES[0]:
        paper = new_paper(words, wide=wide, margin=_NARROW_MARGIN)
    else:
        paper = new_paper(words, wide=wide)
    if size == SMALLEST:
        paper.set_stretching(_NARROWED)
    say_text(paper, words.say(say("page.trial.title")), size + 5, bold=True, after=1.0)
    for part in parts:
        draw_heading(paper, part.title, size + 0.5)
        if part.table:
            _draw_table(paper, part.table, names, kinds, size)
        in_one = run_on and part.id in _RUN_ON
        for said, name, then in part.said:
            told = by_number(" ".join(filter(None, (said, then))))
            whose = words.labelled(by_number(name), "") if name else ""
            say_of(paper, whose, told, size, run_on=in_one)
        if in_one:
            paper.ln()
    list_sources(paper, answer, answer["sources"], words)
    say_text(paper, words.tell("workings.trace", **answer["trace"]), SMALLEST, colour=SOFT)
    return paper


def _draw_table(
    paper: FPDF,
    rows: Sequence[Sequence[str]],
    names: Sequence[str],
    kinds: Sequence[str],
    size: float,
) -> None:
    """Add the table of media; where signs stand for words, they are told below it."""
    marks = outcome_marks()
    heads = list(rows[0])
    letters = dict(
        zip(
            (heads[c] for c, each in enumerate(kinds) if each == "mark"),
            ascii_lowercase,
            strict=False,
        )
    )
    shown = [
        [
            marks.get(cell, cell) if kind == "mark" else with_number(cell, names)
            for kind, cell in zip(kinds, row, strict=True)
        ]
        for row in rows[1:]
    ]
    told = [
        letters.get(head, head) if kind == "mark" else head
        for kind, head in zip(kinds, heads, strict=True)
    ]
    draw_table(paper, [told, *shown], [_WIDTHS[each] for each in kinds], size)
    if letters:
        legend = [f"{mark} {said}" for said, mark in marks.items()]
        legend += [f"{letter} {crop}" for crop, letter in letters.items()]
        say_text(paper, "; ".join(legend), size, after=0.5)
