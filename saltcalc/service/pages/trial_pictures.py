"""Small pictures of a trial, one a figure: where each medium lies, and how crops fared."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

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
from saltcalc.service.pages.numbered import with_number
from saltcalc.words.catalogue import Words
from saltcalc.words.rendering import Json
from saltcalc.words.text import figure

_FIGURES = {"ec": "ec_saturated_extract", "mineral_n": "nitrate_n", "ph": "ph"}
"""Figures of a trial, each with that of the comparison where no crop was told of."""
_ROW, _ROWS = 26.0, 210.0
"""Height of a row at most, and of all where there are many."""
_LETTERS = 14.5
"""Size of the letters, which are read on paper too, where three pictures stand in a row."""
_LONGEST, _BESIDE, _BESIDE_NUMBERS = 15, 150.0, 40.0
"""Letters of a medium's name that have room beside its line, and how much room that is."""
_EVERY = 5
"""Media from one number to the next where not every line has room for its own."""


def multiples(
    answer: Json, words: Words, names: Sequence[str], *, many: bool = False
) -> list[Picture]:
    """Return a picture for each figure that at least two media have.

    Parameters
    ----------
    answer : dict
        To a comparison, whole.
    words : Words
        Of the language of the answer.
    names : sequence of str
        Of the media.
    many : bool
        Whether media stand by their numbers.
    """
    return list(_drawn(answer, words, names, many=many))


def _drawn(answer: Json, words: Words, called: Sequence[str], *, many: bool) -> Iterator[Picture]:
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
        most = max(each.get("high", each["value"]) for each in known.values())
        if not most > 0:
            continue  # of nothing but zeros there is nothing to see
        end = rounded_up(1.1 * most)
        row = min(_ROW, _ROWS / len(names))
        picture, axes = canvas(
            56 + row * len(names), left=_BESIDE_NUMBERS if many else _BESIDE, right=20, bottom=50
        )
        for place, name in enumerate(reversed(names)):
            axes.axhline(place, color=BAND, linewidth=1)
            if name not in known:
                continue
            quantity, failed = known[name], bool(bad[name])
            colour = STRONG if failed else SOFT
            if "low" in quantity and "high" in quantity:
                ends = [quantity["low"], quantity["high"]]
                axes.plot(
                    ends, [place, place], color=colour, linewidth=max(row / 6.5, 2), alpha=0.4
                )
            axes.plot(
                quantity["value"],
                place,
                "X" if failed else "o",
                color=colour,
                markersize=max(row / 3, 7),
                markeredgecolor="white",
                markeredgewidth=0.5,
            )
        every = range(0, len(names), 1 if row > _LETTERS else _EVERY)
        axes.set(xlim=(0, end), ylim=(-0.6, len(names) - 0.4))
        axes.set_yticks([len(names) - 1 - place for place in every])
        axes.set_yticklabels([str(at + 1) if many else _short(called[at]) for at in every])
        axes.set_xlabel(label, loc="right", fontsize=_LETTERS)
        axes.tick_params(labelsize=_LETTERS)
        without_lines(axes, "left")
        told = words.semicolons(
            words.labelled(with_number(name, called), figure(quantity))
            for name, quantity in known.items()
        )
        title = words.say(say("picture.title.trial", figure=label))
        sign = words.say(say("picture.told.trial", figures=told))
        yield finished(picture, f"trial-{own}", title, sign)


def _short(name: str) -> str:
    return name if len(name) <= _LONGEST else f"{name[: _LONGEST - 1]}…"
