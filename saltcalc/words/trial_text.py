"""Several media in words: a table, what leads, what is alike, and what to do to each (Markdown)."""

from __future__ import annotations

from collections.abc import Iterator

from saltcalc.words.catalogue import sentence
from saltcalc.words.rendering import Json
from saltcalc.words.text import figure

MOST_CONTRADICTIONS = 3
MOST_DIFFERENT = 5
MOST_WARNINGS = 5


def comparison(answer: Json) -> str:
    """Return the answer to several media as readable text.

    Parameters
    ----------
    answer : dict
        As the service gives it, whole.
    """
    rows, trial = answer["comparison"]["matrix"], answer.get("trial")
    parts = [(sentence("trial.title", count=len(rows)), list(_table(rows, trial)))]
    if trial:
        parts += [
            (sentence("trial.title_refuted"), list(_refuted(trial))),
            (sentence("trial.title_alike"), list(_alike(trial))),
            (sentence("trial.title_media"), list(_media(trial))),
            (sentence("trial.title_ranking"), list(_ranking(trial))),
        ]
    else:
        told = [each["sentence"] for each in answer["comparison"]["differences"]]
        parts.append((sentence("trial.title_differences"), [f"- {each}" for each in told]))
    parts.append((sentence("trial.title_warnings"), list(_warnings(answer))))
    lines: list[str] = []
    for title, body in parts:
        if body:
            lines += [f"## {title}", "", *body, ""]
    return "\n".join(lines).rstrip()


def _cell(text: str) -> str:
    """Return a text that breaks no table."""
    return " ".join(text.split()).replace("|", "\\|")


def _table(rows: list[Json], trial: Json | None) -> Iterator[str]:
    names = {crop["crop"]: crop["name"] for row in rows for crop in row["crops"]}
    tried = {each["name"]: each for each in trial["tried"]} if trial else {}
    crops = list(dict.fromkeys(one["crop"] for each in tried.values() for one in each["outcomes"]))
    heads = [names.get(crop, crop) for crop in crops] or list(names.values())
    columns = [
        sentence("trial.head_medium"),
        *heads,
        *(sentence(f"trial.head_{each}") for each in ("nitrogen", "ph", "ec", "cause")),
    ]
    yield _line(columns)
    yield _line(["---"] * len(columns))
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
        yield _line([row["name"], *cells, *map(_short, figures), first])


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


def _refuted(trial: Json) -> Iterator[str]:
    for each in trial["contradictions"][:MOST_CONTRADICTIONS]:
        yield f"- {each['sentence']}"


def _alike(trial: Json) -> Iterator[str]:
    if told := trial.get("alike_in_short"):
        yield f"- {told}"
    for each in trial["different"][:MOST_DIFFERENT]:
        yield f"- {each['sentence']}"


def _media(trial: Json) -> Iterator[str]:
    for each in trial["tried"]:
        yield f"- **{_cell(each['name'])}**: {each['explanation']}"
        told = [action["sentence"] for action in each["actions"]]
        if saving := each.get("saving"):
            told.append(saving["sentence"])
        yield f"  {' '.join(told)}"


def _ranking(trial: Json) -> Iterator[str]:
    for each in trial["ranking"]:
        yield f"- {each['sentence']}"
    if told := trial.get("next_measurement"):
        yield f"- {told}"


def _warnings(answer: Json) -> Iterator[str]:
    # Of what is said of several media alike, the first.
    heavy = {each["id"]: each for each in reversed(answer["warnings"])}
    told = [each for each in heavy.values() if each["severity"] != "note"]
    for each in reversed(told[-MOST_WARNINGS:]):
        yield f"- {each['sentence']}"
    count = len(answer["assumptions"])
    yield f"- {sentence('trial.assumed', count=count)}"
