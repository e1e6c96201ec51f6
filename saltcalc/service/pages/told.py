"""What was typed into the form, for paper: label and value of each entry that was filled."""

from __future__ import annotations

from collections.abc import Iterator

from saltcalc.service.pages.form import (
    UNIT,
    Entry,
    Typed,
    entries,
    entry_besides,
    first_of,
    with_unit,
)
from saltcalc.words.catalogue import Words

_WITHIN = {"water": "page.water"}
_NUMBERED = {"crop": "page.trial.crop", "container": "page.log.container"}


def told_on_paper(typed: Typed, words: Words) -> Iterator[tuple[str, str]]:
    """Yield the label and the value of each entry that was filled, in the order of the form.

    Parameters
    ----------
    typed : dict of str to list of str
        What was typed or ticked, by the names of the entries.
    words : Words
        Of the language of the page.
    """
    known: dict[str, None] = {}
    for part, some in entries().items():
        for entry in some:
            known.setdefault(entry.name)
            if value := _value(entry, typed, words):
                yield _label(part, entry, words), value
    for name in typed:
        if name.startswith("/") and not name.endswith(UNIT) and name not in known:
            entry = entry_besides(name)
            if value := _value(entry, typed, words):
                yield entry.label, value


def _label(part: str, entry: Entry, words: Words) -> str:
    """Return the label of an entry, with whose it is where that is not the medium's."""
    kind, _, place = part.partition(" ")
    if kind in _WITHIN:
        return words.labelled(words.tell(_WITHIN[kind]), entry.label)
    if kind in _NUMBERED and place:
        return words.labelled(words.tell(_NUMBERED[kind], number=int(place) + 1), entry.label)
    return entry.label


def _value(entry: Entry, typed: Typed, words: Words) -> str:
    """Return what was typed into an entry as people read it, or nothing."""
    choices = dict(entry.choices)
    given = [each.strip() for each in typed.get(entry.name, ()) if each.strip()]
    if entry.several and choices:
        given = [each for each in given if each in choices]  # The others stand at other places.
        return words.semicolons(choices[each] for each in given)
    if not given:
        return ""
    if choices:
        return choices.get(given[-1], given[-1])
    return with_unit(words.semicolons(given), first_of(typed, entry.name + UNIT))
