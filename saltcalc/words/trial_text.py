"""Several media in words: which for which crop, what to do to each, what is alike, and a table."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from string import ascii_uppercase
from typing import NamedTuple

from saltcalc.words.catalogue import sentence, words
from saltcalc.words.rendering import Json
from saltcalc.words.text import figure
from saltcalc.words.text.items import supposed
from saltcalc.words.text.layout import WIDTH, columns, wrapped

MOST_CONTRADICTIONS = 3
MOST_DIFFERENT = 5
MOST_WARNINGS = 5
LINES_A_MEDIUM, FEW_MEDIA = 12, 5
"""Lines of text for each medium, and for how many there is room at least."""

SPARED = (("alike", 3), ("refuted", 1), ("warnings", 3), ("alike", 1), ("warnings", 2))
"""What is left out of a text that is too long, a section at a time, and how much of each stays."""

SEVERAL = 3
"""Media from which what is done to them alike is told once."""

MOST_TELLING = ("extraction", "substrate", "stage", "container_drainage", "water_ec")
"""Assumptions that are told, those that move the answer most first (judgement)."""

_FIGURES = ("nitrogen", "ph", "ec")
"""What is told of each medium in the table."""

IN_WORDS = 3
"""Crops whose outcomes have room in words beside each other on paper."""

_MARKS = {"died": "✕", "stunted": "▽", "pale": "○", "slow": "◐", "thrived": "●"}

AGAINST_SALT = ("leach", "way_out")
"""Actions whose cost is told of a medium."""


class Item(NamedTuple):
    """One thing that is said, of a medium by its name or of all, and what follows from it."""

    said: str
    name: str = ""
    then: str = ""


class Deed(NamedTuple):
    """Something to do, and the media that need it."""

    letter: str
    said: str
    names: list[str]


class Section(NamedTuple):
    """What is under one title: a table, its heads first, or a list."""

    id: str
    title: str
    table: list[list[str]]
    said: list[Item]


def sections(answer: Json, *, lettered: bool = False) -> list[Section]:
    """Return what there is to say of several media, under its titles.

    Parameters
    ----------
    answer : dict
        As the service gives it, whole.
    lettered : bool
        Whether what is to be done is told once for all media that need it, by a letter that the
        table has beside each; else it is told of each medium.
    """
    rows, trial = answer["comparison"]["matrix"], answer.get("trial")
    deeds = _deeds(trial) if trial and lettered else []
    said: dict[str, Iterable[Item]] = {
        "refuted": _refuted(trial) if trial else (),
        "ranking": _ranking(trial) if trial else (),
        "deeds": (*map(_deed, deeds), *_for_all(trial)) if trial and lettered else (),
        "media": (_explained(trial) if lettered else _media(trial)) if trial else (),
        "alike": _alike(trial) if trial else (),
        "differences": ()
        if trial
        else (Item(each["sentence"]) for each in answer["comparison"]["differences"]),
        "table": (),
        "warnings": _warnings(answer),
    }
    tables = {"table": _filled(list(_table(rows, trial, deeds)))}
    found = [
        Section(each, sentence(f"trial.title_{each}", count=len(rows)), tables.get(each, []), items)
        for each, items in ((each, list(items)) for each, items in said.items())
    ]
    return [each for each in found if each.table or each.said]


def as_text(parts: list[Section]) -> str:
    """Return what there is to say of several media as plain text, of so many lines a medium.

    Where it would be longer, what weighs least is left to the answer as JSON.
    """
    told = [_in_text(each) for each in parts]
    media = sum(len(each.table) - 1 for each in parts if each.table)
    most = LINES_A_MEDIUM * max(media, FEW_MEDIA)
    for which, least in SPARED:
        place = next((at for at, each in enumerate(parts) if each.id == which), None)
        while place is not None and _length(told) > most and len(parts[place].said) > least:
            parts = [*parts]
            parts[place] = parts[place]._replace(said=_without_one(parts[place]))
            told[place] = _in_text(parts[place])
    between = "\n\n" if _length(told) <= most else "\n"
    return between.join(told)


def _length(told: list[str]) -> int:
    return sum(each.count("\n") + 2 for each in told) - 1


def _without_one(part: Section) -> list[Item]:
    """Return what is said without the last of it; of warnings the last tells of assumptions."""
    return [*part.said[:-2], part.said[-1]] if part.id == "warnings" else part.said[:-1]


def _in_text(part: Section) -> str:
    return "\n".join(_in_lines(part))


def as_markdown(parts: list[Section]) -> str:
    """Return what there is to say of several media as Markdown."""
    lines: list[str] = []
    for _, title, table, items in parts:
        heads, *rows = table or [[]]
        ruled = [heads, ["---"] * len(heads), *rows] if table else []
        lines += [f"## {title}", "", *map(_ruled, ruled)]
        for said, name, then in items:
            lines.append(f"- **{_cell(name)}**: {said}" if name else f"- {said}")
            lines += [f"  {then}"] if then else []
        lines.append("")
    return "\n".join(lines).rstrip() + "\n"


def _in_lines(part: Section) -> Iterator[str]:
    yield part.title
    yield from columns(part.table)
    for said, name, then in part.said:
        told = words().labelled(name, said) if name else said
        yield from wrapped(" ".join(filter(None, (told, then))), WIDTH, "    ", "  - ")


def _cell(text: str) -> str:
    """Return a text that breaks no table."""
    return " ".join(text.split()).replace("|", "\\|")


def columns_of(table: list[list[str]]) -> list[str]:
    """Return what each column of the table of media holds.

    Returns
    -------
    list of str
        "medium", "crop", "figure", "cause" or "deeds" of each column.
    """
    kinds = {sentence(f"trial.head_{each}"): "figure" for each in _FIGURES}
    kinds |= {sentence(f"trial.head_{each}"): each for each in ("medium", "cause", "deeds")}
    return [kinds.get(head, "crop") for head in table[0]]


def in_marks(kinds: list[str], answer: Json) -> bool:
    """Tell whether signs stand for outcomes on paper, where words of so many have no room."""
    return bool(answer.get("trial")) and kinds.count("crop") > IN_WORDS


def outcome_marks() -> dict[str, str]:
    """Return signs for how a crop fared, by its words: where words have no room."""
    return {sentence(f"outcome.{each}"): mark for each, mark in _MARKS.items()}


def _table(rows: list[Json], trial: Json | None, deeds: list[Deed]) -> Iterator[list[str]]:
    # A medium of which no EC is known has no verdict on any crop.
    judged = {(crop["crop"], crop["stage"]): crop["name"] for row in rows for crop in row["crops"]}
    names = {crop: name for (crop, _), name in judged.items()}
    names |= {each["crop"]: each["name"] for each in trial["ranking"]} if trial else {}
    tried = {each["name"]: each for each in trial["tried"]} if trial else {}
    crops = list(dict.fromkeys(one["crop"] for each in tried.values() for one in each["outcomes"]))
    heads = [names.get(crop, crop) for crop in crops] or list(judged.values())
    yield [
        sentence("trial.head_medium"),
        *heads,
        *(sentence(f"trial.head_{each}") for each in (*_FIGURES, "cause")),
        *([sentence("trial.head_deeds")] if deeds else []),
    ]
    for row in rows:
        one = tried.get(row["name"], {})
        fared = {
            each["crop"]: sentence(f"outcome.{each['outcome']}") for each in one.get("outcomes", [])
        }
        verdicts = {
            (crop["crop"], crop["stage"]): sentence(f"crop_verdict.{crop['verdict']}")
            for crop in row["crops"]
        }
        cells = [fared.get(crop, "") for crop in crops] or [
            verdicts.get(each, "") for each in judged
        ]
        cause = row["main_cause"]
        first = (
            f"{cause['name']} ({sentence('cause_verdict.' + cause['verdict'])})"
            if cause
            else sentence("trial.no_cause")
        )
        figures = (one.get("mineral_n") or row["nitrate_n"], row["ph"], _ec(row))
        letters = " ".join(each.letter for each in deeds if row["name"] in each.names)
        told = [row["name"], *cells, *map(_short, figures), first]
        yield [*told, letters] if deeds else told


def _filled(table: list[list[str]]) -> list[list[str]]:
    """Return a table without the columns that no row fills."""
    columns = [each for each in zip(*table, strict=True) if any(each[1:])]
    return [list(row) for row in zip(*columns, strict=True)]


def _ec(row: Json) -> Json | None:
    found: Json | None = row["ec_saturated_extract"]
    if found and row.get("ec_is_lower_bound"):
        return {"value": found["value"], "low": found["value"]}
    return found


def _short(quantity: Json | None) -> str:
    """Return a figure without its unit, which the head of its column tells."""
    if quantity is None:
        return ""
    bare = {"value": quantity["value"], "unit": "1"}
    if "low" in quantity and "high" not in quantity:
        return f"≥ {figure(bare)}"
    return figure(bare, 3)


def _ruled(cells: list[str]) -> str:
    return f"| {' | '.join(map(_cell, cells))} |"


def _refuted(trial: Json) -> Iterator[Item]:
    for each in trial["contradictions"][:MOST_CONTRADICTIONS]:
        yield Item(each["sentence"])


def _alike(trial: Json) -> Iterator[Item]:
    if told := trial.get("alike_in_short"):
        yield Item(told)
    silent = []
    for each in trial["different"][:MOST_DIFFERENT]:
        if not each["crops"]:
            silent.append(sentence(f"trial_figures.name.{each['id']}"))
        else:
            yield Item(each["sentence"])
    if silent:
        yield Item(sentence("trial.differ_idly", names=silent))


def _media(trial: Json) -> Iterator[Item]:
    shared: dict[str, list[str]] = {}
    blocks: dict[str, set[str]] = {}
    for each in trial["tried"]:
        for action in each["actions"]:
            said = action["sentence"]
            shared.setdefault(said, []).append(each["name"])
            blocks.setdefault(said, set()).add(each["explanation"])
    # Media that are alike in everything are told together as they are.
    shared = {
        said: names
        for said, names in shared.items()
        if len(names) >= SEVERAL and len(blocks[said]) > 1
    }
    alike: dict[tuple[str, str], list[str]] = {}
    for each in trial["tried"]:
        told = [a["sentence"] for a in each["actions"] if a["sentence"] not in shared]
        if saving := each.get("saving"):
            told.append(saving["sentence"])
        alike.setdefault((each["explanation"], " ".join(told)), []).append(each["name"])
    for (said, then), names in alike.items():
        yield Item(said, words().semicolons(names), then)
    for said, names in shared.items():
        yield Item(said, words().semicolons(names))
    yield from _for_all(trial)


def _for_all(trial: Json) -> Iterator[Item]:
    for action in trial["for_all"]:
        yield Item(action["sentence"], sentence("trial.every_medium"))


def _deeds(trial: Json) -> list[Deed]:
    """Return what is to be done, each once: first what plants that stand need."""
    found: dict[tuple[bool, str], list[str]] = {}
    for each in trial["tried"]:
        own = [(one["when"] != "now", one["id"], one["sentence"]) for one in each["actions"]]
        if saving := each.get("saving"):
            # What a flush costs is told with it.
            at = next((at for at, one in enumerate(own) if one[1] in AGAINST_SALT), None)
            said = saving["sentence"]
            if at is None:
                own.insert(0, (False, "", said))
            else:
                own[at] = (*own[at][:2], f"{own[at][2]} {said}")
        for later, _, said in own:
            found.setdefault((later, said), []).append(each["name"])
    ordered = sorted(found, key=lambda deed: deed[0])
    return [Deed(_letter(place), deed[1], found[deed]) for place, deed in enumerate(ordered)]


def _deed(deed: Deed) -> Item:
    return Item(deed.said, f"{deed.letter} ({words().semicolons(deed.names)})")


def _letter(place: int) -> str:
    """Return letters as the columns of a spreadsheet have them."""
    before, own = divmod(place, len(ascii_uppercase))
    return (_letter(before - 1) if before else "") + ascii_uppercase[own]


def _explained(trial: Json) -> Iterator[Item]:
    """Yield why media are as they are, those alike in it together."""
    found: dict[str, list[str]] = {}
    for each in trial["tried"]:
        found.setdefault(each["explanation"], []).append(each["name"])
    for said, names in found.items():
        yield Item(said, words().semicolons(names))


def _ranking(trial: Json) -> Iterator[Item]:
    for each in trial["ranking"]:
        yield Item(each["sentence"])
    # A contradiction tells its own.
    if not trial["contradictions"] and (told := trial.get("next_measurement")):
        yield Item(told)


def _warnings(answer: Json) -> Iterator[Item]:
    graver = [each["sentence"] for each in answer["warnings"] if each["severity"] != "note"]
    yield from map(Item, graver[:MOST_WARNINGS])
    yield from _supposed(answer["assumptions"])


def _supposed(assumptions: list[Json]) -> Iterator[Item]:
    """Yield what was taken for granted that moves the answer most, each once, and how many more."""
    of_id = {each["id"]: each for each in reversed(assumptions)}
    told = [supposed(of_id[each], words()) for each in MOST_TELLING if each in of_id]
    if told:
        yield Item(sentence("trial.supposed", first=told, count=len(assumptions)))
    elif assumptions:
        yield Item(sentence("trial.assumed", count=len(assumptions)))
