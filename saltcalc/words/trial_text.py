"""Several media in words: a table, what leads, what is alike, and what to do to each (Markdown)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from saltcalc.words.catalogue import sentence
from saltcalc.words.rendering import Json
from saltcalc.words.text import figure

MOST_CONTRADICTIONS = 3
MOST_DIFFERENT = 5
MOST_WARNINGS = 5


class Item(NamedTuple):
    """One thing that is said, of a medium by its name or of all, and what follows from it."""

    said: str
    name: str = ""
    then: str = ""


class Section(NamedTuple):
    """What stands under one title: a table, its heads first, or a list."""

    id: str
    title: str
    table: list[list[str]]
    said: list[Item]


def comparison(answer: Json) -> str:
    """Return the answer to several media as readable text.

    Parameters
    ----------
    answer : dict
        As the service gives it, whole.
    """
    lines: list[str] = []
    for _, title, table, items in sections(answer):
        heads, *rows = table or [[]]
        ruled = [heads, ["---"] * len(heads), *rows] if table else []
        lines += [f"## {title}", "", *map(_line, ruled)]
        for said, name, then in items:
            lines.append(f"- **{_cell(name)}**: {said}" if name else f"- {said}")
            lines += [f"  {then}"] if then else []
        lines.append("")
    return "\n".join(lines).rstrip()


def sections(answer: Json) -> list[Section]:
    """Return what there is to say of several media, under its titles.

    Parameters
    ----------
    answer : dict
        As the service gives it, whole.
    """
    rows, trial = answer["comparison"]["matrix"], answer.get("trial")
    if trial:
        parts = {
            "refuted": _refuted(trial),
            "alike": _alike(trial),
            "media": _media(trial),
            "ranking": _ranking(trial),
        }
    else:
        told = (Item(each["sentence"]) for each in answer["comparison"]["differences"])
        parts = {"differences": told}
    parts["warnings"] = _warnings(answer)
    named = [
        Section(each, sentence(f"trial.title_{each}"), [], list(said))
        for each, said in parts.items()
    ]
    table = list(_table(rows, trial))
    return [
        Section("table", sentence("trial.title", count=len(rows)), table, []),
        *(each for each in named if each.said),
    ]


def _cell(text: str) -> str:
    """Return a text that breaks no table."""
    return " ".join(text.split()).replace("|", "\\|")


def _table(rows: list[Json], trial: Json | None) -> Iterator[list[str]]:
    names = {crop["crop"]: crop["name"] for row in rows for crop in row["crops"]}
    tried = {each["name"]: each for each in trial["tried"]} if trial else {}
    crops = list(dict.fromkeys(one["crop"] for each in tried.values() for one in each["outcomes"]))
    heads = [names.get(crop, crop) for crop in crops] or list(names.values())
    yield [
        sentence("trial.head_medium"),
        *heads,
        *(sentence(f"trial.head_{each}") for each in ("nitrogen", "ph", "ec", "cause")),
    ]
    for row in rows:
        one = tried.get(row["name"], {})
        fared = {
            each["crop"]: sentence(f"outcome.{each['outcome']}") for each in one.get("outcomes", [])
        }
        cells = (
            [fared.get(crop, "") for crop in crops]
            if crops
            else [sentence(f"crop_verdict.{crop['verdict']}") for crop in row["crops"]]
        )
        cause = row["main_cause"]
        first = (
            f"{cause['name']} ({sentence('cause_verdict.' + cause['verdict'])})"
            if cause
            else sentence("trial.no_cause")
        )
        figures = (one.get("mineral_n") or row["nitrate_n"], row["ph"], _ec(row, one))
        yield [row["name"], *cells, *map(_short, figures), first]


def _ec(row: Json, one: Json) -> Json | None:
    found: Json | None = one.get("ec") or row["ec_saturated_extract"]
    return found


def _short(quantity: Json | None) -> str:
    """Return a figure without its unit, which the head of its column tells."""
    if quantity is None:
        return ""
    bare = {"value": quantity["value"], "unit": "1"}
    if "low" in quantity and "high" not in quantity:
        return f"≥ {figure(bare)}"
    return figure(bare, 3)


def _line(cells: list[str]) -> str:
    return f"| {' | '.join(map(_cell, cells))} |"


def _refuted(trial: Json) -> Iterator[Item]:
    for each in trial["contradictions"][:MOST_CONTRADICTIONS]:
        yield Item(each["sentence"])


def _alike(trial: Json) -> Iterator[Item]:
    if told := trial.get("alike_in_short"):
        yield Item(told)
    for each in trial["different"][:MOST_DIFFERENT]:
        yield Item(each["sentence"])


def _media(trial: Json) -> Iterator[Item]:
    for each in trial["tried"]:
        told = [action["sentence"] for action in each["actions"]]
        if saving := each.get("saving"):
            told.append(saving["sentence"])
        yield Item(each["explanation"], each["name"], " ".join(told))


def _ranking(trial: Json) -> Iterator[Item]:
    for each in trial["ranking"]:
        yield Item(each["sentence"])
    if told := trial.get("next_measurement"):
        yield Item(told)


def _warnings(answer: Json) -> Iterator[Item]:
    # Of what is said of several media alike, the first.
    heavy = {each["id"]: each for each in reversed(answer["warnings"])}
    told = [each for each in heavy.values() if each["severity"] != "note"]
    for each in reversed(told[-MOST_WARNINGS:]):
        yield Item(each["sentence"])
    yield Item(sentence("trial.assumed", count=len(answer["assumptions"])))
