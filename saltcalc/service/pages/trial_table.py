"""A table of media, as a spreadsheet saves it, as entries of the form of a trial."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

import marshmallow as ma
from werkzeug.exceptions import HTTPException

from saltcalc.case.inputs import Named
from saltcalc.data.name_forms import plain
from saltcalc.service.fields import Choice, TableId
from saltcalc.service.pages.form import UNIT, Typed, all_entries, by_pointer, entry_besides
from saltcalc.service.schemas.requests import (
    AssessmentRequestSchema,
    ComparedMediumSchema,
    ComparisonRequestSchema,
)
from saltcalc.service.table_rows import records_in, table_in
from saltcalc.words.catalogue import sentence, words

METHOD = "method"
"""Names the entry that tells the method of all reports."""
_OUTCOME = re.compile(r"\s*outcome\s*:?\s*(?P<crop>\S.*?)\s*", re.IGNORECASE)
_MARKS = (";", "\t", ",")
_EXTRACTION, _STAGE, _ID = "/medium/extraction", "/crops/0/stage", "sample_id"
_CONTAINERS = "/containers/"
_CALLED = frozenset({"name", "medium"})
"""Headings of what a medium is called, which in a batch of samples mean something else."""


class Filled(NamedTuple):
    """Entries that a table fills, and what of it found no place."""

    typed: Typed
    left: list[str]


class _Row(NamedTuple):
    """What a table tells of one medium, by pointers of a request for it alone."""

    called: str
    told: dict[str, str]


def filled_by(text: str, most_crops: int, most_media: int) -> Filled:
    """Return the entries that a table fills: a row a medium, a column ``outcome: <crop>`` a crop.

    Parameters
    ----------
    text : str
        Its other headings are those of a batch of samples.
    most_crops, most_media : int
        For which the form has room.
    """
    lines = [line for line in text.lstrip("\ufeff").splitlines() if line.strip()]
    if not lines:
        return Filled({}, [])
    mark = max(_MARKS, key=lines[0].count)
    try:
        heads, *rows = (cells for _, cells in records_in(map("{}\n".format, lines), mark))
    except HTTPException as error:
        return Filled({}, [str(error.description)])
    if not any("sample" in plain(head).split() for head in heads):
        heads = [_ID if plain(head) in _CALLED else head for head in heads]
    crops = {
        place: found["crop"]
        for place, head in enumerate(heads)
        if (found := _OUTCOME.fullmatch(head))
    }
    names = list(dict.fromkeys(crops.values()))
    typed: Typed = {f"/crops/{place}/crop": [name] for place, name in enumerate(names[:most_crops])}
    left = [sentence("page.trial.no_room", what=name) for name in names[most_crops:]]
    others = [
        [cell for place, cell in enumerate(row) if place not in crops] for row in (heads, *rows)
    ]
    written = io.StringIO()
    csv.writer(written, delimiter=mark).writerows(others)
    try:
        read = list(table_in(line.encode() for line in written.getvalue().splitlines()).rows)
    except HTTPException as error:
        return Filled({}, [str(error.description)])
    left += [
        sentence("page.trial.no_room", what=rows[row.number - 2][0]) for row in read[most_media:]
    ]
    told = []
    for place, row in enumerate(read[:most_media]):
        cells = rows[row.number - 2]
        if row.fault is not None:
            left.append(str(row.fault.description))
        told.append(_Row(cells[0], _told(row.request)))
        for at, crop in crops.items():
            if crop in names[:most_crops] and at < len(cells) and cells[at].strip():
                fared = f"/media/{place}/outcomes/{names.index(crop)}/outcome"
                typed[fared] = [cells[at].strip().lower()]
    left += _fill(typed, told, max(len(names[:most_crops]), 1))
    typed["media"] = [str(min(max(len(read), 2), most_media))]
    return Filled(typed, left)


def _told(request: Mapping[str, Any]) -> dict[str, str]:
    """Return what is told of one medium by its pointer, what may be several in one line."""
    told: dict[str, list[str]] = {}
    for name, text in by_pointer(request):
        told.setdefault(name, []).append(text)
    return {name: "; ".join(texts) for name, texts in told.items()}


def _fill(typed: Typed, rows: Sequence[_Row], crops: int) -> list[str]:
    """Put what rows tell into the entries of the form, and say what finds no place in it.

    What a trial has but once goes there. Containers that differ stay with their media, and so do
    methods unless every report is by one.
    """
    left: list[str] = []
    one_method = len({row.told.get(_EXTRACTION) for row in rows}) == 1
    unlike = any(
        len({row.told[name] for row in rows if name in row.told}) > 1
        for name in {name for row in rows for name in row.told}
        if name.startswith(_CONTAINERS)
    )
    own = ComparedMediumSchema().fields.keys() - (set() if unlike else {"containers"})
    shared = ComparisonRequestSchema().fields.keys()
    for place, row in enumerate(rows):
        for name, text in row.told.items():
            first, label = name.split("/")[1], entry_besides(name).label
            if name == _EXTRACTION and one_method:
                _put(typed, METHOD, name, text)
            elif first in own:
                instead = "/name" if name == f"/{_ID}" else name
                _put(typed, f"/media/{place}{instead}", name, text)
            elif first not in shared:
                left.append(sentence("page.trial.not_used", what=label, value=text))
            else:
                # The stage is that of each crop that was tried.
                places = range(crops if name == _STAGE else 1)
                each = [re.sub("^/crops/0/", f"/crops/{place}/", name) for place in places]
                put = [_put(typed, entry, name, text) for entry in each]
                if not all(put):
                    what = words().labelled(f"{row.called}, {label}", text)
                    left.append(sentence("page.trial.no_room", what=what))
    return list(dict.fromkeys(left))


def _put(typed: Typed, entry: str, name: str, text: str) -> bool:
    """Put a text into an entry, a unit where the form has it apart, unless another is there."""
    offered = next((each for each in all_entries() if each.name in (entry, name)), None)
    figure, _, unit = text.partition(" ")
    if offered and entry == name and unit and unit in offered.units:
        filled = {entry: [figure], entry + UNIT: [unit]}
    else:
        filled = {entry: [_chosen(name, text)]}
    if entry in typed:
        return all(typed.get(each) == value for each, value in filled.items())
    typed.update(filled)
    return True


def _chosen(name: str, text: str) -> str:
    """Return the choice of a list that a text means, if it needs no word about that; else it."""
    field: Any = ma.fields.Nested(AssessmentRequestSchema)
    for step in name.strip("/").split("/"):
        if isinstance(field, ma.fields.Nested):
            field = field.schema.fields.get(step)
        if isinstance(field, ma.fields.List):
            field = field.inner
    if name.endswith("/crop") or not isinstance(field, Choice | TableId):
        return text
    try:
        meant = field.deserialize(text)
    except ma.ValidationError:
        return text
    return text if isinstance(meant, Named) and meant.reading else str(meant)
