"""Many media by their numbers: their names, told again and again, would fill a trial's pages."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup, escape

from saltcalc.words.catalogue import sentence

MANY, VERY_MANY = 6, 20
"""Media from which sentences on paper tell them by number, and in small print."""

_BEGIN, _END = "\ue000", "\ue001"
"""Characters of no script, between which the number of a medium stands for its name."""
_NUMBER = re.compile(f"{_BEGIN}([0-9]{{1,2}}){_END}")
_IN_A_ROW = re.compile(rf"{_END}[\s,;]*(?:\b\w{{1,3}}\s)?$")
"""What is before a number where another medium of the same list is: marks, or a short "and"."""


def are_many(request: Mapping[str, Any]) -> bool:
    """Tell whether a loaded comparison has so many media that they go by number."""
    return len(request["media"]) >= MANY


def numbered(request: Mapping[str, Any]) -> dict[str, Any]:
    """Return a loaded comparison whose media, where they are many, have numbers for names."""
    if not are_many(request):
        return dict(request)
    media = [
        each | {"name": f"{_BEGIN}{place}{_END}"}
        for place, each in enumerate(request["media"], start=1)
    ]
    return {**request, "media": media}


def names_of(request: Mapping[str, Any]) -> list[str]:
    """Return the names of the media as they were given."""
    return [" ".join(each["name"].split()) for each in request["media"]]


def by_number(text: str) -> str:
    """Return a text that tells media by number; of several in a row the first says that it is."""
    return _NUMBER.sub(lambda found: _told(found, text), text)


def _told(found: re.Match[str], text: str) -> str:
    if _IN_A_ROW.search(text[: found.start()]):
        return found[1]
    return sentence("trial.number", number=int(found[1]))


def with_number(text: str, names: Sequence[str]) -> str:
    """Return a text that tells media by number and name."""
    return _NUMBER.sub(lambda found: f"{found[1]} {_name(found, names)}", text)


def for_both(text: str, names: Sequence[str]) -> Markup:
    """Return a text as HTML with both, of which the page shows one: names where there are few."""
    told, end = Markup(), 0
    for found in _NUMBER.finditer(text):
        told += escape(text[end : found.start()]) + Markup(
            '<i class="by-name">{name}</i>'
            '<a class="by-number" href="#row-{number}" title="{name}">{told}</a>'
        ).format(name=_name(found, names), number=found[1], told=_told(found, text))
        end = found.end()
    return told + escape(text[end:])


def _name(found: re.Match[str], names: Sequence[str]) -> str:
    place = int(found[1]) - 1
    return names[place] if 0 <= place < len(names) else found[0]
