"""What the reader must know of several media: which of them each finding is about."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from saltcalc.message import Message, say
from saltcalc.parts.notes import Finding
from saltcalc.parts.trial.reading import Reading

OF_MEDIUM = ("/medium", "/observations", "/not_seen")
"""Parts of a request that each medium has of its own; all others are shared."""

Found = tuple[int, list[Finding]]
"""A medium by its place, and what was found of it."""

Told = tuple[Finding, list[int]]
"""A finding, and the media that it is about by their places."""

_LOWER_BOUND = "ec_is_lower_bound"

_WORST: Mapping[str, Callable[[Mapping[str, Any]], float]] = {
    "many_passes": lambda told: float(told["passes"].told["count"]),
    "nitrate_in_drainage": lambda told: float(told["nitrate"]),
}
"""Findings of which the medium that is worst off is told alone, each with its figure."""


def pointers_of(reading: Reading, place: int) -> dict[str, str]:
    """Return where the parts of the request of one medium stand in that of all."""
    own = (*OF_MEDIUM, "/containers") if reading.media[place].has_containers else OF_MEDIUM
    return {part: f"/media/{place}{part}" for part in own}


def field_of(finding: Finding, moved: Mapping[str, str]) -> str:
    """Return the field of the request that a finding is about.

    What is about a figure of the answer to one medium is about that medium.
    """
    if not finding.field.startswith("/"):
        return moved["/medium"]
    for part, place in moved.items():
        if finding.field == part or finding.field.startswith(f"{part}/"):
            return place + finding.field.removeprefix(part)
    return finding.field


def warnings_of(reading: Reading, found: Sequence[Found]) -> list[Finding]:
    """Return each finding once, with the media that it is about where it is not about all.

    Parameters
    ----------
    reading : Reading
        The media.
    found : sequence of (int, list of Finding)
        The findings of each medium, with fields of the request of all.
    """
    told: list[Told] = []
    for place, findings in found:
        for finding in findings:
            known = next((each for each in told if _alike(each[0], finding)), None)
            if known is None:
                told.append((finding, [place]))
            elif place not in known[1]:
                known[1].append(place)
    return [_named(reading, *each) for each in _worst(_floors_together(reading, told))]


def _alike(one: Finding, other: Finding) -> bool:
    return replace(one, field=other.field) == other


def _floors_together(reading: Reading, told: list[Told]) -> list[Told]:
    """Tell of several media in one finding that their EC is only the least that it can be."""
    floors = [each for each in told if each[0].id == _LOWER_BOUND]
    if len(floors) < 2:
        return told
    (first, _), *others = floors
    places = [place for _, media in floors for place in media]
    names = [reading.media[place].called for place in places]
    said = say("finding.ec_is_lower_bound_of_several", media=names)
    together = replace(first, sentence=said, field="/media"), places
    return [together if each is floors[0] else each for each in told if each not in others]


def _worst(told: list[Told]) -> list[Told]:
    """Keep of findings that differ by medium in their figure alone the one that tells the most."""
    for which, figure in _WORST.items():
        graded = [
            (figure(each[0].sentence.told), each)
            for each in told
            if each[0].id == which and isinstance(each[0].sentence, Message)
        ]
        less = [each for _, each in sorted(graded, key=lambda one: -one[0])[1:]]
        told = [each for each in told if each not in less]
    return told


def _named(reading: Reading, finding: Finding, places: list[int]) -> Finding:
    """Name the media that a finding is about; of all it needs no name."""
    if finding.field == "/media":
        return finding
    if len(places) == len(reading.media):
        whole = finding.field.startswith("/media/") and len(places) > 1
        return replace(finding, field="/media") if whole else finding
    names = say("comparison.of_media", media=[reading.media[place].called for place in places])
    said = finding.sentence if isinstance(finding.sentence, tuple) else (finding.sentence,)
    return replace(finding, sentence=(names, *said))
