"""Small pictures of a trial, one a figure: where each medium lies, and how crops fared."""

from __future__ import annotations

from collections.abc import Iterator

from saltcalc.case.trial import GOOD
from saltcalc.message import say
from saltcalc.service.pages.drawing import (
    BAND,
    SOFT,
    STRONG,
    Picture,
    canvas,
    finished,
    rounded_up,
    without_lines,
)
from saltcalc.words.catalogue import Words
from saltcalc.words.rendering import Json
from saltcalc.words.text import figure

_FIGURES = {"ec": "ec_saturated_extract", "mineral_n": "nitrate_n", "ph": "ph"}
"""Figures of a trial, each with that of the comparison where no crop was told of."""
_ROW = 26.0
_LONGEST = 16
"""Letters of a medium's name that have room beside its line."""


def multiples(answer: Json, words: Words) -> list[Picture]:
    """Return a picture for each figure that at least two media have.

    Parameters
    ----------
    answer : dict
        To a comparison, whole.
    words : Words
        Of the language of the answer.
    """
    return list(_drawn(answer, words))


def _drawn(answer: Json, words: Words) -> Iterator[Picture]:
    rows = answer["comparison"]["matrix"]
    tried = {each["name"]: each for each in (answer.get("trial") or {}).get("tried", [])}
    names = [row["name"] for row in rows]
    bad = {
        name: [one for one in tried.get(name, {}).get("outcomes", []) if one["outcome"] not in GOOD]
        for name in names
    }
    for own, compared in _FIGURES.items():
        read = {
            row["name"]: tried.get(row["name"], {}).get(own) or row.get(compared) for row in rows
        }
        known = {name: quantity for name, quantity in read.items() if quantity}
        if len(known) < 2:
            continue
        unit = next(iter(known.values()))["unit"]
        label = words.say(say(f"picture.axis.trial_{own}", unit=unit))
        end = rounded_up(1.1 * max(each.get("high", each["value"]) for each in known.values()))
        picture, axes = canvas(54 + _ROW * len(names), left=112)
        for place, name in enumerate(reversed(names)):
            axes.axhline(place, color=BAND, linewidth=1)
            if name not in known:
                continue
            quantity, failed = known[name], bool(bad[name])
            colour = STRONG if failed else SOFT
            if "low" in quantity and "high" in quantity:
                ends = [quantity["low"], quantity["high"]]
                axes.plot(ends, [place, place], color=colour, linewidth=4, alpha=0.4)
            axes.plot(quantity["value"], place, "X" if failed else "o", color=colour,
                      markersize=9, markeredgecolor="white")  # fmt: skip
        short = [name if len(name) <= _LONGEST else f"{name[: _LONGEST - 1]}…" for name in names]
        axes.set(xlim=(0, end), ylim=(-0.6, len(names) - 0.4), yticks=range(len(names)))
        axes.set_yticklabels(reversed(short))
        axes.set_xlabel(label)
        without_lines(axes, "left")
        told = words.semicolons(
            words.labelled(name, figure(quantity)) for name, quantity in known.items()
        )
        title = words.say(say("picture.title.trial", figure=label))
        sign = words.say(say("picture.told.trial", figures=told))
        yield finished(picture, f"trial-{own}", title, sign)
